"""What is said about a lot by its date, its opening and its certificate."""

from datetime import date, timedelta

import pytest

from curelog.domain import fats
from curelog.domain.shelf_life import Keeping, concerns, urgency

TODAY = date(2026, 3, 4)


def acids(name):
    return dict(fats.find(name).fatty_acids)


@pytest.mark.parametrize(
    ("fat", "days"),
    [("sunflower", 180), ("olive", 365), ("coconut", 730)],  # about 60, 10 and 2 % polyunsaturated
)
def test_the_more_polyunsaturated_the_sooner_it_is_open_long(fat, days):
    keeping = Keeping(acids(fat), opened=TODAY - timedelta(days=days))
    assert "smell it before use" in concerns(keeping, TODAY)[0]
    assert concerns(keeping, TODAY - timedelta(days=1)) == ()


def test_what_is_no_fat_does_not_turn_rancid():
    assert concerns(Keeping(opened=date(2010, 1, 1)), TODAY) == ()


@pytest.mark.parametrize(
    ("best_before", "words"),
    [
        (TODAY - timedelta(days=1), "1 day past its best-before date"),
        (TODAY - timedelta(days=91), "3 months past"),
        (TODAY, "0 days to its best-before date"),
        (TODAY + timedelta(days=60), "60 days to its best-before date"),
        (TODAY + timedelta(days=61), ""),
    ],
)
def test_its_date(best_before, words):
    said = concerns(Keeping(best_before=best_before), TODAY)
    assert said == () if not words else said[0].startswith(words)


def test_the_peroxide_value_is_held_against_codex_stan_210():
    """Up to 10 for refined, 15 for cold pressed oils."""
    assert concerns(Keeping(peroxide_value=10.0), TODAY) == ()
    assert "Peroxide value 10.1" in concerns(Keeping(peroxide_value=10.1), TODAY)[0]


def test_rich_in_linoleic_acid_first_then_by_its_day():
    near, far = TODAY + timedelta(days=5), TODAY + timedelta(days=300)
    lard_near = Keeping(acids("lard"), best_before=near)
    lard_opened = Keeping(acids("lard"), opened=TODAY - timedelta(days=370))
    sunflower = Keeping(acids("sunflower"), best_before=far)
    salt = Keeping(best_before=near)
    ordered = sorted([salt, lard_near, sunflower, lard_opened], key=urgency)
    assert ordered == [sunflower, lard_opened, salt, lard_near]
