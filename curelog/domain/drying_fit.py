"""Gaussian fit of all weighings of a workshop's loaves at once: iterated Gauss-Newton on the drying course.

Everything is Gaussian in the model's unknowns, so that one step is
x = mean + C J' (J C J' + R)**-1 (y - f(x0) + J (x0 - mean)) with y the log weights (Tarantola, Inverse Problem
Theory, 2005, ch. 3, from memory). The same matrix gives, for each weighing, its error when left out
(Rasmussen and Williams, Gaussian Processes, 2006, eq. 5.12, from memory): so gross errors are found.
"""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from . import drying_prior as prior
from .drying_course import PARAMETERS
from .drying_data import Data, Planing, Reading, gather
from .drying_facts import DryingQuestion
from .drying_model import ROOM, Model
from .drying_room import Room

Array = NDArray[np.float64]

MOST_ITERATIONS, LARGEST_MOVE, SMALL_MOVE = 5, 1.5, 0.2
# One weighing in 70 is wrong; a wrong one lies anywhere within a fifth of the right one, or further off.
GROSS_LOG_ODDS = np.log(0.015 / 0.985) + np.log(1.5)
# One bar in twenty is planed in its first two months.
PLANED_CHANCE_A_DAY = 0.05 / 60.0
LEAST_GAP_DAYS = 1e-3
MOST_PLANINGS = 2
IGNORED = 1e4


@dataclass(frozen=True, slots=True)
class Fit:
    """Posterior of (room 3, loaf 6, log weight and speed of each bar of the loaf asked about, its planings,
    what unseen weather did on `weather_day`).

    `pull`: change of each unknown per unit of log weight at each of the loaf's readings, on `days`.
    """

    mean: Array
    covariance: Array
    days: Array
    pull: Array
    weather_day: Array
    bars: tuple[str, ...]
    sizes_mm: Array
    planings: tuple[Planing, ...]
    gross: tuple[Reading, ...]
    past_loaves: int


@dataclass(slots=True)
class _Solution:
    mean: Array
    covariance: Array
    gain: Array
    gross: list[int] = field(default_factory=list)
    planing: Planing | None = None


def fit(question: DryingQuestion, room: Room) -> Fit:
    """The posterior of the loaf asked about, and its weighings that do not fit."""
    data = gather(question, room)
    model = Model(data, room)
    solution = _solve(model)
    for _ in range(MOST_PLANINGS):
        if solution.planing is None:
            break
        data.planings.append(solution.planing)
        model = Model(data, room)
        solution = _solve(model)
    return _own(data, model, solution)


def _own(data: Data, model: Model, solution: _Solution) -> Fit:
    here = np.flatnonzero(model.bar_loaf == 0)
    at = model.bar_at[here]
    planed = [number for number, (bar, _) in enumerate(data.planings) if model.bar_loaf[bar] == 0]
    weather = model.unknowns + np.arange(len(model.weather_day))
    keep = np.concatenate(
        [np.arange(ROOM + PARAMETERS), np.stack([at, at + 1], 1).ravel(), model.planing_at[planed], weather]
    )
    seen = np.flatnonzero([data.is_own(reading) for reading in data.readings])
    return Fit(
        mean=solution.mean[keep],
        covariance=solution.covariance[np.ix_(keep, keep)],
        days=model.day[seen],
        pull=solution.gain[np.ix_(keep, seen)],
        weather_day=model.weather_day,
        bars=tuple(data.bars[bar].bar_id for bar in here),
        sizes_mm=model.size[here],
        planings=tuple(data.planings[number] for number in planed),
        gross=tuple(data.readings[number] for number in solution.gross if number in seen),
        past_loaves=len(data.loaves) - 1,
    )


def _solve(model: Model) -> _Solution:
    """Gauss-Newton with bounded moves; gross errors are looked for afresh at each."""
    x, prior_sd = model.mean, np.sqrt(np.diag(model.covariance))
    bad: list[int] = []
    for _ in range(MOST_ITERATIONS):
        value, slopes = model(x)
        residual = model.values - value + slopes @ (x - model.mean)
        shared = model.covariance @ slopes.T
        total = slopes @ shared + model.noise
        bad, _ = _suspects(model, residual, total, planing_too=False)
        used = total.copy()
        used[bad, bad] += IGNORED
        move = (model.mean + shared @ np.linalg.solve(used, residual) - x) / prior_sd
        x = x + np.clip(move, -LARGEST_MOVE, LARGEST_MOVE) * prior_sd
        if np.abs(move).max() < SMALL_MOVE:
            break
    _, planing = _suspects(model, residual, total, planing_too=True)
    # What unseen weather did is no part of the model's unknowns: it comes out of the noise.
    shared = np.concatenate([shared, model.weather_seen])
    gain = np.asarray(np.linalg.solve(used, shared.T).T, dtype=np.float64)
    believed = np.zeros((len(shared), len(shared)))
    believed[: len(x), : len(x)] = model.covariance
    believed[len(x) :, len(x) :] = model.weather
    mean = np.concatenate([x, gain[len(x) :] @ residual])
    return _Solution(mean, believed - gain @ shared.T, gain, bad, planing)


def _suspects(
    model: Model, residual: Array, total: Array, planing_too: bool
) -> tuple[list[int], Planing | None]:
    """Weighings that do not fit, worst first, each taken out before the next is looked for.

    A handling loss that explains the misfit better than the next gross error ends the search: fit again with it.
    """
    bad: list[int] = []
    inverse = np.asarray(np.linalg.inv(total), dtype=np.float64)
    while len(bad) < len(residual) / 2:
        variance = 1.0 / np.diag(inverse)
        error = inverse @ residual * variance
        log_odds = GROSS_LOG_ODDS + 0.5 * error**2 / variance + 0.5 * np.log(2.0 * np.pi * variance)
        log_odds[bad] = -np.inf
        worst = int(np.argmax(log_odds))
        if planing_too:
            planing, planing_odds = _planing(model, residual, inverse)
            if planing_odds > max(0.0, log_odds[worst]):
                return bad, planing
        if log_odds[worst] <= 0.0:
            break
        bad.append(worst)
        # The inverse for this weighing's variance without bound; what is left on the diagonal keeps it invertible.
        inverse = inverse - np.outer(inverse[worst], inverse[worst]) / (inverse[worst, worst] + 1.0 / IGNORED)
    return bad, None


def _planing(model: Model, residual: Array, inverse: Array) -> tuple[Planing | None, float]:
    """The bar and day of the likeliest handling loss that nobody told, with its log odds."""
    gaps = [
        (int(bar), float(before), float(after))
        for bar in range(len(model.data.bars))
        for before, after in pairwise(np.unique(model.pair_day[model.pair_bar == bar]))
    ]
    if not gaps:
        return None, -np.inf
    bar, before, after = np.array(gaps).T
    later = np.zeros((len(residual), len(gaps)))
    later[model.pair_reading] = (model.pair_bar[:, None] == bar) & (model.pair_day[:, None] >= after)
    weighed = inverse @ later
    known, seen = np.einsum("ng,ng->g", later, weighed), residual @ weighed
    mean, variance = -prior.PLANED_SHARE, prior.PLANED_SHARE_SD**2
    spread = 1.0 + variance * known
    gain = seen * mean - 0.5 * known * mean**2 + 0.5 * variance * (seen - known * mean) ** 2 / spread
    # Weighings of one moment leave no time for a plane, but the logarithm wants some.
    chance = PLANED_CHANCE_A_DAY * np.maximum(after - before, LEAST_GAP_DAYS)
    log_odds = np.log(chance) - 0.5 * np.log(spread) + gain
    best = int(np.argmax(log_odds))
    return (int(bar[best]), float(before[best] + after[best]) / 2.0), float(log_odds[best])
