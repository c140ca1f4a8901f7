"""The drying forecast: when a loaf's weight settles, and what its bars will weigh. Day 0 is the cut.

A reduced diffusion model (drying_course) is fitted to all weighings of the loaf and of the workshop's past loaves
(drying_fit) from written-down beliefs (drying_prior), and run on through rooms to come (drying_room, drying_draws).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
from .drying_data import Reading
from .drying_fit import Fit, fit
from .drying_model import ROUNDING_SD
from .drying_room import room_of
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


def quantiles(draws: Array) -> Quantiles:
    return Quantiles(*(float(value) for value in np.quantile(draws, CHANCES)))


@dataclass(frozen=True, slots=True)
class CoursePoint:
    day: float
    weight_g: Quantiles


@dataclass(frozen=True, slots=True)
class CureForecast:
    """`ceiling_g`: the least possible weight, all water and fragrance gone. Weights are of the target bar, or of
    the mean of the bars; handling already done is in them."""

    settled_day: Quantiles
    settled_draws: Array
    ceiling_g: float
    doubtful: tuple[Doubtful, ...]
    rests_on: RestsOn
    draws: Draws
    fit: Fit
    of: tuple[int, ...]
    handling: tuple[tuple[int, float, Array], ...]
    resolution_g: float

    def _weights(self, of: Sequence[int], day: float) -> Array:
        grid, course = self.draws.grid, self.draws.course
        day = min(max(day, 0.0), float(grid[-1]))
        left = min(int(np.searchsorted(grid, day, side="right")) - 1, len(grid) - 2)
        part = (day - grid[left]) / (grid[left + 1] - grid[left])
        share = course[left] * (1.0 - part) + course[left + 1] * part
        weights = np.exp(self.draws.log_weight[list(of)]) * share
        for bar, step_day, left_share in self.handling:
            if bar in of and step_day <= day:
                weights[list(of).index(bar)] *= left_share
        return np.asarray(weights)

    def drawn_weight(self, bar_ids: Sequence[str], day: float) -> Array:
        """Draws of the weight of these bars together."""
        return np.asarray(self._weights([self.fit.bars.index(bar) for bar in bar_ids], day).sum(axis=0))

    def weight_at(self, day: float) -> Quantiles:
        return quantiles(self._weights(self.of, day).mean(axis=0))

    def share_left(self, from_day: float, to_day: float) -> Array:
        """Draws of the mean bar's weight on one day over its weight on an earlier one."""
        return np.asarray(
            self._weights(self.of, to_day).mean(axis=0) / self._weights(self.of, from_day).mean(axis=0)
        )

    def course(self, days: Sequence[float]) -> tuple[CoursePoint, ...]:
        return tuple(CoursePoint(day, self.weight_at(day)) for day in days)

    def expected_weight(self, bar_id: str, day: float) -> Quantiles:
        """What the scale should show for one bar, its step included."""
        weights = self.drawn_weight([bar_id], day)
        rng = np.random.default_rng(3)
        return quantiles(weights + ROUNDING_SD * self.resolution_g * rng.standard_normal(DRAWS))


def forecast(question: DryingQuestion, reach_day: float = 0.0) -> CureForecast | NoForecast:
    """When the loaf settles, from its weighings, or from its recipe alone. Weights are known up to `reach_day`, at
    most FAR_HORIZON_DAYS, and at least as far as settling asks for; a later day is answered as the last one."""
    refused = _refuse(question)
    if refused:
        return refused
    room = room_of(question)
    fitted = fit(question, room)
    of = [fitted.bars.index(question.target)] if question.target else list(range(len(fitted.bars)))
    draws = draw(fitted, room, question.recipe.water_share, of, question.now_day, HORIZON_DAYS)
    settled = settled_days(draws, question.rule)
    if reach_day > HORIZON_DAYS or np.mean(settled >= HORIZON_DAYS - 1.0) > 0.02:
        draws = draw(fitted, room, question.recipe.water_share, of, question.now_day, FAR_HORIZON_DAYS)
        settled = settled_days(draws, question.rule)
    lost = question.recipe.water_share + question.recipe.fragrance_share
    at_cut = np.exp(draws.log_weight[of]).mean()
    return CureForecast(
        settled_day=quantiles(settled),
        settled_draws=settled,
        ceiling_g=float(at_cut * (1.0 - lost)),
        doubtful=tuple(_doubtful(reading, fitted) for reading in fitted.gross),
        rests_on=RestsOn(len(fitted.days), fitted.past_loaves),
        draws=draws,
        fit=fitted,
        of=tuple(of),
        handling=_handling(question, fitted, draws),
        resolution_g=question.resolution_g,
    )


def _handling(question: DryingQuestion, fitted: Fit, draws: Draws) -> tuple[tuple[int, float, Array], ...]:
    """Share of the weight left after each handling step, weighed, told or found."""
    weighed = tuple(
        (bar, step.day, 1.0 - step.loss_g / np.exp(draws.log_weight[bar]))
        for bar, series in enumerate(question.bars)
        for step in series.steps
        if step.loss_g is not None
    )
    estimated = zip(fitted.planings, np.exp(draws.planed), strict=True)
    return weighed + tuple((bar, day, left) for (bar, day), left in estimated)


def _doubtful(reading: Reading, fitted: Fit) -> Doubtful:
    names = [fitted.bars[bar] for bar in reading.bars]
    words = f"day {reading.day:.0f}: {reading.weight_g:g} g does not fit the other weighings"
    return Doubtful("+".join(names), reading.day, reading.weight_g, words)


def _refuse(question: DryingQuestion) -> NoForecast | None:
    share = question.recipe.water_share
    if not 0.02 <= share <= 0.7:
        return NoForecast(f"a water share of {share:g} is outside 0.02 to 0.7", "check the recipe's water")
    if not question.bars:
        return NoForecast("no bar is known", "number the test bars at the cut, or give the size of a bar")
    if any(bar.size is None and not bar.weighings for bar in question.bars) and not question.trays:
        return NoForecast("a bar has neither size nor weighing", "note the bar's size or weigh it once")
    return None
