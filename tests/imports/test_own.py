import io
import json
import zipfile
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from curelog import photos
from curelog.actions.room import sensor_of
from curelog.exports.kinds import KINDS
from curelog.exports.stream import export
from curelog.imports import ImportRefused
from curelog.imports.own import read_in
from curelog.models import Bar, Cut, Loaf, Person, Photo, Release, Workshop
from curelog.models.outlook import outlook
from tests.exports.conftest import full_workshop  # noqa: F401
from tests.factories import START


def silent(words: str) -> None:
    pass


def members(archive: zipfile.ZipFile) -> dict[str, bytes]:
    """Everything but the moment it was made at."""
    found = {name: archive.read(name) for name in archive.namelist() if name != "README.txt"}
    about = json.loads(found.pop("export.json"))
    about.pop("made_at")
    return found | {"about": json.dumps(about).encode()}


def export_now() -> bytes:
    return b"".join(export(timezone.now()))


def empty() -> None:
    for model in reversed(KINDS):
        model._default_manager.all().delete()


@pytest.fixture
def file(full_workshop, tmp_path: Path, settings) -> Path:  # noqa: F811
    """An export, with its workshop gone and another folder for photos."""
    path = tmp_path / "export.zip"
    path.write_bytes(export_now())
    empty()
    settings.PHOTO_DIR = tmp_path / "other-photos"
    return path


def test_what_comes_out_again_is_the_same_to_the_byte(file: Path) -> None:
    read_in(file, silent)
    again = zipfile.ZipFile(io.BytesIO(export_now()))
    assert members(again) == members(zipfile.ZipFile(file))
    assert len([name for name in again.namelist() if name.startswith("photos/")]) == 3


def test_what_is_worked_out_of_it_is_the_same(full_workshop, tmp_path: Path) -> None:  # noqa: F811
    def question():
        loaf = Loaf.objects.get(batch__number="26-001")
        return outlook(loaf, Workshop.current(), START).question

    before = question()
    path = tmp_path / "export.zip"
    path.write_bytes(export_now())
    empty()
    read_in(path, silent)
    assert question() == before


def test_nobody_signs_in_and_no_sensor_is_heard_before_an_owner_says_so(file: Path, client) -> None:
    read_in(file, silent)
    otto = Person.objects.get(username="otto")
    assert not otto.has_usable_password()
    assert otto.is_owner
    assert not otto.is_superuser
    assert sensor_of("x.") is None


def test_new_rows_are_numbered_after_those_read_in(file: Path) -> None:
    read_in(file, silent)
    loaf = Loaf.objects.get(batch__number="26-001")
    last = Bar.objects.order_by("pk").last()
    assert Bar.objects.create(loaf=loaf, number=9).pk > last.pk


def test_it_is_read_into_an_empty_workshop_only(file: Path) -> None:
    read_in(file, silent)
    with pytest.raises(ImportRefused, match="something in this workshop already"):
        read_in(file, silent)


def changed(file: Path, name: str, change) -> Path:
    """The export with one member changed."""
    made = file.with_name("changed.zip")
    with zipfile.ZipFile(file) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.namelist():
            content = old.read(member)
            new.writestr(member, change(content) if member == name else content)
    return made


def row_changed(**values):
    def change(content: bytes) -> bytes:
        first, *others = content.splitlines()
        return b"\n".join([json.dumps(json.loads(first) | values).encode(), *others])

    return change


def refused(path: Path, tmp_path: Path) -> str:
    with pytest.raises(ImportRefused) as why:
        read_in(path, silent)
    assert not any(model._default_manager.exists() for model in KINDS if model is not Workshop)
    assert not list((tmp_path / "other-photos").rglob("*.jpg"))
    return str(why.value)


@pytest.mark.parametrize(
    ("name", "change", "words"),
    [
        ("jsonl/cut.jsonl", row_changed(result="perfect"), "cut.jsonl, line 1: result:"),
        ("jsonl/cut.jsonl", row_changed(bar_length_mm="long"), "cut.jsonl, line 1: .*must be a float"),
        ("jsonl/cut.jsonl", row_changed(bar_length_mm="nan"), "not a number"),
        ("jsonl/cut.jsonl", row_changed(happened_at="yesterday"), "cut.jsonl, line 1"),
        ("jsonl/cut.jsonl", row_changed(charm=7), "charm is no field of this version"),
        (
            "jsonl/cut.jsonl",
            row_changed(loaf="00000000-0000-0000-0000-000000000001"),
            "does not fit together",
        ),
        ("jsonl/cut.jsonl", lambda content: b"", "rows of cut are missing"),
        ("jsonl/cut.jsonl", lambda content: content + content, "."),
        ("jsonl/cut.jsonl", lambda content: b"[]\n", "not a whole export"),
        ("jsonl/cut.jsonl", lambda content: content[:40], "not a whole export"),
        ("jsonl/person.jsonl", row_changed(password="md5$x$y"), "password is no field"),
        ("jsonl/person.jsonl", row_changed(is_superuser=True), "is_superuser is no field"),
        ("export.json", lambda content: b"{}", "not a whole export"),
        ("export.json", lambda content: b"[]", "not a whole export"),
        ("export.json", lambda content: content.replace(b'"format": 1', b'"format": 2'), "newer curelog"),
        ("export.json", lambda content: content.replace(b'"curelog": "0', b'"curelog": "9'), "newer curelog"),
    ],
)
def test_what_does_not_fit_is_refused_whole(
    file: Path, tmp_path: Path, name: str, change, words: str
) -> None:
    path = changed(file, name, change)
    with pytest.raises(ImportRefused, match=words):
        read_in(path, silent)
    refused(path, tmp_path)


def test_a_picture_that_is_none_is_refused_and_nothing_stays(file: Path, tmp_path: Path) -> None:
    name = next(name for name in zipfile.ZipFile(file).namelist() if name.startswith("photos/thumb"))
    assert "is not a picture" in refused(changed(file, name, lambda content: b"<svg/>"), tmp_path)


def test_a_file_cut_short_is_refused(file: Path, tmp_path: Path) -> None:
    cut = tmp_path / "cut.zip"
    whole = file.read_bytes()
    for place in range(0, len(whole), len(whole) // 40):
        cut.write_bytes(whole[:place])
        refused(cut, tmp_path)


def test_a_trap_of_zeros_is_refused_unread(file: Path, tmp_path: Path) -> None:
    trap = changed(file, "jsonl/note.jsonl", lambda content: b"\0" * 50_000_000)
    assert "packed tighter" in refused(trap, tmp_path)


def test_the_command_tells_who_needs_a_password(file: Path, capsys) -> None:
    call_command("import", file)
    assert "changepassword otto" in capsys.readouterr().out
    assert Cut.objects.exists()
    assert photos.path(file.parent / "other-photos", Photo.objects.get().pk, "full").is_file()
    with pytest.raises(CommandError, match=r"Nothing was taken in\."):
        call_command("import", file)


def test_an_export_of_the_first_version_still_tells_where_samples_lie(file: Path) -> None:
    def older(content: bytes) -> bytes:
        told = json.loads(content)
        del told["sample_place"]
        return json.dumps(told | {"retained_place": "Box 3, on top"}).encode()

    read_in(changed(file, "jsonl/release.jsonl", older), silent)
    assert str(Release.objects.get().sample_place) == "Box 3, on top"
