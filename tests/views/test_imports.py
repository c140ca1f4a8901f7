import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from curelog.imports import uploads
from curelog.models import Batch, Cut, Finish, Loaf, RoomReading, Scale, Weighing, Workshop
from curelog.models.evidence import Experience
from tests.factories import make_cut_loaf, make_recipe

pytestmark = pytest.mark.django_db

WEIGHTS = """Batch;Bar;Date;Weight;Remark
26-001;2;20.01.2026;134,5;first
26-001;5;20.01.2026 18:30;133,25;
26-001;2;27.01.2026;1.30,1;
"""
GOOD = WEIGHTS.replace("1.30,1", "130,1")


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, settings) -> None:
    settings.DATA_DIR = tmp_path


def choose(client: Client, text: str | bytes, kind: str = "weights") -> str:
    """The address of the page that asks for the columns."""
    content = text.encode() if isinstance(text, str) else text
    file = SimpleUploadedFile("sheet.csv", content, "text/csv")
    answer = client.post(reverse("imports"), {"kind": kind, "file": file})
    assert answer.status_code == 302, answer.context["form"].errors
    return answer.url


def filled(client: Client, url: str, **changes) -> dict[str, str]:
    """The form as the browser would send it, guesses and all."""
    form = client.get(url).context["form"]
    data = {name: form[name].value() for name in form.fields}
    return {name: value for name, value in (data | changes).items() if value is not None}


def take(client: Client, text: str, kind: str = "weights", step: str = "take", **changes):
    url = choose(client, text, kind)
    return client.post(url, filled(client, url, step=step, **changes))


def problems(answer) -> dict[int, str]:
    assert answer.status_code == 422
    return {row.number: " ".join(row.problems) for row in answer.context["plan"].bad}


def test_columns_dates_and_decimals_are_guessed_and_shown(owner_client) -> None:
    url = choose(owner_client, GOOD)
    data = filled(owner_client, url)
    assert [data[f"column_{name}"] for name in ("loaf", "bar", "date", "weight", "note")] == [
        "0",
        "1",
        "2",
        "3",
        "4",
    ]
    assert (data["date_order"], data["decimal_mark"], data["mass_unit"]) == ("dmy", ",", "g")


def test_what_comes_of_it_is_shown_before_anything_is_kept(owner_client) -> None:
    make_cut_loaf()
    before = Weighing.objects.count()
    answer = take(owner_client, GOOD, step="look")
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "26-001, bar 5: 133.25 g, 20 January 2026 18:30" in page
    assert "Take in 3 weights" in page
    assert Weighing.objects.count() == before


def test_weights_are_taken_in_by_the_same_act_as_typed_ones(owner_client, owner) -> None:
    loaf = make_cut_loaf()
    scale = Scale.objects.create(name="Letter scale", step_g=0.25)
    assert take(owner_client, GOOD, scale=scale.pk).status_code == 302
    kept = Weighing.objects.filter(origin="file").order_by("happened_at")
    assert [(row.weight_g, row.step_g, row.by, row.note, row.loaf) for row in kept] == [
        (134.5, 0.25, owner, "first", loaf),
        (133.25, 0.25, owner, "", loaf),
        (130.1, 0.25, owner, "", loaf),
    ]
    assert kept[0].happened_at == datetime(2026, 1, 20, 12, 0, tzinfo=UTC)


def test_one_bad_row_keeps_all_out_and_is_named_with_its_reason(owner_client) -> None:
    make_cut_loaf()
    before = Weighing.objects.count()
    answer = take(owner_client, WEIGHTS)
    assert problems(answer) == {4: "“1.30,1” is not a number with a decimal comma."}
    assert "Row 4" in answer.content.decode()
    assert Weighing.objects.count() == before


def test_the_same_file_twice_keeps_every_weight_once(owner_client) -> None:
    make_cut_loaf()
    take(owner_client, GOOD)
    count = Weighing.objects.count()
    answer = take(owner_client, GOOD, step="look")
    assert "Nothing new" in answer.content.decode()
    take(owner_client, GOOD)
    assert Weighing.objects.count() == count


def test_a_sheet_that_grew_adds_only_what_is_new(owner_client) -> None:
    make_cut_loaf()
    take(owner_client, GOOD)
    count = Weighing.objects.count()
    grown = GOOD + "26-001;2;03.02.2026;128,9;\n"
    assert "3 rows are here already" in take(owner_client, grown, step="look").content.decode()
    take(owner_client, grown)
    assert Weighing.objects.count() == count + 1


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("26-099;2;20.01.2026;134", "There is no loaf 26-099."),
        (";2;20.01.2026;134", "The loaf is missing."),
        ("26-001;;20.01.2026;134", "The bar is missing."),
        ("26-001;2.5;20.01.2026;134", "is not a number"),
        ("26-001;2,5;20.01.2026;134", "a whole number from 1 to 500"),
        ("26-001;11;20.01.2026;134", "There is no bar 11: it was cut into 10."),
        ("26-001;2;;134", "The date is missing."),
        ("26-001;2;31.02.2026;134", "is not a date"),
        ("26-001;2;20.01.2099;134", "is still to come"),
        ("26-001;2;20.01.2020;134", "before the pour"),
        ("26-001;2;20.01.2026;", "The weight is missing."),
        ("26-001;2;20.01.2026;0", "more than nothing"),
        ("26-001;2;20.01.2026;9999", "more than the whole loaf"),
        ("26-001;2;20.01.2026;4,7 oz", "says oz, but g is chosen"),
        ("26-001;2;21.01.2026;134,5", "Row 2 tells of the same bar"),
    ],
)
def test_every_reason_is_told_in_words(owner_client, row: str, reason: str) -> None:
    make_cut_loaf()
    sheet = f"Batch;Bar;Date;Weight\n26-001;2;21.01.2026;134,5\n{row}\n"
    assert reason in problems(take(owner_client, sheet, decimal_mark=","))[3]


def test_a_column_may_be_missing_when_its_value_is_the_same_for_all(owner_client) -> None:
    make_cut_loaf()
    sheet = "Day,Weight\n2026-01-20,134.5\n2026-01-27,130.1\n"
    missing = take(owner_client, sheet)
    assert missing.status_code == 422
    assert "Which column is it?" in missing.content.decode()
    assert take(owner_client, sheet, same_loaf="26-001", same_bar="2").status_code == 302
    assert Weighing.objects.filter(origin="file").count() == 2


def test_ounces_become_grams(owner_client) -> None:
    make_cut_loaf()
    Workshop.objects.update(mass_unit="oz")
    sheet = "Batch,Bar,Date,Weight\n26-001,2,2026-01-20,4.75\n"
    assert "bar 2: 4.75 oz" in take(owner_client, sheet, step="look").content.decode()
    take(owner_client, sheet)
    assert Weighing.objects.get(origin="file").weight_g == pytest.approx(134.66, abs=0.005)


def test_hours_are_those_of_the_workshop(owner_client) -> None:
    Workshop.objects.update(time_zone="Europe/Berlin")
    make_cut_loaf()
    take(owner_client, "Batch,Bar,Date,Time,Weight\n26-001,2,2026-07-20,9:30,110\n")
    assert Weighing.objects.get(origin="file").happened_at == datetime(2026, 7, 20, 7, 30, tzinfo=UTC)


def test_a_weight_of_the_day_of_the_cut_comes_after_it(owner_client) -> None:
    loaf = make_cut_loaf()
    cut = Cut.objects.get(loaf=loaf)
    Cut.objects.update(happened_at=cut.happened_at + timedelta(hours=6))
    take(owner_client, "Batch,Bar,Date,Weight\n26-001,3,2026-01-13,141\n")
    kept = Weighing.objects.get(origin="file")
    assert kept.happened_at == Cut.objects.get().happened_at
    assert kept.misplaced == ""


PAST = """Number,Recipe,Poured,Batch weight,Heat,Gel,Cut date,Cut result,Bars,Bar length,Bar width
25-001,lard and coconut,2025-03-04 10:00,1500,oven,full,2025-03-05 09:00,clean,10,85,65
25-002,Lard and coconut,2025-03-11,1500,,,2025-03-12,too hard,10,85,65
"""


def test_past_loaves_come_in_with_gel_and_cut(owner_client) -> None:
    make_recipe()
    assert take(owner_client, PAST, "loaves").status_code == 302
    first, second = Batch.objects.order_by("number")
    assert first.poured_g == pytest.approx(1500)
    assert first.water_share == pytest.approx(second.water_share)
    assert (first.heat, second.heat) == ("oven", "none")
    loaf = first.loaves.get()
    assert loaf.gelseen_set.get().extent == "full"
    cut = loaf.cut_set.get()
    assert (cut.result, cut.bar_count, cut.bar_thickness_mm) == ("clean", 10, 25.0)


def test_a_cut_without_its_hour_teaches_the_cut_window_nothing(owner_client) -> None:
    make_recipe()
    take(owner_client, PAST, "loaves")
    learnt = Experience.of(Workshop.current()).cuts
    assert [pk for _, pk, _ in learnt] == [str(Loaf.objects.get(batch__number="25-001").pk)]


def test_past_loaves_twice_are_kept_once(owner_client) -> None:
    make_recipe()
    take(owner_client, PAST, "loaves")
    assert "Nothing new" in take(owner_client, PAST, "loaves", step="look").content.decode()
    take(owner_client, PAST + "\n", "loaves")
    assert (Batch.objects.count(), Cut.objects.count()) == (2, 2)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (("lard and coconut", "Castile"), "There is no recipe “Castile”"),
        ((",oven,", ",volcano,"), "Warmth: “volcano” is none of"),
        (("clean", "splendid"), "The cut: “splendid” is none of"),
        (("clean,10", ",10"), "How it cut is missing"),
        ((",10,85,65\n25-002", ",,85,65\n25-002"), "A cut needs the number of bars"),
        (("2025-03-05 09:00", "2025-03-03 09:00"), "The cut is before the pour."),
        (("2025-03-05 09:00,clean,10,85,65", ",,,,"), "neither cut nor gone"),
        ((",1500,oven", ",-5,oven"), "The mass poured is more than nothing."),
        (("25-002", "25-001"), "Row 2 tells of batch 25-001, too."),
        (("25-001", "25-001-and-many-more-letters"), "at most 20 letters"),
        (("10,85,65\n25-002", "10,2,65\n25-002"), "between 5 and 500 mm"),
    ],
)
def test_a_past_loaf_that_makes_no_sense_is_named(owner_client, change, reason: str) -> None:
    make_recipe()
    answer = take(owner_client, PAST.replace(*change), "loaves")
    assert reason in " ".join(problems(answer).values())
    assert not Batch.objects.exists()


def test_a_loaf_that_is_gone_is_finished(owner_client) -> None:
    make_recipe()
    take(owner_client, PAST, "loaves", same_gone="2025-12-31")
    assert Finish.objects.count() == 2


def test_readings_of_a_logger(owner_client) -> None:
    sheet = (
        "Timestamp,Humidity (%),Temp C\n2026-01-12T09:00:00+01:00,56.5,17.8\n2026-01-12T10:00:00+01:00,57,\n"
    )
    assert take(owner_client, sheet, "room", same_place="cellar").status_code == 302
    first = RoomReading.objects.earliest("at")
    assert (first.at, first.rh, first.temp_c, first.place, first.source) == (
        datetime(2026, 1, 12, 8, 0, tzinfo=UTC),
        56.5,
        17.8,
        "cellar",
        "file",
    )
    take(owner_client, sheet + "\n", "room", same_place="cellar")
    assert RoomReading.objects.count() == 2


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("2026-01-12 09:00,156,17", "between 0 and 100"),
        ("2026-01-12 09:00,56,64", "Is the unit right?"),
        ("2026-01-12 09:00,,", "Neither humidity nor temperature"),
        (",56,17", "The date is missing."),
    ],
)
def test_a_reading_that_makes_no_sense_is_named(owner_client, row: str, reason: str) -> None:
    assert reason in problems(take(owner_client, f"Date,RH,Temp\n{row}\n", "room"))[2]


def test_only_an_owner_takes_files_in(helper_client, owner_client) -> None:
    url = choose(owner_client, GOOD)
    assert helper_client.get(reverse("imports")).status_code == 403
    assert helper_client.get(url).status_code == 403
    assert helper_client.post(url, {"step": "take"}).status_code == 403


def test_what_is_no_sheet_is_said_beside_the_field_and_not_kept(owner_client) -> None:
    file = SimpleUploadedFile("sheet.xlsx", b"PK\x03\x04rest")
    answer = owner_client.post(reverse("imports"), {"kind": "weights", "file": file})
    assert answer.status_code == 422
    assert "Save the sheet as CSV" in answer.content.decode()
    assert not uploads.folder().exists()


def test_no_address_leads_out_of_the_folder(owner_client, settings) -> None:
    (settings.DATA_DIR / "secret.csv").write_text("a,b\n1,2\n")
    for digest in ("secret", uuid4().hex, "0" * 64):
        answer = owner_client.get(reverse("import_match", args=["weights", digest]))
        assert answer.url == reverse("imports")
    assert owner_client.get("/workshop/import/weights/..%2Fsecret/").status_code == 404
    assert owner_client.get(reverse("import_match", args=["soap", "0" * 64])).status_code == 404


def test_a_file_waits_for_a_day_readable_for_nobody_else(owner_client, monkeypatch) -> None:
    url = choose(owner_client, GOOD)
    digest = url.strip("/").rsplit("/", 1)[1]
    path = uploads.folder() / f"{digest}.csv"
    assert path.stat().st_mode & 0o777 == 0o600
    monkeypatch.setattr(uploads.time, "time", lambda: timezone.now().timestamp() + 25 * 3600)
    choose(owner_client, GOOD + "26-001;2;03.02.2026;128,9;\n")
    assert not path.exists()
    assert owner_client.get(url).url == reverse("imports")


def test_words_of_the_file_are_shown_as_words(owner_client) -> None:
    page = take(
        owner_client, "Batch,Bar,Date,Weight\n<script>alert(1)</script>,2,2026-01-20,1\n", step="look"
    )
    assert not re.search(r"<script>alert", page.content.decode())
    assert "&lt;script&gt;" in page.content.decode()


def test_every_field_of_the_form_has_a_name(owner_client) -> None:
    page = owner_client.get(choose(owner_client, PAST, "loaves")).content.decode()
    ids = set(re.findall(r'<(?:select|input)[^>]* id="([^"]+)"', page))
    assert ids <= set(re.findall(r'<label for="([^"]+)"', page))


def test_the_work_of_a_row_does_not_grow_with_the_number_of_rows(
    owner_client, django_assert_max_num_queries
) -> None:
    make_cut_loaf()
    rows = [
        f"26-001;{1 + n % 10};{1 + n // 10 % 28:02d}.02.2026 {n // 280:02d}:30;13{n % 10},5"
        for n in range(200)
    ]
    with django_assert_max_num_queries(120):
        assert take(owner_client, "Batch;Bar;Date;Weight\n" + "\n".join(rows)).status_code == 302
    assert Weighing.objects.filter(origin="file").count() == 200


def test_more_rows_than_can_be_kept_at_once_are_refused_before_anything(owner_client) -> None:
    rows = "26-001;2;20.01.2026;134\n" * 5001
    file = SimpleUploadedFile("sheet.csv", f"Batch;Bar;Date;Weight\n{rows}".encode())
    answer = owner_client.post(reverse("imports"), {"kind": "weights", "file": file})
    assert answer.status_code == 422
    assert "Split the file: 5000 are taken at once" in answer.content.decode()


def test_a_file_without_its_kind_is_asked_for_it(owner_client) -> None:
    file = SimpleUploadedFile("sheet.csv", GOOD.encode())
    answer = owner_client.post(reverse("imports"), {"file": file})
    assert answer.status_code == 422
    assert answer.context["form"].errors.keys() == {"kind"}


@pytest.mark.parametrize(
    ("column", "unit"),
    [("Weight (oz)", "oz"), ("Mass in Ounces", "oz"), ("weight kg", "kg"), ("Weight", "g")],
)
def test_the_unit_is_read_from_the_columns_name(owner_client, column: str, unit: str) -> None:
    make_cut_loaf("26-001")
    url = choose(owner_client, f"Batch,Bar,Date,{column}\n26-001,2,2026-01-20,4.6\n")
    assert filled(owner_client, url)["mass_unit"] == unit


def test_ounces_taken_for_grams_are_not_taken_in(owner_client) -> None:
    make_cut_loaf("26-001")
    sheet = "Batch,Bar,Date,Weight\n26-001,2,2026-01-20,4.62\n26-001,5,2026-01-20,131\n"
    assert "Is the unit right?" in problems(take(owner_client, sheet))[2]
    assert take(owner_client, sheet.replace("131", "4.6"), mass_unit="oz").status_code == 302
