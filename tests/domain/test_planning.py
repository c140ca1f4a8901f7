"""Planning backwards. Expected days are counted by hand beside each case."""

from datetime import UTC, date, datetime, timedelta

import pytest

from curelog.domain.planning import (
    Chance,
    Clash,
    Course,
    PlannedPour,
    batches_for,
    clashes,
    pour_by,
    pour_days,
)
from curelog.domain.pour_time import CutSpan

MARKET = date(2026, 12, 12)
COURSE = Course(CutSpan(20, 40), settled_likely_days=33.2, settled_safe_days=47.9, least_cure_days=28)


def test_days_are_counted_back_from_the_day_before_the_market():
    # Likely: 1 day to the cut, 34 to settle, 1 to pack. Safe: 2, 48, 1.
    assert (COURSE.likely_days, COURSE.safe_days) == (36, 51)
    assert pour_by(MARKET, COURSE).likely == date(2026, 11, 6)
    assert pour_by(MARKET, COURSE).safe == date(2026, 10, 22)


@pytest.mark.parametrize(("from_h", "days"), [(12, 1), (23, 1), (23.5, 2), (47, 2), (48, 3)])
def test_a_mould_is_free_an_hour_after_the_cut_may_begin(from_h: float, days: int):
    assert Course(CutSpan(from_h, 90), 33, 48, 28).mould_days == days


def test_the_least_cure_holds_a_soap_that_settles_early():
    patient = Course(CutSpan(20, 40), 33.2, 47.9, least_cure_days=180)
    assert (patient.likely_days, patient.safe_days) == (182, 183)


@pytest.mark.parametrize(
    ("day", "chance"),
    [
        (date(2026, 10, 22), Chance.SAFE),
        (date(2026, 10, 23), Chance.LIKELY),
        (date(2026, 11, 6), Chance.LIKELY),
        (date(2026, 11, 7), Chance.TOO_LATE),
    ],
)
def test_a_day_is_safe_likely_or_too_late(day: date, chance: Chance):
    assert pour_by(MARKET, COURSE).chance(day) is chance


@pytest.mark.parametrize(("bars", "batches"), [(1, 1), (9, 1), (10, 2), (18, 2), (19, 3)])
def test_batches_are_whole(bars: int, batches: int):
    assert batches_for(bars, 9) == batches


def test_a_batch_without_bars_is_refused():
    with pytest.raises(ValueError, match="1 bar or more"):
        batches_for(10, 0)


def test_batches_in_one_mould_end_on_the_last_safe_day():
    days = pour_days(date(2026, 10, 22), 3, 2, today=date(2026, 10, 1))
    assert days == (date(2026, 10, 18), date(2026, 10, 20), date(2026, 10, 22))


def test_what_should_have_begun_earlier_begins_today():
    days = pour_days(date(2026, 10, 22), 3, 2, today=date(2026, 10, 21))
    assert days == (date(2026, 10, 21), date(2026, 10, 23), date(2026, 10, 25))


def poured(name: str, hour: float, from_h: float, by_h: float, *moulds: str) -> PlannedPour:
    at = datetime(2026, 10, 22, tzinfo=UTC) + timedelta(hours=hour)
    return PlannedPour(name, at, at + timedelta(hours=from_h), at + timedelta(hours=by_h), moulds)


def test_two_cuts_at_the_same_time_clash_and_one_may_be_able_to_wait():
    one = poured("A", 9, 20, 21)
    for by_h, can_wait in ((21, False), (23, True)):
        other = poured("B", 9.5, 20, by_h)
        assert list(clashes([other, one])) == [Clash(one, other, can_wait=can_wait)]


def test_cuts_an_hour_apart_do_not_clash():
    assert list(clashes([poured("A", 9, 20, 30), poured("B", 10, 20, 30)])) == []


def test_a_mould_is_taken_until_the_cut():
    one = poured("A", 9, 20, 30, "Long")
    assert [clash.mould for clash in clashes([one, poured("B", 28, 20, 30, "Long", "Slab")])] == ["Long"]
    assert list(clashes([one, poured("B", 30, 20, 30, "Long")])) == []


def test_a_window_of_an_hour_or_less_is_narrow():
    at = datetime(2026, 5, 2, 9, tzinfo=UTC)
    for hours, narrow in ((0.0, True), (1.0, True), (1.5, False)):
        assert PlannedPour("x", at, at, at + timedelta(hours=hours)).is_narrow is narrow
