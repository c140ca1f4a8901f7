import csv
import io
import json
import tracemalloc
import zipfile
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from django.utils import timezone

from curelog.actions.keeping import Told
from curelog.exports.kinds import KINDS, kind_name
from curelog.exports.rows import cell
from curelog.exports.stream import export
from curelog.models import Loaf, Note, Weighing
from tests.factories import START


def exported() -> zipfile.ZipFile:
    return zipfile.ZipFile(io.BytesIO(b"".join(export(timezone.now()))))


def table(archive: zipfile.ZipFile, kind: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(archive.read(f"csv/{kind}.csv").decode("utf-8-sig"), newline="")))


def test_every_kind_is_told_twice_and_the_zip_is_whole(full_workshop) -> None:
    archive = exported()
    assert archive.testzip() is None
    names = set(archive.namelist())
    for kind in map(kind_name, KINDS):
        assert {f"csv/{kind}.csv", f"jsonl/{kind}.jsonl"} <= names
    assert len([name for name in names if name.startswith("photos/")]) == 3
    assert {"README.txt", "dictionary.csv", "export.json"} <= names


def test_both_tell_the_same_rows(full_workshop) -> None:
    archive = exported()
    rows = json.loads(archive.read("export.json"))["rows"]
    for kind in map(kind_name, KINDS):
        lines = archive.read(f"jsonl/{kind}.jsonl").splitlines()
        assert len(lines) == rows[kind] == len(table(archive, kind))


def test_json_lines_are_exact(full_workshop) -> None:
    lines = [json.loads(line) for line in exported().read("jsonl/weighing.jsonl").splitlines()]
    assert {line["weight_g"] for line in lines} >= {130.123456789012, 0.30000000000000004}
    together = next(line for line in lines if line["weight_g"] < 1)
    assert len(together["bars"]) == 2


def test_csv_names_loaves_and_bars_as_people_do(full_workshop) -> None:
    row = next(row for row in table(exported(), "weighing") if row["weight_g"] == "0.30000000000000004")
    assert (row["loaf_number"], row["bars_number"]) == ("26-001", "2 5")


@pytest.mark.parametrize("start", list("=+-@\t\r\n"))
def test_a_text_is_never_a_formula(start: str) -> None:
    assert cell(f"{start}1+1").startswith("'")


@pytest.mark.parametrize(
    ("value", "shown"), [(-1.5, "-1.5"), (None, ""), (True, "true"), (3, "3"), ("a=b", "a=b")]
)
def test_numbers_and_plain_words_stay_as_they_are(value, shown) -> None:
    assert cell(value) == shown


def test_words_with_formula_commas_and_line_ends_come_through(full_workshop) -> None:
    archive = exported()
    recipe = next(row for row in table(archive, "recipe") if "SUM" in row["name"])
    assert recipe["name"] == "'=SUM(A1) soap"
    assert recipe["note"] == '"quoted", with a comma\nand a second line'
    assert {row["note"] for row in table(archive, "note")} == {"'-1+1"}


def test_no_password_or_token_leaves(full_workshop) -> None:
    everything = b"".join(
        exported().read(name) for name in exported().namelist() if not name.startswith("photos/")
    )
    for secret in ("md5$", "password", "session_salt", '"token"'):
        assert secret.encode() not in everything.replace(b"passwords and tokens", b"")


def test_memory_does_not_grow_with_the_number_of_rows(full_workshop) -> None:
    loaf = Loaf.objects.get(batch__number="26-001")
    told = Told(uuid4(), START, None)

    def peak_bytes() -> int:
        list_of_pieces = export(timezone.now())
        tracemalloc.start()
        for _ in list_of_pieces:
            pass
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return peak

    def add(count: int) -> None:
        Note.objects.bulk_create(
            Note(**told.fields | {"id": uuid4(), "note": uuid4().hex * 100}, loaf=loaf) for _ in range(count)
        )

    add(1000)
    few = peak_bytes()
    add(7000)
    assert peak_bytes() < few + 1_000_000


def test_only_an_owner_takes_everything_away(full_workshop, owner_client, helper_client) -> None:
    assert helper_client.post(reverse("export")).status_code == 403
    assert owner_client.get(reverse("export")).status_code == 405
    answer = owner_client.post(reverse("export"))
    assert answer.streaming
    assert "attachment" in answer.headers["Content-Disposition"]
    assert "no-store" in answer.headers["Cache-Control"]
    assert zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))).testzip() is None


def test_the_command_writes_the_same_for_its_owner_alone(full_workshop, tmp_path: Path) -> None:
    file = tmp_path / "export.zip"
    call_command("export", file, verbosity=0)
    assert file.stat().st_mode & 0o777 == 0o600
    assert zipfile.ZipFile(file).testzip() is None
    with pytest.raises(CommandError, match="exists already"):
        call_command("export", file)
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("export", tmp_path / "nowhere" / "export.zip")


def test_a_weighing_that_nobody_told_is_told_too(full_workshop) -> None:
    assert Weighing.objects.filter(by=None).exists()
    lines = [json.loads(line) for line in exported().read("jsonl/weighing.jsonl").splitlines()]
    assert any(line["by"] is None for line in lines)
