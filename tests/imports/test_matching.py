"""Rows read as the person said: which moments are taken, and which cannot be meant."""

from zoneinfo import ZoneInfo

import pytest

from curelog.imports.matching import Matching, Moment, RowReader
from curelog.imports.sheet import SheetRow


def read(words: str) -> tuple[Moment | None, list[str]]:
    reader = RowReader(SheetRow(2, (words,)), Matching({"date": 0}, {}, ZoneInfo("Pacific/Auckland")))
    return reader.moment("date", ""), reader.problems


@pytest.mark.parametrize(
    ("words", "told", "has_clock"),
    [
        ("2026-03-04 14:30", "2026-03-04T14:30:00+13:00", True),
        ("2026-03-04", "2026-03-04T12:00:00+13:00", False),
        ("2026-03-04T14:30:00+00:00", "2026-03-04T14:30:00+00:00", True),
    ],
)
def test_a_moment_is_of_the_workshops_clock_unless_it_says_otherwise(
    words: str, told: str, has_clock: bool
) -> None:
    moment, problems = read(words)
    assert moment
    assert (moment.at.isoformat(), moment.has_clock, problems) == (told, has_clock, [])


@pytest.mark.parametrize(
    "words", ["0001-01-01", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00", "0026-03-04"]
)
def test_a_year_that_nobody_means_is_asked_about(words: str) -> None:
    moment, problems = read(words)
    assert moment is None
    assert problems == [f"“{words}”: a year from 1970 to 2199 is meant, is it not?"]
