"""Looking back: how loaves lost weight, when they settled, and whether the forecast's doubt was honest."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import comb

import numpy as np

from curelog.domain import drying
from curelog.domain.drying_facts import BarSeries, DryingQuestion, SettledRule, TrayWeighing, Weighing
from curelog.domain.quantiles import Quantiles

# A bar that was first weighed later has lost what nobody saw.
FIRST_WITHIN_DAYS = 1.0
# Between weighings further apart a straight line says too little about the day the rule was met.
WIDEST_GAP_DAYS = 21.0
# What a scale, its step and a humid week may add.
MOST_SHARE = 1.05
# Of the weight at the cut, from one weighing to the next: what a wet spell may add. A tray not tared adds more.
MOST_GAIN = 0.03
EARLY_WEIGHINGS = 4
BAND = 0.8  # of the chances lie between p10 and p90


@dataclass(frozen=True, slots=True)
class LossPoint:
    """`share`: weight on a day after the cut over that at the cut, mean of the bars weighed that day."""

    day: float
    share: float


def loss_course(
    bars: Mapping[str, Sequence[Weighing]], least_share: float, trays: Sequence[TrayWeighing] = ()
) -> tuple[LossPoint, ...]:
    """Shares by day; bars weighed together count where each was weighed at the cut.

    Left out is what no drying explains: below `least_share`, all water gone, far above 1 or above the day before.
    """
    first_g = _first_weights(bars)
    told: list[tuple[float, tuple[str, ...], float]]
    told = [(each.day, (name,), each.weight_g) for name in first_g for each in bars[name]]
    told += [(tray.day, tray.bars, tray.weight_g) for tray in trays if set(tray.bars) <= set(first_g)]
    by_day: dict[int, list[tuple[float, float]]] = {}
    for day, names, weight_g in told:
        share = weight_g / sum(first_g[name] for name in names)
        if least_share <= share <= MOST_SHARE:
            by_day.setdefault(int(day), []).extend([(day, share)] * len(names))
    means = [np.mean(points, axis=0) for _, points in sorted(by_day.items())]
    course: list[LossPoint] = []
    for day, share in means:
        if not course or share <= course[-1].share + MOST_GAIN:
            course.append(LossPoint(float(day), float(share)))
    return tuple(course)


def _first_weights(bars: Mapping[str, Sequence[Weighing]]) -> dict[str, float]:
    firsts = {name: min(told, key=lambda each: each.day) for name, told in bars.items() if told}
    return {name: first.weight_g for name, first in firsts.items() if first.day <= FIRST_WITHIN_DAYS}


@dataclass(frozen=True, slots=True)
class Outcome:
    """When a loaf met the rule, in days after the cut; or, with `is_settled` False, up to when it had not."""

    day: float
    is_settled: bool


def outcome(course: Sequence[LossPoint], rule: SettledRule) -> Outcome | None:
    """Read straight between weighings. None: weighed too briefly or too seldom to tell."""
    if len(course) < 2 or course[-1].day < rule.days:
        return None
    days = [point.day for point in course]
    met = _first_met(course, rule)
    day = days[-1] if met is None else met
    if max(_gap_at(days, day), _gap_at(days, day - rule.days)) > WIDEST_GAP_DAYS:
        return None
    return Outcome(day, met is not None)


def _first_met(course: Sequence[LossPoint], rule: SettledRule) -> float | None:
    days, shares = [point.day for point in course], [point.share for point in course]
    for day in np.arange(rule.days, days[-1] + 0.125, 0.25):
        then, now = np.interp([day - rule.days, day], days, shares)
        if then / now - 1.0 <= rule.pct / 100.0:
            return float(day)
    return None


def _gap_at(days: Sequence[float], day: float) -> float:
    return next((late - early for early, late in pairwise(days) if early <= day <= late), 0.0)


def weighing_days(bars: Sequence[BarSeries]) -> list[int]:
    """Days on which something was weighed, in order."""
    return sorted({int(weighing.day) for bar in bars for weighing in bar.weighings})


def early_day(bars: Sequence[BarSeries], weighings: int = EARLY_WEIGHINGS) -> float | None:
    """The end of the day of the loaf's n-th weighing; None with fewer."""
    days = weighing_days(bars)
    return days[weighings - 1] + 1.0 if len(days) >= weighings else None


def asked_early(question: DryingQuestion, until_day: float) -> DryingQuestion:
    """The question as it stood on a day, without all that came later."""
    bars = tuple(
        replace(
            bar,
            weighings=tuple(told for told in bar.weighings if told.day < until_day),
            steps=tuple(step for step in bar.steps if step.day < until_day),
        )
        for bar in question.bars
    )
    return replace(
        question,
        bars=bars,
        trays=tuple(tray for tray in question.trays if tray.day < until_day),
        climate=tuple(day for day in question.climate if day.day < until_day),
        now_day=max((told.day for bar in bars for told in bar.weighings), default=0.0),
    )


def told_settled(question: DryingQuestion) -> Quantiles | None:
    found = drying.forecast(question)
    return found.settled_day if isinstance(found, drying.CureForecast) else None


@dataclass(frozen=True, slots=True)
class Told:
    """What was forecast of a loaf early on, and what came."""

    settled_day: Quantiles
    came: Outcome

    @property
    def is_inside(self) -> bool:
        return self.came.is_settled and self.settled_day.p10 <= self.came.day <= self.settled_day.p90

    def is_due(self, age_days: float) -> bool:
        """Whether it may be judged: its band is over, and it settled or was weighed on beyond the band.

        Judged sooner, loaves that settle early would count before those that settle late.
        """
        end = self.settled_day.p90
        return age_days > end and (self.came.is_settled or self.came.day > end)


@dataclass(frozen=True, slots=True)
class Honesty:
    """`expected`: how many of so few an honest band would hold, in nine of ten such years."""

    inside: int
    of: int
    expected: tuple[int, int]

    @property
    def is_honest(self) -> bool:
        return self.expected[0] <= self.inside <= self.expected[1]


def honesty(told: Sequence[Told]) -> Honesty:
    return Honesty(sum(each.is_inside for each in told), len(told), hits_expected(len(told)))


def hits_expected(tries: int, chance: float = BAND) -> tuple[int, int]:
    """Middle 90 % of the binomial distribution: 5 % and 95 % points, by its definition."""
    reached = np.cumsum(
        [comb(tries, hits) * chance**hits * (1 - chance) ** (tries - hits) for hits in range(tries + 1)]
    )
    low, high = (int(np.searchsorted(reached, point - 1e-12)) for point in (0.05, 0.95))
    return low, min(high, tries)
