"""The form of a backup: an ordinary zip, a manifest with the hash of each member, and a seal over all bytes.

Nothing in it is packed tighter: photos would not shrink, and a file that cannot unpack to more than its own size
cannot be a trap. The seal stands in the zip's comment, at the very end, so that a file that was cut short shows.
"""

import hashlib
import json
import re
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any, Protocol

from curelog.backup import BackupError
from curelog.version import unknown_migrations

FORMAT = 1
MANIFEST = "manifest.json"
DATABASE = "curelog.sqlite3"
SEAL = b"curelog backup; sha256 of all bytes before the digits that follow: "
DIGITS = 64
CHUNK_BYTES = 1024 * 1024
MANIFEST_LIMIT_BYTES = 128 * 1024 * 1024
# Nothing else is ever unpacked: no name leads out of the folder, none hides in it.
MEMBER_NAME = re.compile(
    rf"{re.escape(DATABASE)}|[a-z0-9-]{{1,40}}\.(key|pem)"
    r"|photos/([0-9a-f]{2})/([0-9a-f]{2})/\2\3[0-9a-f]{28}-(full|screen|thumb)\.jpg"
)


@dataclass(frozen=True, slots=True)
class Member:
    name: str
    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """`migrations`: the last one of each app. `missing`: photos whose file was not there when this was made."""

    format: int
    version: str
    made_at: str
    migrations: dict[str, str]
    members: tuple[Member, ...]
    missing: tuple[str, ...] = ()

    @property
    def size(self) -> int:
        return sum(member.size for member in self.members)

    def as_json(self) -> bytes:
        return json.dumps(asdict(self), indent=1).encode()

    @classmethod
    def from_json(cls, told: dict[str, Any]) -> "Manifest":
        """Raises ValueError when it tells something else than a manifest does."""
        try:
            members = tuple(Member(**member) for member in told.pop("members"))
            missing = tuple(told.pop("missing"))
            found = cls(**told, members=members, missing=missing)
            if datetime.fromisoformat(found.made_at).tzinfo is None:
                raise ValueError("a moment without its zone")
        except (TypeError, AttributeError) as error:
            raise ValueError("no manifest") from error
        return found


def seal(path: Path) -> None:
    """Puts the hash of everything before it into the room left for it at the end of the zip."""
    with path.open("r+b") as file:
        digits = hash_of(file, path.stat().st_size - DIGITS)
        file.seek(-DIGITS, 2)
        file.write(digits.encode())


def hash_of(file: IO[bytes], size: int) -> str:
    """Of the first `size` bytes."""
    file.seek(0)
    seen = hashlib.sha256()
    while size > 0 and (chunk := file.read(min(size, CHUNK_BYTES))):
        seen.update(chunk)
        size -= len(chunk)
    return seen.hexdigest()


@contextmanager
def opened(path: Path) -> Iterator[tuple[zipfile.ZipFile, Manifest]]:
    """A backup whose every byte is as it was written, and that this version can read."""
    damaged = f"{path} is not a whole curelog backup: it is damaged, cut short, or another kind of file."
    try:
        with path.open("rb") as file:
            if not is_sealed(file, path.stat().st_size):
                raise BackupError(damaged)
            with zipfile.ZipFile(file) as archive:
                yield archive, read_manifest(archive, path)
    except OSError as error:
        raise BackupError(f"{path} cannot be read: {error.strerror or error}.") from error
    except (zipfile.BadZipFile, ValueError, KeyError) as error:
        raise BackupError(damaged) from error


def is_sealed(file: IO[bytes], size: int) -> bool:
    if size < DIGITS + len(SEAL):
        return False
    file.seek(-DIGITS - len(SEAL), 2)
    end = file.read()
    return end.startswith(SEAL) and hash_of(file, size - DIGITS).encode() == end[len(SEAL) :]


def read_manifest(archive: zipfile.ZipFile, path: Path) -> Manifest:
    """Anybody can seal a file: what the manifest says is held against the zip before a byte is unpacked."""
    if archive.getinfo(MANIFEST).file_size > MANIFEST_LIMIT_BYTES:
        raise ValueError("no manifest is that long")
    told = json.loads(archive.read(MANIFEST))
    if not isinstance(told, dict) or not isinstance(told.get("format"), int):
        raise ValueError("no manifest")
    if told["format"] > FORMAT:
        raise newer(path, "a later form of backup")
    manifest = Manifest.from_json(told)
    if unknown := unknown_migrations(manifest.migrations):
        raise newer(path, unknown[-1])
    told = {member.name: member.size for member in manifest.members}
    found = {info.filename: info.file_size for info in archive.infolist() if info.filename != MANIFEST}
    if told != found or len(archive.infolist()) != len(manifest.members) + 1:
        raise ValueError("the manifest tells of other members")
    if not all(MEMBER_NAME.fullmatch(name) for name in told) or DATABASE not in told:
        raise ValueError("a member that is none of ours")
    plain = all(
        info.compress_type == zipfile.ZIP_STORED and not info.flag_bits & 1 for info in archive.infolist()
    )
    if not plain or manifest.size > path.stat().st_size:
        raise ValueError("it would unpack to more than it is")
    return manifest


def newer(path: Path, what: str) -> BackupError:
    return BackupError(f"{path} was made by a newer curelog ({what}): install that version to restore it.")


class Sink(Protocol):
    def write(self, chunk: bytes, /) -> object: ...


def pour(source: IO[bytes], target: Sink, limit: int | None = None) -> tuple[int, str]:
    """Copies and hashes in one go; never more than `limit` bytes. Size and sha256 of what was copied."""
    seen, size = hashlib.sha256(), 0
    while chunk := source.read(CHUNK_BYTES):
        size += len(chunk)
        if limit is not None and size > limit:
            raise ValueError("more than the manifest tells")
        seen.update(chunk)
        target.write(chunk)
    return size, seen.hexdigest()


class _Nowhere:
    def write(self, chunk: bytes, /) -> None:
        pass


def check(path: Path) -> Manifest:
    """Reads all of it again, member by member."""
    with opened(path) as (archive, manifest):
        for member in manifest.members:
            with archive.open(member.name) as source:
                if pour(source, _Nowhere(), member.size) != (member.size, member.sha256):
                    raise ValueError(f"{member.name} is another one")
    return manifest
