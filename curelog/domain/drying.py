"""The drying forecast: when a loaf's weight settles, and what its bars will weigh. Day 0 is the cut.

A reduced diffusion model (drying_course) is fitted to all weighings of the loaf and of the workshop's past
loaves (drying_fit, drying_model) from written-down beliefs (drying_prior), and run on through rooms to come
(drying_room, drying_draws). Its limits: the practice data are simulated; fats are told apart only by the loaf's
own weighings and by past loaves of the same recipe; a bar that is wrapped, moved or wetted is not foreseen.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .drying_doubt import doubtful
from .drying_draws import DRAWS, FAR_HORIZON_DAYS, HORIZON_DAYS, Draws, draw, settled_days
from .drying_facts import (
    BarSeries,
    BarSize,
    Doubtful,
    DryingQuestion,
    DryingRecipe,
    GelSeen,
    HandlingStep,
    NoForecast,
    PastBar,
    RestsOn,
    RoomDay,
    SettledRule,
    TrayWeighing,
    Weighing,
)
from .drying_fit import Fit, fit
from .drying_model import ROUNDING_SD
from .drying_room import Room, room_of
from .quantiles import Quantiles

__all__ = [
    "BarSeries",
    "BarSize",
    "CoursePoint",
    "CureForecast",
    "Doubtful",
    "DryingQuestion",
    "DryingRecipe",
    "GelSeen",
    "HandlingStep",
    "NoForecast",
    "PastBar",
    "RestsOn",
    "RoomDay",
    "SettledRule",
    "TrayWeighing",
    "Weighing",
    "forecast",
]

Array = NDArray[np.float64]
CHANCES = (0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95)
# With more than this share unsettled at the horizon its quantiles would be cut short.
UNSETTLED_SHARE = 0.02
LEAST_WATER, MOST_WATER = 0.02, 0.7


def quantiles(draws: Array) -> Quantiles:
    return Quantiles(*(float(value) for value in np.quantile(draws, CHANCES)))


@dataclass(frozen=True, slots=True)
class CoursePoint:
    day: float
    weight_g: Quantiles


@dataclass(frozen=True, slots=True)
class _Handled:
    """A handling loss of one bar: draws of the share of its weight that was left."""

    bar: int
    day: float
    left: Array


@dataclass(frozen=True, slots=True)
class CureForecast:
    """Weights are of the target bar, or of the mean of the bars; handling already done is in them.

    `ceiling_g`: the least possible weight, all water and fragrance gone. `planed`: (bar, day) of handling losses
    that nobody told and the weighings show.
    """

    settled_day: Quantiles
    ceiling_g: float
    doubtful: tuple[Doubtful, ...]
    planed: tuple[tuple[str, float], ...]
    rests_on: RestsOn
    settled_draws: Array
    _draws: Draws
    _fit: Fit
    _of: tuple[int, ...]
    _handled: tuple[_Handled, ...]
    _resolution_g: float

    def weight_at(self, day: float) -> Quantiles:
        return quantiles(self._weights(self._of, day).mean(axis=0))

    def course(self, days: Sequence[float]) -> tuple[CoursePoint, ...]:
        return tuple(CoursePoint(day, self.weight_at(day)) for day in days)

    def expected_weight(self, bar_id: str, day: float) -> Quantiles:
        """What the scale should show for one bar, its step included."""
        noise = np.random.default_rng(3).standard_normal(DRAWS)
        return quantiles(self.drawn_weight([bar_id], day) + ROUNDING_SD * self._resolution_g * noise)

    def drawn_weight(self, bar_ids: Sequence[str], day: float) -> Array:
        """Draws of the weight of these bars together."""
        return np.asarray(self._weights([self._fit.bars.index(bar) for bar in bar_ids], day).sum(axis=0))

    def _weights(self, of: Sequence[int], day: float) -> Array:
        weights = np.exp(self._draws.log_weight[list(of)]) * self._draws.share_at(day)
        for step in self._handled:
            if step.bar in of and step.day <= day:
                weights[list(of).index(step.bar)] *= step.left
        return np.asarray(weights)


def forecast(question: DryingQuestion) -> CureForecast | NoForecast:
    """When the loaf settles, from its weighings, or from its recipe alone."""
    refused = next(_refusals(question), None)
    if refused:
        return refused
    # The order in which bars are named must not matter, not even to the last digit.
    question = replace(question, bars=tuple(sorted(question.bars, key=lambda bar: bar.bar_id)))
    room = room_of(question)
    fitted = fit(question, room)
    of = [n for n, bar in enumerate(fitted.bars) if question.target in (None, bar)]
    draws, settled = _drawn(question, room, fitted, of)
    handled = _handled(question, fitted, draws)
    told = {(bar.bar_id, step.day) for bar in question.bars for step in bar.steps}
    lost = question.recipe.water_share + question.recipe.fragrance_share
    found = CureForecast(
        settled_day=quantiles(settled),
        ceiling_g=float(_at_cut(draws, of, handled, question.now_day) * (1.0 - lost)),
        doubtful=(),
        planed=tuple(
            (fitted.bars[bar], day) for bar, day in fitted.planings if (fitted.bars[bar], day) not in told
        ),
        rests_on=RestsOn(len(fitted.days), fitted.past_loaves),
        settled_draws=settled,
        _draws=draws,
        _fit=fitted,
        _of=tuple(of),
        _handled=handled,
        _resolution_g=question.resolution_g,
    )
    return replace(found, doubtful=tuple(_doubts(found)))


def _drawn(question: DryingQuestion, room: Room, fitted: Fit, of: list[int]) -> tuple[Draws, Array]:
    for horizon in (HORIZON_DAYS, FAR_HORIZON_DAYS):
        draws = draw(fitted, room, question.recipe.water_share, of, question.now_day, horizon)
        settled = settled_days(draws, question.rule)
        if question.reach_day <= horizon and np.mean(settled >= draws.grid[-1]) <= UNSETTLED_SHARE:
            break
    return draws, settled


def _at_cut(draws: Draws, of: Sequence[int], handled: Sequence[_Handled], now_day: float) -> float:
    """Mean weight at the cut of what is still there: a planed bar's ceiling shrinks with it."""
    weights = np.exp(draws.log_weight[list(of)])
    for step in handled:
        if step.bar in of and step.day <= now_day:
            weights[list(of).index(step.bar)] *= step.left
    return float(weights.mean())


def _handled(question: DryingQuestion, fitted: Fit, draws: Draws) -> tuple[_Handled, ...]:
    """The handling losses, weighed, told or found."""
    at_cut = np.exp(draws.log_weight)
    weighed = [
        _Handled(bar, step.day, 1.0 - np.minimum(step.loss_g / at_cut[bar], 0.9))
        for bar, series in enumerate(question.bars)
        for step in series.steps
        if step.loss_g is not None
    ]
    estimated = zip(fitted.planings, np.exp(draws.planed), strict=True)
    return (*weighed, *(_Handled(bar, day, left) for (bar, day), left in estimated))


def _doubts(found: CureForecast) -> Iterator[Doubtful]:
    bars = found._fit.bars
    for reading in found._fit.gross:
        names = [bars[bar] for bar in reading.bars]
        likely_g = float(np.median(found.drawn_weight(names, reading.day)))
        others = [bar for bar in bars if bar not in names and len(names) == 1]
        others_g = {bar: float(np.median(found.drawn_weight([bar], reading.day))) for bar in others}
        yield doubtful("+".join(names), reading.day, reading.weight_g, likely_g, others_g)


def _refusals(question: DryingQuestion) -> Iterator[NoForecast]:
    share = question.recipe.water_share
    names = [bar.bar_id for bar in question.bars]
    if not LEAST_WATER <= share <= MOST_WATER:
        yield NoForecast(
            f"a water share of {share:g} is not between 0.02 and 0.7", "check the recipe's water"
        )
    if not names:
        yield NoForecast("no bar is known", "number the test bars at the cut, or give the size of a bar")
    if len(set(names)) < len(names):
        yield NoForecast("two bars go by one name", "give each bar its own number")
    if question.target is not None and question.target not in names:
        yield NoForecast(f"bar {question.target} is not among the bars", "ask about a bar that is there")
    if any(bar not in names for tray in question.trays for bar in tray.bars):
        yield NoForecast("a tray names a bar that is not among the bars", "correct the tray's weighing")
    if not all(bar.size or bar.weighings for bar in question.bars) and not question.trays:
        yield NoForecast("a bar has neither size nor weighing", "note the bar's size or weigh it once")
    sizes = [bar.size for bars in (question.bars, question.history) for bar in bars if bar.size]
    if not all(
        0.0 < side < np.inf for size in sizes for side in (size.length_mm, size.width_mm, size.thickness_mm)
    ):
        yield NoForecast("a bar's size is not above 0", "measure the bar again, in mm")
    told = [(tray.day, tray.weight_g) for tray in question.trays]
    for weighings in (bar.weighings for bars in (question.bars, question.history) for bar in bars):
        told += [(weighing.day, weighing.weight_g) for weighing in weighings]
    if not all(0.0 <= day < np.inf and 0.0 < weight_g < np.inf for day, weight_g in told):
        yield NoForecast("a weighing's day or weight is not a number above 0", "correct that weighing")
