import json
import random
import sqlite3
import zipfile
from contextlib import closing
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from curelog.backup import BackupError, archive, memory
from curelog.backup.restore import restore
from curelog.models import Weighing
from tests.backup.conftest import silent


def dump(path: Path) -> list[str]:
    """Every row of every table, as SQL: floats are told to the last digit."""
    with closing(sqlite3.connect(path)) as database:
        return list(database.iterdump())


def refused(path: Path, target: Path) -> str:
    with pytest.raises(BackupError) as why:
        restore(path, target, silent)
    assert not target.exists()
    assert not list(target.parent.glob(".curelog-restore-*"))
    assert "\n" not in str(why.value)
    return str(why.value)


def test_every_fact_and_photo_comes_back_byte_for_byte(
    backup: Path, folder: Path, tmp_path, settings
) -> None:
    target = tmp_path / "restored"
    manifest = restore(backup, target, silent)
    with zipfile.ZipFile(backup) as found:
        copy = Path(found.extract("curelog.sqlite3", tmp_path / "unzipped"))
    assert dump(target / "curelog.sqlite3") == dump(copy)
    assert dump(target / "curelog.sqlite3") == dump(Path(str(settings.DATABASES["default"]["NAME"])))
    pictures = {path.relative_to(folder): path.read_bytes() for path in (folder / "photos").rglob("*.jpg")}
    assert len(pictures) == 6
    assert {p.relative_to(target): p.read_bytes() for p in (target / "photos").rglob("*.jpg")} == pictures
    assert (target / "secret.key").read_bytes() == (folder / "secret.key").read_bytes()
    assert memory.last_backup(target).isoformat() == manifest.made_at
    assert Weighing.objects.filter(weight_g=130.123456789).exists()


def test_what_is_restored_is_for_its_owner_alone(backup: Path, tmp_path: Path) -> None:
    target = tmp_path / "restored"
    restore(backup, target, silent)
    assert target.stat().st_mode & 0o777 == 0o700
    assert (target / "curelog.sqlite3").stat().st_mode & 0o777 == 0o600


def test_an_empty_folder_is_taken_and_a_used_one_is_not(backup: Path, folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "restored"
    target.mkdir()
    restore(backup, target, silent)
    before = (folder / "secret.key").read_bytes()
    with pytest.raises(BackupError, match="not empty"):
        restore(backup, folder, silent)
    assert (folder / "secret.key").read_bytes() == before


def test_a_disk_of_its_own_is_filled_from_within(backup: Path, tmp_path: Path, monkeypatch) -> None:
    target = tmp_path / "volume"
    target.mkdir()
    monkeypatch.setattr("curelog.backup.restore.os.path.ismount", lambda path: path == target)
    restore(backup, target, silent)
    assert (target / "curelog.sqlite3").is_file()
    assert not list(target.glob(".curelog-restore-*"))


def test_a_file_cut_anywhere_is_refused(backup: Path, tmp_path: Path) -> None:
    whole, cut = backup.read_bytes(), tmp_path / "cut.zip"
    chance = random.Random(20260112)
    places = {0, 1, len(whole) - 1, len(whole) - 64, len(whole) - 200}
    places |= {chance.randrange(len(whole)) for _ in range(150)}
    for place in places:
        cut.write_bytes(whole[:place])
        assert "not a whole curelog backup" in refused(cut, tmp_path / "restored")


def test_a_file_with_any_bit_turned_is_refused(backup: Path, tmp_path: Path) -> None:
    whole, turned = backup.read_bytes(), tmp_path / "turned.zip"
    chance = random.Random(20260113)
    for _ in range(150):
        place = chance.choice([chance.randrange(len(whole)), len(whole) - 1 - chance.randrange(400)])
        changed = bytearray(whole)
        changed[place] ^= 1 << chance.randrange(8)
        turned.write_bytes(changed)
        refused(turned, tmp_path / "restored")


def test_bytes_added_or_left_out_are_refused(backup: Path, tmp_path: Path) -> None:
    whole, changed = backup.read_bytes(), tmp_path / "changed.zip"
    for content in (whole + b"\0", b"\0" + whole, whole[:500] + whole[501:], whole[:9000] + whole[12000:]):
        changed.write_bytes(content)
        refused(changed, tmp_path / "restored")


def forged(
    backup: Path, made: Path, added: dict[str, bytes], packing: int = zipfile.ZIP_STORED, **told
) -> Path:
    """A backup as somebody else could make it, with a true seal over a changed content."""
    with zipfile.ZipFile(backup) as found:
        manifest = json.loads(found.read("manifest.json"))
        content = {name: found.read(name) for name in found.namelist() if name != "manifest.json"} | added
    hashes = [
        {"name": name, "size": len(body), "sha256": archive.hashlib.sha256(body).hexdigest()}
        for name, body in content.items()
    ]
    with zipfile.ZipFile(made, "w", packing) as out:
        for name, body in content.items():
            out.writestr(name, body)
        out.writestr(zipfile.ZipInfo("manifest.json"), json.dumps(manifest | {"members": hashes} | told))
        out.comment = archive.SEAL + b"0" * archive.DIGITS
    archive.seal(made)
    return made


def test_the_forger_of_these_tests_makes_good_backups_too(backup: Path, tmp_path: Path) -> None:
    restore(forged(backup, tmp_path / "forged.zip", {}), tmp_path / "restored", silent)


@pytest.mark.parametrize(
    "name",
    [
        "../outside.key",
        "/tmp/outside.key",
        "photos/../../outside.key",
        "photos\\..\\outside.key",
        "photos/aa/bb/ccddeeff00112233445566778899aabb-full.jpg",
        ".hidden.key",
        "static/app.css",
        "curelog.sqlite3/x",
    ],
)
def test_a_name_that_is_none_of_ours_is_refused(backup: Path, tmp_path: Path, name: str) -> None:
    refused(forged(backup, tmp_path / "forged.zip", {name: b"x"}), tmp_path / "deep" / "restored")
    assert not (tmp_path / "outside.key").exists()


def test_a_packed_member_is_refused_before_it_is_unpacked(backup: Path, tmp_path: Path) -> None:
    bomb = forged(backup, tmp_path / "bomb.zip", {"a.key": b"\0" * 30_000_000}, zipfile.ZIP_DEFLATED)
    assert bomb.stat().st_size < 1_000_000
    refused(bomb, tmp_path / "restored")


@pytest.mark.parametrize(
    "told",
    [
        {"members": []},
        {"members": "none"},
        {"made_at": "yesterday"},
        {"made_at": "2026-01-12T09:00:00"},
        {"more": 1},
        {"format": "1"},
    ],
)
def test_a_manifest_that_makes_no_sense_is_refused(backup: Path, tmp_path: Path, told) -> None:
    refused(forged(backup, tmp_path / "forged.zip", {}, **told), tmp_path / "restored")


def test_a_member_with_another_hash_is_refused(backup: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(backup) as found:
        members = json.loads(found.read("manifest.json"))["members"]
    members[-1]["sha256"] = "0" * 64
    refused(forged(backup, tmp_path / "forged.zip", {}, members=members), tmp_path / "restored")


def test_a_database_that_is_none_is_refused(backup: Path, tmp_path: Path) -> None:
    refused(forged(backup, tmp_path / "forged.zip", {"curelog.sqlite3": b"x" * 5000}), tmp_path / "restored")


@pytest.mark.parametrize("told", [{"format": 2}, {"migrations": {"curelog": "9999_from_the_future"}}])
def test_a_newer_backup_is_refused_in_a_sentence(backup: Path, tmp_path: Path, told) -> None:
    made = forged(backup, tmp_path / "forged.zip", {}, **told)
    assert "newer curelog" in refused(made, tmp_path / "restored")


def test_a_disk_too_full_is_said_before_unpacking(backup: Path, tmp_path: Path, monkeypatch) -> None:
    class Full:
        free = 1000

    monkeypatch.setattr("curelog.backup.restore.shutil.disk_usage", lambda path: Full)
    assert "too full" in refused(backup, tmp_path / "restored")


def test_the_command_says_it_in_one_sentence(backup: Path, tmp_path: Path, settings, monkeypatch) -> None:
    settings.DATA_DIR = tmp_path / "restored"
    database = str(settings.DATA_DIR / "curelog.sqlite3")
    monkeypatch.setitem(settings.DATABASES["default"], "NAME", database)
    with pytest.raises(
        CommandError, match=r"cannot be read: No such file or directory\. Nothing was restored\."
    ):
        call_command("restore", tmp_path / "nothing.zip")
    with pytest.raises(CommandError, match=r"not a whole curelog backup.*Nothing was restored\."):
        call_command("restore", Path(__file__))
