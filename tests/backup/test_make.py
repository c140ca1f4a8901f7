import sqlite3
import threading
import zipfile
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from curelog import photos
from curelog.actions import cure
from curelog.backup import BackupError, archive, memory
from curelog.backup.make import back_up
from curelog.models import Loaf, Photo
from tests.backup.conftest import silent
from tests.factories import told


def test_a_backup_is_one_ordinary_zip_for_its_owner_alone(backup: Path, folder: Path) -> None:
    assert backup.stat().st_mode & 0o777 == 0o600
    with zipfile.ZipFile(backup) as found:
        names = set(found.namelist())
    assert {"manifest.json", "curelog.sqlite3", "secret.key"} < names
    assert len([name for name in names if name.startswith("photos/")]) == 2 * len(photos.LONG_SIDE_PX)
    assert {path.name for path in backup.parent.iterdir()} == {"workshop", "backup.zip"}


def test_the_manifest_tells_the_version_and_the_last_migration(backup: Path) -> None:
    manifest = archive.check(backup)
    assert manifest.migrations["curelog"].startswith("0")
    assert manifest.missing == ()


def test_an_older_file_is_never_written_over(backup: Path, folder: Path) -> None:
    before = backup.read_bytes()
    with pytest.raises(BackupError, match="exists already"):
        back_up(backup, timezone.now(), silent)
    assert backup.read_bytes() == before


def test_a_folder_gets_a_file_named_by_the_moment(folder: Path, tmp_path: Path) -> None:
    home = tmp_path / "stick"
    home.mkdir()
    now = timezone.now()
    made = back_up(home, now, silent)
    assert made == home / f"curelog-{now:%Y-%m-%d-%H%M%S}.zip"


def test_a_folder_that_is_not_there_is_said_in_a_sentence(folder: Path, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="There is no folder"):
        call_command("backup", tmp_path / "nowhere" / "backup.zip")


def test_nothing_is_left_when_writing_fails(folder: Path, tmp_path: Path, monkeypatch) -> None:
    def full(*args: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("curelog.backup.make.seal", full)
    with pytest.raises(BackupError, match="No space left"):
        back_up(tmp_path / "backup.zip", timezone.now(), silent)
    assert [path.name for path in tmp_path.iterdir()] == ["workshop"]
    assert memory.last_backup(folder) is None


def test_a_picture_that_is_gone_is_named_and_the_rest_is_kept(folder: Path, tmp_path: Path) -> None:
    photos.path(folder / "photos", Photo.objects.first().pk, "thumb").unlink()
    said: list[str] = []
    made = back_up(tmp_path / "backup.zip", timezone.now(), said.append)
    assert len(archive.check(made).missing) == 1
    assert any("1 picture files were not on the disk" in line for line in said)


def test_while_others_write_the_copy_is_of_one_moment(folder: Path, tmp_path: Path) -> None:
    """Each writer's transaction adds a weighing and its bar together: a copy may hold both or neither."""
    stop, loaf = threading.Event(), Loaf.objects.get()

    def keep_writing() -> None:
        while not stop.is_set():
            cure.weigh(loaf, told(24 * 20), [loaf.bars.first()], 125.0)
        connection.close()

    writer = threading.Thread(target=keep_writing)
    writer.start()
    try:
        made = [back_up(tmp_path / f"{count}.zip", timezone.now(), silent) for count in range(5)]
    finally:
        stop.set()
        writer.join()
    counts = []
    for path in made:
        with zipfile.ZipFile(path) as found:
            copy = Path(found.extract("curelog.sqlite3", tmp_path / path.stem))
        with sqlite3.connect(copy) as database:
            rows = database.execute("SELECT count(*) FROM curelog_weighing").fetchone()[0]
            linked = "SELECT count(DISTINCT weighing_id) FROM curelog_weighing_bars"
            assert database.execute(linked).fetchone()[0] == rows
        database.close()
        counts.append(rows)
    assert counts[0] < counts[-1]


def test_the_workshop_remembers_its_last_backup(backup: Path, folder: Path) -> None:
    now = timezone.now()
    assert not memory.is_due(now)
    assert memory.is_due(now + timedelta(days=15))


def test_a_workshop_with_loaves_and_no_backup_is_due_at_once(folder: Path) -> None:
    assert memory.is_due(timezone.now())


def test_a_workshop_with_nothing_in_it_has_nothing_to_lose(db, settings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    assert not memory.is_due(timezone.now())


def test_without_a_workshop_there_is_nothing_to_save(tmp_path: Path, settings, monkeypatch) -> None:
    monkeypatch.setitem(settings.DATABASES["default"], "NAME", str(tmp_path / "none.sqlite3"))
    with pytest.raises(CommandError, match="There is no workshop"):
        call_command("backup", tmp_path / "backup.zip")
