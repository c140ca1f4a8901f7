"""Invented numbers; the usual loss is common practice, no source. The phone is held to the same table:
tests/js/asking.test.mjs."""

import json
from pathlib import Path

import pytest

from curelog.domain.mass_balance import balance

TABLE = json.loads((Path(__file__).parents[1] / "data" / "mass_balances.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", TABLE, ids=str)
def test_what_is_missing_and_whether_it_is_asked(case: dict[str, object]) -> None:
    found = balance(case["pouredG"], case["count"], case["weightsG"], case["allG"], case["trimmingsG"])
    told = (found.missing_g, found.is_odd) if found else (None, None)
    assert told == (case["missingG"], case["isOdd"])


def test_test_bars_stand_for_the_others_and_trimmings_count() -> None:
    found = balance(1500.0, 10, [140.0, 142.0], all_g=None, trimmings_g=60.0)
    assert found
    assert found.found_g == 1470.0
