"""Making a backup while the workshop is open."""

import os
import sqlite3
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from datetime import datetime
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.db import connection
from django.template.defaultfilters import filesizeformat

from curelog import photos
from curelog.backup import BackupError
from curelog.backup.archive import (
    DATABASE,
    DIGITS,
    FORMAT,
    MANIFEST,
    SEAL,
    Manifest,
    Member,
    check,
    pour,
    seal,
)
from curelog.backup.memory import remember
from curelog.version import last_migrations, version

Say = Callable[[str], None]
TOLD_EVERY = 500


def back_up(wanted: Path, now: datetime, say: Say) -> Path:
    """Writes under another name, reads it all again, and only then gives it its name."""
    if connection.vendor != "sqlite":
        raise BackupError(
            "This workshop's database is PostgreSQL: save it with pg_dump, "
            f"and the folder {settings.PHOTO_DIR} after it."
        )
    if not Path(settings.DATABASES["default"]["NAME"]).is_file():
        raise BackupError(f"There is no workshop in {settings.DATA_DIR}: name its folder in CURELOG_DATA.")
    target = named(wanted, now)
    try:
        with tempfile.TemporaryDirectory(prefix=".curelog-backup-", dir=target.parent) as draft_folder:
            draft = Path(draft_folder) / "backup.zip"
            write(draft, now, say)
            say("Reading it again from the disk ...")
            manifest = check(draft)
            draft.replace(target)
            sync_folder(target.parent)
        remember(settings.DATA_DIR, now)
    except OSError as error:
        raise BackupError(f"{target} cannot be written: {error.strerror or error}.") from error
    except sqlite3.Error as error:
        raise BackupError(f"The database cannot be copied: {error}.") from error
    say(f"Kept: {target}, {filesizeformat(target.stat().st_size)}, readable for you alone.")
    say("It holds names, secrets and all photos. Keep it on another disk, and safe.")
    say_missing(manifest, say)
    return target


def named(wanted: Path, now: datetime) -> Path:
    """A folder gets a file named by the moment. An older file is never written over."""
    target = wanted / f"curelog-{now:%Y-%m-%d-%H%M%S}.zip" if wanted.is_dir() else wanted
    if target.exists():
        raise BackupError(f"{target} exists already: choose another name, or name a folder.")
    if not target.parent.is_dir():
        raise BackupError(f"There is no folder {target.parent}: make it first.")
    return target.absolute()


def write(draft: Path, now: datetime, say: Say) -> None:
    say("Copying the database ...")
    copy = draft.with_name(DATABASE)
    copy_database(copy)
    keys, applied = read_copy(copy)
    say(f"Copying the files of {len(keys)} photos ...")
    members, missing = [], []
    descriptor = os.open(draft, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w+b") as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
            for count, (name, path) in enumerate(sources(copy, keys), start=1):
                try:
                    members.append(add(archive, name, path))
                except FileNotFoundError:
                    missing.append(name)
                if count % TOLD_EVERY == 0:
                    say(f"{count} files ...")
            manifest = Manifest(
                FORMAT, version(), now.isoformat(), last_migrations(applied), tuple(members), tuple(missing)
            )
            archive.writestr(zipfile.ZipInfo(MANIFEST), manifest.as_json())
            archive.comment = SEAL + b"0" * DIGITS
        file.flush()
        seal(draft)
        os.fsync(file.fileno())


def copy_database(copy: Path) -> None:
    """SQLite's own online backup: in one step, so that it is the database of one moment, whoever writes meanwhile."""
    connection.ensure_connection()
    os.close(os.open(copy, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    with closing(sqlite3.connect(copy)) as made:
        connection.connection.backup(made)
        made.execute("PRAGMA journal_mode=DELETE")
        found = made.execute("PRAGMA integrity_check(1)").fetchone()[0]
        if found != "ok":
            raise BackupError(f"The database itself is damaged ({found}): go back to an earlier backup.")


def read_copy(copy: Path) -> tuple[list[UUID], set[tuple[str, str]]]:
    """Photos are told after their files were written: the copy knows of none whose file is still to come."""
    with closing(sqlite3.connect(copy)) as made:
        keys = [UUID(key) for (key,) in made.execute("SELECT id FROM curelog_photo ORDER BY id")]
        return keys, set(made.execute("SELECT app, name FROM django_migrations"))


def sources(copy: Path, keys: list[UUID]) -> Iterator[tuple[str, Path]]:
    """The keys travel along: phones stay signed in after a restore, and no message to them goes astray."""
    yield DATABASE, copy
    for path in sorted(settings.DATA_DIR.iterdir()):
        if path.suffix in (".key", ".pem") and path.is_file():
            yield path.name, path
    for key in keys:
        for rendition in photos.LONG_SIDE_PX:
            path = photos.path(settings.PHOTO_DIR, key, rendition)
            yield f"photos/{path.relative_to(settings.PHOTO_DIR).as_posix()}", path


def add(archive: zipfile.ZipFile, name: str, path: Path) -> Member:
    info = zipfile.ZipInfo(name)
    info.external_attr = 0o600 << 16
    with path.open("rb") as source:
        info.file_size = path.stat().st_size
        with archive.open(info, "w") as target:
            return Member(name, *pour(source, target))


def say_missing(manifest: Manifest, say: Say) -> None:
    if manifest.missing:
        say(
            f"{len(manifest.missing)} picture files were not on the disk: {', '.join(manifest.missing[:3])} ..."
        )


def sync_folder(folder: Path) -> None:
    """Some sticks and network folders cannot; what lies on them was read again all the same."""
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
