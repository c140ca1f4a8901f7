"""From a backup to a workshop: into an empty folder, all of it or nothing."""

import os
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Callable
from contextlib import closing
from datetime import datetime
from pathlib import Path

from django.template.defaultfilters import filesizeformat

from curelog.backup import BackupError
from curelog.backup.archive import DATABASE, Manifest, opened, pour
from curelog.backup.make import sync_folder
from curelog.backup.memory import remember


def restore(backup: Path, folder: Path, say: Callable[[str], None]) -> Manifest:
    """Unpacked beside the folder and checked there; the folder appears whole, by one rename."""
    folder = folder.resolve()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BackupError(f"{folder} is not empty: name an empty folder in CURELOG_DATA.")
    say("Reading the backup ...")
    with opened(backup) as (archive, manifest):
        stage = make_stage(folder, manifest.size)
        try:
            say(f"Unpacking {filesizeformat(manifest.size)} ...")
            unpack(archive, manifest, stage)
            remember(stage, datetime.fromisoformat(manifest.made_at))
            move_in(stage, folder)
        except OSError as error:
            raise BackupError(f"Unpacking into {folder} failed: {error.strerror or error}.") from error
        finally:
            shutil.rmtree(stage, ignore_errors=True)
    return manifest


def make_stage(folder: Path, size: int) -> Path:
    """Beside the folder; inside it where that is a disk of its own, which cannot be renamed over."""
    home = folder if os.path.ismount(folder) else folder.parent
    try:
        home.mkdir(parents=True, exist_ok=True)
        if shutil.disk_usage(home).free < size:
            raise BackupError(f"The disk of {folder} is too full: {filesizeformat(size)} are needed.")
        return Path(tempfile.mkdtemp(prefix=".curelog-restore-", dir=home))
    except OSError as error:
        raise BackupError(f"{folder} cannot be written: {error.strerror or error}.") from error


def unpack(archive: zipfile.ZipFile, manifest: Manifest, stage: Path) -> None:
    for member in manifest.members:
        path = stage / member.name
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "wb") as target, archive.open(member.name) as source:
            if pour(source, target, member.size) != (member.size, member.sha256):
                raise ValueError(f"{member.name} is another one")
            target.flush()
            os.fsync(target.fileno())
    check_database(stage / DATABASE)
    for made in [path for path in stage.rglob("*") if path.is_dir()]:
        sync_folder(made)


def check_database(path: Path) -> None:
    try:
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as database:
            is_whole = database.execute("PRAGMA integrity_check(1)").fetchone()[0] == "ok"
            has_loaves = database.execute("SELECT count(*) FROM curelog_loaf").fetchone() is not None
    except sqlite3.DatabaseError as error:
        raise ValueError("no database of ours") from error
    if not (is_whole and has_loaves):
        raise ValueError("no whole database")


def move_in(stage: Path, folder: Path) -> None:
    if stage.parent != folder:
        stage.replace(folder)
        sync_folder(folder.parent)
        return
    # The database last: without it the folder is no workshop yet.
    for entry in sorted(stage.iterdir(), key=lambda entry: entry.name == DATABASE):
        entry.replace(folder / entry.name)
    sync_folder(folder)
