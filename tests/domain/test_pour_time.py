"""When to pour so that nobody has to cut in the night. Expected times are worked out by hand beside each case."""

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest

from curelog.domain.pour_time import CutSpan, better_pour_time, can_cut_awake, opens_awake
from curelog.domain.quiet import QuietHours

BERLIN = ZoneInfo("Europe/Berlin")
NIGHT = QuietHours(time(22, 0), time(6, 30), BERLIN)


def berlin(day: int, hour: int, minute: int = 0, month: int = 1) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=BERLIN)


@pytest.mark.parametrize(
    ("hour", "minute", "is_quiet"),
    [(21, 59, False), (22, 0, True), (0, 0, True), (6, 29, True), (6, 30, False), (12, 0, False)],
)
def test_quiet_hours_reach_over_midnight(hour, minute, is_quiet):
    assert NIGHT.hold(berlin(12, hour, minute)) is is_quiet


def test_quiet_hours_within_a_day_and_none_at_all():
    siesta = QuietHours(time(13, 0), time(15, 0), BERLIN)
    assert siesta.hold(berlin(12, 14))
    assert not siesta.hold(berlin(12, 15))
    never = QuietHours(time(0, 0), time(0, 0), BERLIN)
    assert not any(never.hold(berlin(12, hour)) for hour in range(24))


def test_quiet_hours_are_those_of_the_zone_whatever_zone_the_moment_has():
    assert NIGHT.hold(datetime(2026, 1, 12, 21, 30, tzinfo=UTC))  # 22:30 in Berlin
    assert not NIGHT.hold(datetime(2026, 7, 12, 19, 45, tzinfo=UTC))  # 21:45 there, summer time


@pytest.mark.parametrize(
    ("pour_hour", "span", "can"),
    [
        (9, CutSpan(8, 12), True),  # 17:00 to 21:00
        (15, CutSpan(8, 12), False),  # 23:00 to 03:00
        (13, CutSpan(8, 14), True),  # 21:00 to 03:00: the first hour is awake
        (13, CutSpan(8.5, 14), False),  # 21:30 to 03:00: half an hour is not enough
        (18, CutSpan(8, 13.5), True),  # 02:00 to 07:30: the last hour is awake
        (18, CutSpan(8, 13), False),  # 02:00 to 07:00
        (15, CutSpan(8, 60), True),  # days: there is always an hour awake
        (20, CutSpan(0.2, 0.5), True),  # shorter than a cut takes, awake as a whole
        (21, CutSpan(0.2, 1.5), False),  # 21:30 to 22:30 with the time that cutting takes
    ],
)
def test_a_cut_needs_an_hour_outside_the_quiet_hours(pour_hour, span, can):
    assert can_cut_awake(berlin(12, pour_hour), span, NIGHT) is can


def test_a_window_without_length_is_given_the_hour_before_it():
    at_eight = CutSpan(12, 12)
    assert can_cut_awake(berlin(12, 8), at_eight, NIGHT)  # 19:00 to 20:00
    assert not can_cut_awake(berlin(12, 19), at_eight, NIGHT)  # 06:00 to 07:00


def test_the_first_pour_time_that_opens_awake_is_proposed():
    """Opens 8 h after the pour: before 22:00 less two hours of doubt, or from 06:30 on.

    Poured at 15:00 it opens at 23:00. 22:30 would open at 06:30, but 22:00 is quiet for pouring too; the first
    awake pour time is 06:30 the next morning, opening at 14:30.
    """
    span = CutSpan(8, 12)
    assert better_pour_time(berlin(12, 15), [span], NIGHT) == berlin(13, 6, 30)


def test_later_today_when_the_window_then_opens_in_the_morning():
    """Opens 14 h after the pour. From 10:00 that is midnight; at 16:30 it is 06:30."""
    assert better_pour_time(berlin(12, 10), [CutSpan(14, 22)], NIGHT) == berlin(12, 16, 30)


def test_every_loaf_has_to_open_awake():
    spans = [CutSpan(14, 22), CutSpan(16, 24)]
    found = better_pour_time(berlin(12, 10), spans, NIGHT)
    assert found == berlin(12, 16, 30)
    assert all(opens_awake(found, span, NIGHT) for span in spans)


def test_proposals_are_on_the_quarter_hour_and_never_before_the_moment_asked():
    asked = berlin(12, 16, 31)
    assert better_pour_time(asked, [CutSpan(14, 22)], NIGHT) == berlin(12, 16, 45)


def test_no_proposal_when_there_is_none():
    """Awake only from 6:00 to 9:00, opening always 12 h later."""
    busy = QuietHours(time(9, 0), time(6, 0), BERLIN)
    assert better_pour_time(berlin(12, 8), [CutSpan(12, 14)], busy) is None


@pytest.mark.parametrize(
    ("pour", "expected"),
    [
        # Clocks go forward on 29 March 2026 at 02:00: ten hours after 21:00 it is 08:00, not 07:00.
        (berlin(28, 21, month=3), berlin(29, 8, month=3)),
        # And back on 25 October at 03:00: ten hours after 21:00 it is 06:00.
        (berlin(24, 21, month=10), berlin(25, 6, month=10)),
    ],
)
def test_hours_are_added_across_a_clock_change_in_utc(pour, expected):
    assert next(CutSpan(10, 12).moments(pour)) == expected


def test_a_clock_change_decides_what_is_quiet():
    """9.5 h after 21:00: 07:30 on the night that is short, 05:30 on the night that is long."""
    span = CutSpan(9.5, 10.5)
    assert can_cut_awake(berlin(28, 21, month=3), span, NIGHT)
    assert not can_cut_awake(berlin(24, 21, month=10), span, NIGHT)
