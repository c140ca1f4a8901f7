"""Planning backwards from a market day: pour by when, on which days, and what gets in each other's way."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from itertools import combinations
from math import ceil

from curelog.domain.pour_time import TIME_TO_CUT, CutSpan

# The last weighing, wrapping and labelling take a day: common practice, no source.
DAYS_TO_PACK = 1


class Chance(StrEnum):
    """How sure it is that what is poured on a day is ready in time."""

    SAFE = "safe"
    LIKELY = "likely"
    TOO_LATE = "too_late"


@dataclass(frozen=True, slots=True)
class Course:
    """What a recipe takes. `cut`: hours after the pour; settled and least cure: days after the cut."""

    cut: CutSpan
    settled_likely_days: float
    settled_safe_days: float
    least_cure_days: int

    @property
    def likely_days(self) -> int:
        """Whole days from the pour to a bar that may be sold, at even odds."""
        return self._days(self.cut.from_h, self.settled_likely_days)

    @property
    def safe_days(self) -> int:
        """The same with nine chances in ten."""
        return self._days(self.cut.by_h, self.settled_safe_days)

    @property
    def mould_days(self) -> int:
        """Whole days after which a mould may be poured again."""
        return ceil((self.cut.from_h + TIME_TO_CUT / timedelta(hours=1)) / 24)

    def _days(self, cut_h: float, settled_days: float) -> int:
        # Rounded up as the dates of a loaf are, so that a plan promises no more than the loaf will say.
        return ceil(cut_h / 24) + ceil(max(settled_days, self.least_cure_days)) + DAYS_TO_PACK


@dataclass(frozen=True, slots=True)
class PourBy:
    """The last days to pour on for a market day."""

    likely: date
    safe: date

    def chance(self, poured_on: date) -> Chance:
        if poured_on <= self.safe:
            return Chance.SAFE
        return Chance.LIKELY if poured_on <= self.likely else Chance.TOO_LATE


def pour_by(market_day: date, course: Course) -> PourBy:
    return PourBy(
        market_day - timedelta(days=course.likely_days), market_day - timedelta(days=course.safe_days)
    )


def batches_for(bars: int, bars_per_batch: int) -> int:
    """Whole batches; `bars_per_batch` 1 or more."""
    if bars_per_batch < 1:
        raise ValueError(f"a batch gives 1 bar or more, not {bars_per_batch}")
    return ceil(bars / bars_per_batch)


def pour_days(last: date, batches: int, apart_days: int, today: date) -> tuple[date, ...]:
    """As late as is safe, each when the mould is free again; later than that where today leaves no choice."""
    first = max(today, last - timedelta(days=(batches - 1) * apart_days))
    return tuple(first + timedelta(days=place * apart_days) for place in range(batches))


HARDLY_ANY_TIME = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class PlannedPour:
    """Moments are in UTC."""

    name: str
    at: datetime
    cut_from: datetime
    cut_by: datetime
    moulds: tuple[str, ...] = ()

    @property
    def is_narrow(self) -> bool:
        """Nothing foretells an hour for sure: it wants feeling for."""
        return self.cut_by - self.cut_from <= HARDLY_ANY_TIME


@dataclass(frozen=True, slots=True)
class Clash:
    """Two pours that want one pair of hands, or with `mould` one mould. `can_wait`: one of them may be cut later."""

    first: PlannedPour
    second: PlannedPour
    mould: str = ""
    can_wait: bool = False


def clashes(pours: Sequence[PlannedPour]) -> Iterator[Clash]:
    for one, other in combinations(sorted(pours, key=lambda pour: pour.at), 2):
        for mould in sorted(set(one.moulds) & set(other.moulds)):
            if other.at < one.cut_from:
                yield Clash(one, other, mould)
        if abs(one.cut_from - other.cut_from) < TIME_TO_CUT:
            yield Clash(one, other, can_wait=_fit_one_after_another(one, other))


def _fit_one_after_another(one: PlannedPour, other: PlannedPour) -> bool:
    def fits(first: PlannedPour, then: PlannedPour) -> bool:
        free_at = first.cut_from + TIME_TO_CUT
        return max(free_at, then.cut_from) + TIME_TO_CUT <= then.cut_by

    return fits(one, other) or fits(other, one)
