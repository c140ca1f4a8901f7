from datetime import date, time

import pytest

from curelog.imports import guess, values
from curelog.imports.values import Unreadable
from curelog.imports.wanted import LOAVES, READINGS, WEIGHTS


@pytest.mark.parametrize(
    ("text", "mark", "number"),
    [
        ("134.5", ".", 134.5),
        ("134,5", ",", 134.5),
        ("1,234.5", ".", 1234.5),
        ("1.234,5", ",", 1234.5),
        ("1 234,5", ",", 1234.5),
        ("1\u202f234", ",", 1234.0),
        ("1'234.5", ".", 1234.5),
        ("'134", ".", 134.0),
        (".5", ".", 0.5),
        ("134.", ".", 134.0),
        ("\u22122", ".", -2.0),
        ("+3", ".", 3.0),
        ("134 g", ".", 134.0),
        ("134g", ".", 134.0),
    ],
)
def test_numbers_as_people_type_them(text: str, mark, number: float) -> None:
    assert values.number(text, mark, "g") == number


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("134,5", "."),
        ("12,34,567", "."),
        ("1,2345", "."),
        ("abc", "."),
        ("", "."),
        ("1e5", "."),
        ("nan", "."),
        ("1.2.3", ","),
    ],
)
def test_what_is_no_number_is_refused_not_guessed(text: str, mark) -> None:
    with pytest.raises(Unreadable):
        values.number(text, mark)


def test_a_number_beyond_all_numbers_is_refused() -> None:
    with pytest.raises(Unreadable, match="too large"):
        values.number("9" * 400, ".")


def test_another_unit_in_the_cell_is_a_contradiction() -> None:
    with pytest.raises(Unreadable, match="says oz, but g is chosen"):
        values.number("4.7 oz", ".", "g")


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("2026-03-04", "ymd", date(2026, 3, 4)),
        ("2026/3/4", "ymd", date(2026, 3, 4)),
        ("04.03.2026", "dmy", date(2026, 3, 4)),
        ("4.3.26", "dmy", date(2026, 3, 4)),
        ("03/04/2026", "mdy", date(2026, 3, 4)),
        ("3-4-26", "mdy", date(2026, 3, 4)),
        ("29.02.2024", "dmy", date(2024, 2, 29)),
    ],
)
def test_dates_in_the_order_that_was_chosen(text: str, order, day: date) -> None:
    assert values.day(text, order) == day


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("31.02.2026", "dmy"),
        ("04.13.2026", "dmy"),
        ("13/04/2026", "mdy"),
        ("2026-03-04", "dmy"),
        ("4 March", "dmy"),
        ("04.03.202", "dmy"),
    ],
)
def test_what_is_no_date_in_that_order_is_refused(text: str, order) -> None:
    with pytest.raises(Unreadable):
        values.day(text, order)


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("14:30", time(14, 30)),
        ("9.05", time(9, 5)),
        ("2:30 pm", time(14, 30)),
        ("12:00 am", time(0, 0)),
        ("14:30:59", time(14, 30)),
    ],
)
def test_hours(text: str, clock: time) -> None:
    assert values.clock(text) == clock


@pytest.mark.parametrize("text", ["25:00", "14:61", "noon", "1430", "13:00 pm"])
def test_what_is_no_hour_is_refused(text: str) -> None:
    with pytest.raises(Unreadable):
        values.clock(text)


@pytest.mark.parametrize(
    ("cells", "is_american", "order"),
    [
        (["2026-03-04"], True, "ymd"),
        (["04.03.2026", "25.03.2026"], True, "dmy"),
        (["03/04/2026", "03/25/2026"], False, "mdy"),
        (["03/04/2026"], False, "dmy"),
        (["03/04/2026"], True, "mdy"),
        (["04.03.2026 14:30"], False, "dmy"),
    ],
)
def test_the_order_of_dates_is_guessed_from_all_of_them(cells, is_american, order) -> None:
    assert guess.date_order(cells, is_american) == order


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["134,5", "12"], ","),
        (["134.5"], "."),
        (["1,234"], "."),
        (["1,234.5"], "."),
        (["1.234,56"], ","),
        (["134"], "."),
    ],
)
def test_the_decimal_mark_is_guessed(cells, mark) -> None:
    assert guess.decimal_mark(cells) == mark


def test_columns_are_found_by_their_names() -> None:
    header = ["Batch No.", "Bar", "Date weighed", "Weight (g)", "Remark"]
    assert guess.columns(header, WEIGHTS.fields) == {"loaf": 0, "bar": 1, "date": 2, "weight": 3, "note": 4}


def test_a_column_is_given_once_and_exact_names_go_first() -> None:
    header = ["number", "name", "cut date", "pour date", "bar width", "bar length", "bars"]
    found = guess.columns(header, LOAVES.fields)
    assert found == {"number": 0, "recipe": 1, "cut_date": 2, "date": 3, "width": 4, "length": 5, "count": 6}


def test_an_own_export_and_a_logger_are_known() -> None:
    assert guess.columns(["id", "at", "day", "rh", "temp_c", "place"], READINGS.fields)["date"] == 1
    header = ["id", "loaf", "happened_at", "weight_g", "bars", "loaf_number", "bars_number"]
    found = guess.columns(header, WEIGHTS.fields)
    assert (found["loaf"], found["bar"], found["date"], found["weight"]) == (5, 6, 2, 3)
