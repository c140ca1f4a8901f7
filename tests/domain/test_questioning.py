"""Invented weights; what is asked follows from common practice, no source."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curelog.domain.quantiles import Quantiles
from curelog.domain.questioning import WeightContext, questions
from tests.domain.weight_questions import TABLE, cases

EXPECTED = Quantiles(124.0, 124.5, 125.2, 126.0, 126.8, 127.4, 128.0)
KNOWN = WeightContext(last_g=130.0, expected=EXPECTED, least_g=98.0, others_g={"5": 141.0, "8": 118.0})


def asked(weight_g: float, known: WeightContext = KNOWN) -> str:
    return " ".join(questions(weight_g, known))


@given(st.floats(124.0, 131.0))
def test_a_weight_in_the_expected_range_or_at_the_last_weight_is_not_questioned(weight_g: float) -> None:
    assert asked(weight_g) == ""


def test_a_small_gain_is_weather() -> None:
    assert asked(131.5) == ""


@pytest.mark.parametrize(
    ("weight_g", "words"),
    [
        (4.45, "ounces"),
        (1265.0, "decimal point"),
        (12.6, "decimal point"),
        (140.5, "bar 5"),
        (180.0, "tared"),
        (95.0, "all its water"),
        (108.0, "Expected was"),
        (0.0, "Nothing on the scale"),
    ],
)
def test_each_slip_is_named(weight_g: float, words: str) -> None:
    assert words in asked(weight_g)


def test_a_first_weight_is_not_questioned() -> None:
    assert asked(140.0, WeightContext(None, None, None, {})) == ""


def test_masses_are_written_as_the_maker_reads_them() -> None:
    assert "5.0 oz" in " ".join(questions(180.0, KNOWN, lambda grams: f"{grams / 10:.1f} oz"))


def test_the_phones_table_is_what_these_rules_say() -> None:
    """Written anew by `python -m tests.domain.weight_questions`; the phone is held to the same table."""
    table = json.loads(TABLE.read_text(encoding="utf-8"))
    assert table == cases()
    assert 30 < sum(not case["asked"] for case in table) < len(table) - 50
