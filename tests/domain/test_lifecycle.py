"""Stages and needs, at moments given. Windows and forecasts are made up here: only what follows from them is tested."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from curelog.domain.cutting import CutWindow
from curelog.domain.lifecycle import LoafFacts, Need, Stage, standing
from curelog.domain.quantiles import Quantiles, Spread

POURED = datetime(2026, 3, 10, 8, 0, tzinfo=UTC)
ZONE = ZoneInfo("Europe/Brussels")


class Window(CutWindow):
    """Only its hours matter here."""

    def __init__(self, opens: Spread, closes: Spread) -> None:
        object.__setattr__(self, "opens", opens)
        object.__setattr__(self, "closes", closes)


IN_MOULD = LoafFacts(POURED, ZONE, window=Window(Spread(12, 18, 24), Spread(28, 40, 60)))
CURING = LoafFacts(
    POURED,
    ZONE,
    cut_at=POURED + timedelta(hours=24),
    settled_day=Quantiles(38, 40, 42, 45.2, 48, 51.1, 55),
    least_cure_days=28,
    weigh_again_day=20.0,
)


@pytest.mark.parametrize(
    ("hours", "need"),
    [
        (6, None),
        (13, Need.CHECK_FIRMNESS),
        (19, Need.CUT_NOW),
        (27.9, Need.CUT_NOW),
        (28.1, Need.PAST_CUT_BY),
    ],
)
def test_what_a_loaf_in_the_mould_wants(hours: float, need: Need | None) -> None:
    found = standing(IN_MOULD, POURED + timedelta(hours=hours))
    assert found.stage is Stage.MOULD
    assert found.needs == ((need,) if need else ())


def test_past_its_cut_by_it_says_by_how_much() -> None:
    assert standing(IN_MOULD, POURED + timedelta(hours=31)).past_cut_by == timedelta(hours=3)


def test_with_great_doubt_the_times_still_come_in_order() -> None:
    doubtful = replace(IN_MOULD, window=Window(Spread(10, 40, 160), Spread(20, 60, 300)))
    times = standing(doubtful, POURED).cut_times
    assert times
    assert times.check_from <= times.cut_from <= times.cut_by <= times.hard_from


def test_a_forecast_date_is_the_fractional_day_rounded_up_on_the_workshops_calendar() -> None:
    found = standing(CURING, POURED + timedelta(days=10))
    assert found.settled_likely == date(2026, 3, 11) + timedelta(days=46)
    assert found.settled_safe == date(2026, 3, 11) + timedelta(days=52)


def test_a_cut_just_before_midnight_utc_counts_on_the_local_day() -> None:
    late = replace(CURING, cut_at=datetime(2026, 3, 10, 23, 30, tzinfo=UTC))
    assert standing(late, POURED + timedelta(days=9)).old_enough == date(2026, 3, 11) + timedelta(days=28)


def test_weighing_is_wanted_on_its_day_and_again_on_the_safe_date() -> None:
    assert standing(CURING, POURED + timedelta(days=15)).needs == ()
    assert standing(CURING, POURED + timedelta(days=22)).needs == (Need.WEIGH,)
    unplanned = replace(CURING, weigh_again_day=None)
    assert standing(unplanned, POURED + timedelta(days=50)).needs == ()
    assert standing(unplanned, POURED + timedelta(days=54)).needs == (Need.WEIGH,)


def test_settled_only_by_a_weighing_on_or_after_the_safe_date() -> None:
    now = POURED + timedelta(days=60)
    before = replace(CURING, weighed_at=POURED + timedelta(days=50))
    after = replace(CURING, weighed_at=POURED + timedelta(days=54))
    assert standing(before, now).stage is Stage.CURING
    assert standing(after, now).stage is Stage.READY


def test_an_open_fail_keeps_it_from_ready_and_old_age_too() -> None:
    weighed = replace(CURING, weighed_at=POURED + timedelta(days=54))
    now = POURED + timedelta(days=60)
    assert standing(replace(weighed, open_fails=1), now).stage is Stage.SETTLED
    assert Need.HELD_BACK in standing(replace(weighed, open_fails=1), now).needs
    assert standing(replace(weighed, least_cure_days=180), now).stage is Stage.SETTLED


def test_finished_wants_nothing() -> None:
    assert standing(replace(IN_MOULD, finished_at=POURED), POURED + timedelta(days=9)).needs == ()


RELEASED = replace(CURING, weighed_at=POURED + timedelta(days=54), released_at=POURED + timedelta(days=58))


def test_released_it_wants_nothing_and_sells() -> None:
    found = standing(RELEASED, POURED + timedelta(days=60))
    assert (found.stage, found.needs, found.weigh_again) == (Stage.RELEASED, (), None)
    assert found.acts[0] == "leave"


def test_released_early_it_wants_no_weighing_any_more() -> None:
    early = replace(RELEASED, weighed_at=None, released_at=POURED + timedelta(days=30))
    assert standing(early, POURED + timedelta(days=54)).needs == ()


def test_a_fail_after_release_is_in_sight() -> None:
    found = standing(replace(RELEASED, open_fails=1), POURED + timedelta(days=60))
    assert (found.stage, found.is_held_back, found.needs) == (Stage.RELEASED, True, (Need.HELD_BACK,))


def test_finished_goes_before_released() -> None:
    gone = replace(RELEASED, finished_at=POURED + timedelta(days=90))
    assert standing(gone, POURED + timedelta(days=91)).stage is Stage.FINISHED
