"""The export as one zip, made while it is sent: however much there is, little of it is in memory."""

import json
import zipfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from curelog import photos
from curelog.exports import dictionary
from curelog.exports.kinds import KINDS, LEFT_OUT, kind_name
from curelog.exports.rows import Numbers, csv_line, csv_lines, json_lines
from curelog.models import Photo
from curelog.version import last_migrations, version

FORMAT = 1
ABOUT = "export.json"
PIECE_BYTES = 64 * 1024

READ_ME = """Everything this workshop has told, as of {moment}.

csv/          for spreadsheets: one file per kind. A text that a spreadsheet would run as a formula begins with '.
jsonl/        the same for programs, exact: one JSON object a line. This is what `manage.py import FILE` reads.
photos/       full, screen and thumb: the pictures, named by the id of their row in photo
dictionary.csv  every field: its type, unit and meaning

Masses in g, lengths in mm, temperatures in °C, shares as fractions, moments in UTC.
Rows are never changed by the workshop: a row that `corrects` another stands in its place; one with `withdrawn`
takes it back.
Left out: passwords and tokens, and {left_out}. A backup holds those too.
It holds names of people: keep it with care.
"""


class Outlet:
    """Where the zip is written to; what has come so far is taken away to be sent."""

    def __init__(self) -> None:
        self.pieces = bytearray()

    def write(self, piece: bytes, /) -> int:
        self.pieces += piece
        return len(piece)

    def flush(self) -> None:
        pass

    def close(self) -> None:
        pass

    def take(self) -> bytes:
        taken, self.pieces = bytes(self.pieces), bytearray()
        return taken


def export(now: datetime) -> Iterator[bytes]:
    """Children go first: whatever they point at is read later, and parents only become more."""
    outlet, lines_by_kind = Outlet(), {}
    with zipfile.ZipFile(outlet, "w") as archive:
        stamp = now.timetuple()[:6]
        yield from add(archive, outlet, "README.txt", stamp, [read_me(now)])
        for model in reversed(KINDS):
            counted = Counted(json_lines(model))
            yield from add(archive, outlet, f"jsonl/{kind_name(model)}.jsonl", stamp, counted)
            lines_by_kind[kind_name(model)] = counted.count
        numbers = Numbers()
        for model in KINDS:
            yield from add(archive, outlet, f"csv/{kind_name(model)}.csv", stamp, csv_lines(model, numbers))
        table = [csv_line(row) for row in (dictionary.HEADER, *dictionary.rows())]
        yield from add(archive, outlet, "dictionary.csv", stamp, [b"\xef\xbb\xbf", *table])
        for name, path in photo_files():
            yield from add_file(archive, outlet, name, stamp, path)
        yield from add(archive, outlet, ABOUT, stamp, [about(now, lines_by_kind)])
    yield outlet.take()


class Counted:
    def __init__(self, lines: Iterable[bytes]) -> None:
        self.lines, self.count = lines, 0

    def __iter__(self) -> Iterator[bytes]:
        for line in self.lines:
            self.count += 1
            yield line


def add(
    archive: zipfile.ZipFile, outlet: Outlet, name: str, stamp: tuple[int, ...], pieces: Iterable[bytes]
) -> Iterator[bytes]:
    info = zipfile.ZipInfo(name, stamp)  # type: ignore[arg-type]
    info.compress_type = zipfile.ZIP_DEFLATED
    with archive.open(info, "w") as member:
        for piece in pieces:
            member.write(piece)
            if len(outlet.pieces) > PIECE_BYTES:
                yield outlet.take()


def add_file(
    archive: zipfile.ZipFile, outlet: Outlet, name: str, stamp: tuple[int, ...], path: Path
) -> Iterator[bytes]:
    """As it is: a photo would not shrink. One that was erased a moment ago is not there any more."""
    try:
        source = path.open("rb")
    except FileNotFoundError:
        return
    with source, archive.open(zipfile.ZipInfo(name, stamp), "w") as member:  # type: ignore[arg-type]
        while piece := source.read(PIECE_BYTES):
            member.write(piece)
            yield outlet.take()


def photo_files() -> Iterator[tuple[str, Path]]:
    for key in Photo.objects.order_by("pk").values_list("pk", flat=True).iterator():
        for rendition in photos.LONG_SIDE_PX:
            yield f"photos/{rendition}/{key}.jpg", photos.path(settings.PHOTO_DIR, key, rendition)


def read_me(now: datetime) -> bytes:
    left_out = ", ".join(LEFT_OUT)
    return READ_ME.format(moment=now.isoformat(timespec="minutes"), left_out=left_out).encode()


def about(now: datetime, lines_by_kind: dict[str, int]) -> bytes:
    applied = set(MigrationRecorder(connection).applied_migrations())
    told = {
        "format": FORMAT,
        "version": version(),
        "made_at": now.isoformat(),
        "migrations": last_migrations({key for key in applied if key[0] == "curelog"}),
        "rows": lines_by_kind,
    }
    return json.dumps(told, indent=1).encode()
