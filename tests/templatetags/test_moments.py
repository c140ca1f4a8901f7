from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.utils import timezone

from curelog.templatetags.moments import clock_by, clock_from, day_words, lasted

NOW = datetime(2026, 3, 28, 12, 7, tzinfo=UTC)


@pytest.fixture(autouse=True)
def in_brussels() -> object:
    with time_machine.travel(NOW, tick=False), timezone.override(ZoneInfo("Europe/Brussels")):
        yield


@pytest.mark.parametrize(
    ("ahead", "from_words", "by_words"),
    [
        (timedelta(hours=2), "today 15:15", "today 15:00"),
        (timedelta(hours=20), "tomorrow 10:30", "tomorrow 10:00"),
        (timedelta(hours=50), "Mon 30 Mar 17:00", "Mon 30 Mar 16:00"),
        (timedelta(days=9), "Mon 6 Apr", "Mon 6 Apr"),
    ],
)
def test_no_false_minute_from_is_rounded_up_and_by_down(
    ahead: timedelta, from_words: str, by_words: str
) -> None:
    """The night of 28 March 2026 has the clock change in Brussels: tomorrow's times stand on the new clock."""
    assert clock_from(NOW + ahead) == from_words
    assert clock_by(NOW + ahead) == by_words


def test_near_days_have_names_far_ones_a_year() -> None:
    today = date(2026, 3, 28)
    days = [today - timedelta(1), today, today + timedelta(1), date(2026, 4, 2), date(2027, 1, 5)]
    assert [day_words(d, today) for d in days] == [
        "yesterday",
        "today",
        "tomorrow",
        "Thu 2 Apr",
        "5 Jan 2027",
    ]


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (timedelta(minutes=1), "1 minute"),
        (timedelta(minutes=100), "100 minutes"),
        (timedelta(hours=5, minutes=50), "5 hours"),
        (timedelta(days=5), "5 days"),
    ],
)
def test_how_long_in_the_largest_unit_that_still_tells(span: timedelta, words: str) -> None:
    assert lasted(span) == words
