"""Quiet hours on the workshop's clock. All moments that go in and come out are in UTC."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo


def at_clock(day: date, clock: time, zone: tzinfo) -> datetime:
    """The moment at which the wall clock shows it. A time that the spring change skips comes that much later; of one
    that the autumn change shows twice, the first."""
    return datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)


@dataclass(frozen=True, slots=True)
class Night:
    """One stretch of quiet hours."""

    begins: datetime
    ends: datetime


@dataclass(frozen=True, slots=True)
class QuietHours:
    """From `begins` to `ends` each day; the same time twice means never."""

    begins: time
    ends: time
    zone: tzinfo

    def hold(self, moment: datetime) -> bool:
        clock = moment.astimezone(self.zone).time()
        if self.begins <= self.ends:
            return self.begins <= clock < self.ends
        return clock >= self.begins or clock < self.ends

    def night_of(self, moment: datetime) -> Night | None:
        """The stretch that a moment falls into."""
        today = moment.astimezone(self.zone).date()
        for day in (today - timedelta(days=1), today):
            night = self._night_from(day)
            if night.begins <= moment < night.ends:
                return night
        return None

    def _night_from(self, day: date) -> Night:
        until = day + timedelta(days=1) if self.ends < self.begins else day
        return Night(at_clock(day, self.begins, self.zone), at_clock(until, self.ends, self.zone))
