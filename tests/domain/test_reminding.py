"""The workshop is in Helsinki, so that its clock is never by chance the one of UTC."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curelog.domain.lifecycle import CutTimes, Stage, Standing
from curelog.domain.quiet import QuietHours, at_clock
from curelog.domain.reminding import RULES, TIME_TO_ACT, Kind, Rule, Shift, Story, Wanted, wanted

ZONE = ZoneInfo("Europe/Helsinki")
QUIET = QuietHours(time(22, 0), time(6, 30), ZONE)
LONG_AGO = datetime(2020, 1, 1, tzinfo=UTC)


def at(day: int, clock: str, month: int = 1) -> datetime:
    return at_clock(date(2026, month, day), time.fromisoformat(clock), ZONE)


def in_mould(poured: datetime, check: datetime, cut: datetime, by: datetime) -> Story:
    times = CutTimes(check, cut, by, by + timedelta(hours=6))
    return Story(Standing(Stage.MOULD, cut_times=times), felt_at=poured)


def told(story: Story, rules: dict[Kind, Rule] | None = None, now: datetime = LONG_AGO) -> dict[Kind, Wanted]:
    found = wanted(story, RULES | (rules or {}), QUIET, now)
    return {want.kind: want for want in found if want.due_at}


def test_a_window_in_the_day_is_told_step_by_step() -> None:
    story = in_mould(at(12, "08:00"), at(12, "12:00"), at(12, "15:00"), at(12, "20:00"))
    due = {kind: want.due_at for kind, want in told(story).items()}
    assert due == {Kind.CHECK: at(12, "12:00"), Kind.CUT: at(12, "14:30"), Kind.CUT_BY: at(12, "18:00")}


def test_a_window_that_opens_at_night_and_closes_at_noon_is_told_in_the_morning_once() -> None:
    story = in_mould(at(12, "12:00"), at(12, "23:00"), at(13, "03:00"), at(13, "12:00"))
    due = told(story)
    assert {kind: want.due_at for kind, want in due.items()} == {
        Kind.CUT: at(13, "06:30"),
        Kind.CUT_BY: at(13, "10:00"),
    }
    assert due[Kind.CUT].shift is Shift.AFTER


def test_a_window_that_closes_at_night_is_told_before_it_in_time_to_act() -> None:
    story = in_mould(at(12, "10:00"), at(12, "21:30"), at(13, "00:00"), at(13, "06:00"))
    due = told(story)
    assert Kind.CUT_BY not in due
    assert (due[Kind.CUT].due_at, due[Kind.CUT].shift) == (at(12, "21:00"), Shift.BEFORE)


def test_what_was_poured_in_the_last_quarter_before_the_night_is_told_at_once() -> None:
    story = in_mould(at(12, "21:45"), at(12, "23:00"), at(13, "00:00"), at(13, "03:00"))
    assert told(story)[Kind.CUT].due_at == at(12, "21:45")


def test_who_pours_at_night_is_told_at_night_when_waiting_loses_the_loaf() -> None:
    story = in_mould(at(12, "23:00"), at(13, "00:00"), at(13, "01:00"), at(13, "03:00"))
    due = told(story)
    assert (due[Kind.CUT].due_at, due[Kind.CUT].shift) == (at(13, "00:30"), Shift.AT_NIGHT)


def test_a_finger_check_that_finds_the_loaf_firm_leaves_only_the_cut_by_to_be_told() -> None:
    story = in_mould(at(12, "08:00"), at(12, "12:00"), at(12, "15:00"), at(12, "20:00"))
    assert told(replace(story, felt_at=at(12, "16:00"), checks=1)).keys() == {Kind.CUT_BY}


def test_a_lead_never_reaches_back_to_when_the_maker_stood_before_the_loaf() -> None:
    story = in_mould(at(12, "19:00"), at(12, "19:20"), at(12, "19:40"), at(12, "20:00"))
    assert told(story)[Kind.CUT_BY].due_at == at(12, "19:30")


def test_a_kind_switched_off_leaves_its_moment_to_the_next() -> None:
    story = in_mould(at(12, "10:00"), at(12, "21:30"), at(13, "00:00"), at(13, "06:00"))
    due = told(story, {Kind.CUT: Rule(is_on=False)})
    assert Kind.CUT not in due
    assert due[Kind.CUT_BY].due_at == at(12, "21:00")


def test_nothing_is_wanted_that_is_not_true_any_more() -> None:
    story = in_mould(at(12, "08:00"), at(12, "12:00"), at(12, "15:00"), at(12, "20:00"))
    assert told(story, now=at(12, "21:00")).keys() == {Kind.CUT_BY}
    assert told(story, now=at(15, "08:00")) == {}


CURING = Standing(
    Stage.CURING, settled_safe=date(2026, 3, 20), weigh_again=date(2026, 2, 2), old_enough=date(2026, 3, 1)
)


def test_while_it_cures_the_next_weighing_and_the_safe_date_are_told_in_the_evening() -> None:
    due = told(Story(CURING, LONG_AGO, cut_day=date(2026, 1, 13)))
    assert due[Kind.WEIGH].due_at == at(2, "18:00", month=2)
    assert due[Kind.SETTLED].due_at == at(20, "18:00", month=3)
    assert Kind.READY not in due


def test_a_date_that_is_past_asks_for_no_second_weighing_beside_it() -> None:
    late = replace(CURING, weigh_again=date(2026, 3, 21))
    assert Kind.WEIGH not in told(Story(late, LONG_AGO, cut_day=date(2026, 1, 13)))


def test_ready_is_told_the_day_after_the_weighing_that_confirmed_it_or_when_old_enough() -> None:
    ready = Standing(Stage.READY, old_enough=date(2026, 3, 1))
    confirmed = Story(ready, LONG_AGO, cut_day=date(2026, 1, 13), weighed_at=at(10, "19:00", month=3))
    assert told(confirmed)[Kind.READY].due_at == at(11, "18:00", month=3)
    young = replace(confirmed, standing=replace(ready, stage=Stage.SETTLED, old_enough=date(2026, 6, 1)))
    assert told(young)[Kind.READY].due_at == at(1, "18:00", month=6)
    held = replace(
        confirmed, standing=replace(ready, is_held_back=True), open_fails=(("x", at(10, "12:00", month=3)),)
    )
    assert told(held).keys() & {Kind.READY, Kind.HELD} == {Kind.HELD}


def test_bars_are_turned_four_times_and_looked_over_until_somebody_looked() -> None:
    story = Story(CURING, LONG_AGO, cut_day=date(2026, 1, 13))
    found = wanted(story, RULES, QUIET, LONG_AGO)
    assert [want.begins for want in found if want.kind is Kind.TURN] == [
        date(2026, 1, d) for d in (20, 27)
    ] + [date(2026, 2, d) for d in (3, 10)]
    looked = wanted(replace(story, looked_at=at(1, "12:00", month=5)), RULES, QUIET, LONG_AGO)
    assert (
        len([w for w in found if w.kind is Kind.SPOTS]) - len([w for w in looked if w.kind is Kind.SPOTS])
        == 2
    )


def test_nothing_is_wanted_of_a_finished_loaf() -> None:
    assert wanted(Story(Standing(Stage.FINISHED), LONG_AGO), RULES, QUIET, LONG_AGO) == []


@pytest.mark.parametrize(("day", "utc_hour"), [(28, 16), (29, 15)])
def test_six_in_the_evening_stays_six_over_the_spring_change(day: int, utc_hour: int) -> None:
    """Finland puts its clocks on at 03:00 of 29 March 2026 (EU directive 2000/84/EC: the last Sunday of March)."""
    assert at_clock(date(2026, 3, day), time(18, 0), ZONE) == datetime(2026, 3, day, utc_hour, tzinfo=UTC)


@pytest.mark.parametrize(("month", "day", "hours"), [(3, 28, 7.5), (10, 24, 9.5), (6, 1, 8.5)])
def test_the_night_of_a_clock_change_is_an_hour_shorter_or_longer(month: int, day: int, hours: float) -> None:
    night = QUIET.night_of(at(day, "23:30", month=month))
    assert night
    assert night.ends - night.begins == timedelta(hours=hours)


def test_a_time_that_the_spring_change_skips_comes_an_hour_later() -> None:
    assert at_clock(date(2026, 3, 29), time(3, 30), ZONE).astimezone(ZONE).time() == time(4, 30)


def test_quiet_at_noon_and_never_quiet() -> None:
    siesta = QuietHours(time(13, 0), time(15, 0), ZONE)
    assert siesta.night_of(at(12, "14:00"))
    assert not siesta.night_of(at(12, "15:00"))
    assert QuietHours(time(7, 0), time(7, 0), ZONE).night_of(at(12, "07:00")) is None


@given(
    poured=st.datetimes(datetime(2026, 1, 1), datetime(2026, 12, 31), timezones=st.just(UTC)),
    opens=st.floats(1, 40),
    width=st.floats(0.5, 60),
    doubt=st.floats(0, 0.6),
)
def test_any_loaf_is_told_of_its_cut_before_it_is_too_late_and_asleep_only_when_poured_late(
    poured: datetime, opens: float, width: float, doubt: float
) -> None:
    def after(hours: float) -> datetime:
        return poured + timedelta(hours=hours)

    story = in_mould(poured, after(opens * (1 - doubt)), after(opens), after(opens + width))
    due = told(story)
    cut = due.get(Kind.CUT) or due[Kind.CUT_BY]
    assert cut.due_at
    assert poured <= cut.due_at < after(opens + width)
    for want in due.values():
        night = QUIET.night_of(want.due_at)
        # Asleep only when it was known no earlier than in this very night.
        assert night is None or (want.shift is Shift.AT_NIGHT and poured >= night.begins)
    if cut.shift is Shift.AFTER:
        assert cut.due_at + TIME_TO_ACT <= after(opens + width)
