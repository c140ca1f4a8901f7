"""Gaussian fit of all weighings of a workshop's loaves at once: iterated Gauss-Newton on the drying course.

Unknowns: (level, cos, sin) of the room's humidity; six parameters of each loaf; weight at the cut and a speed of
its own for each bar; handling losses. Everything is Gaussian in these coordinates, so that one step is
x = mean + C J' (J C J' + R)**-1 (y - f(x0) + J (x0 - mean)) with y the log weights (Tarantola, Inverse Problem
Theory, 2005, ch. 3, from memory). The same matrix gives, for each weighing, its error when left out
(Rasmussen and Williams, Gaussian Processes, 2006, eq. 5.12, from memory): so gross errors are found.
"""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from . import drying_prior as prior
from .drying_course import LOG_TAU, PARAMETERS, effective_size_mm, weight_course
from .drying_facts import BarSeries, DryingQuestion, DryingRecipe
from .drying_room import Room, cut_days_earlier, season_basis

Array = NDArray[np.float64]

Planing = tuple[int, float]

ROOM = 3
ROUNDING_SD = 0.29
COURSE_NOISE_SD = 0.001
# The five compartments are coarsest in the first days.
EARLY_NOISE_SD, EARLY_DAYS = 0.002, 2.0
# Weather that no sensor saw moves a bar by this share of its weight.
UNSEEN_WEATHER = ((0.003, 6.0), (0.005, 40.0))
MOST_ITERATIONS, LARGEST_MOVE, SMALL_MOVE = 5, 1.5, 0.1
# One weighing in 70 is wrong; a wrong one lies anywhere within a fifth of the right one, or further off.
GROSS_LOG_ODDS = np.log(0.015 / 0.985) + np.log(1.5)
# One bar in twenty is planed in its first two months.
PLANED_CHANCE_A_DAY = 0.05 / 60.0
IGNORED = 1e4
STEPS = np.array([0.02, 0.02, 0.05, 0.01, 0.02, 0.05])
ROOM_STEPS = np.array([0.5, 0.5, 0.5])
MOST_PAST_LOAVES, MOST_PAST_BARS, MOST_PAST_WEIGHINGS, MOST_WEIGHINGS = 8, 3, 14, 120


@dataclass(slots=True)
class Reading:
    day: float
    weight_g: float
    bars: tuple[int, ...]
    step_g: float
    label: str = ""


@dataclass(slots=True)
class FitBar:
    bar_id: str
    loaf: int
    size_mm: float
    log_weight: float
    log_weight_sd: float


@dataclass(slots=True)
class FitLoaf:
    recipe: DryingRecipe
    cut_days_earlier: float
    uses_sensor: bool


@dataclass(slots=True)
class Data:
    loaves: list[FitLoaf] = field(default_factory=list)
    bars: list[FitBar] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    planings: list[tuple[int, float]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Fit:
    """Posterior of (room 3, loaf 6, then log weight and speed per bar of the loaf asked about, planings)."""

    mean: Array
    covariance: Array
    bars: tuple[str, ...]
    sizes_mm: Array
    planings: tuple[tuple[int, float], ...]
    gross: tuple[Reading, ...]
    weighings: int
    past_loaves: int


def _bar(series: BarSeries, loaf: int, weights: list[float]) -> FitBar:
    size = series.size or prior.TYPICAL_SIZE
    size_mm = effective_size_mm(size.length_mm, size.width_mm, size.thickness_mm)
    if series.size is not None:
        volume = size.length_mm * size.width_mm * size.thickness_mm
        return FitBar(
            series.bar_id, loaf, size_mm, np.log(volume * prior.DENSITY_G_PER_MM3), prior.LOG_DENSITY_SD
        )
    middle = float(np.median(weights)) if weights else np.nan
    return FitBar(series.bar_id, loaf, size_mm, np.log(middle), prior.UNKNOWN_LOG_WEIGHT_SD)


def _add(data: Data, series: BarSeries, loaf: int, step_g: float, most: int) -> None:
    index = len(data.bars)
    told = [step for step in series.steps if step.loss_g is not None]
    readings = [
        Reading(w.day, w.weight_g + sum(s.loss_g or 0.0 for s in told if s.day <= w.day), (index,), step_g)
        for w in series.weighings
    ]
    if len(readings) > most:
        keep = np.unique(np.linspace(0, len(readings) - 1, most).round().astype(int))
        readings = [readings[i] for i in keep]
    data.bars.append(_bar(series, loaf, [r.weight_g for r in readings]))
    data.readings += readings
    data.planings += [(index, step.day) for step in series.steps if step.loss_g is None]


def gather(question: DryingQuestion, room: Room) -> Data:
    """The loaf asked about first, then the most recent past loaves."""
    data = Data([FitLoaf(question.recipe, 0.0, len(room.sensor_day) > 0)])
    for series in question.bars:
        _add(data, series, 0, question.resolution_g, MOST_WEIGHINGS)
    names = [bar.bar_id for bar in question.bars]
    for tray in question.trays:
        members = tuple(names.index(bar) for bar in tray.bars)
        data.readings.append(Reading(tray.day, tray.weight_g, members, question.resolution_g))
    past: dict[str, list[int]] = {}
    for number, bar in enumerate(question.history):
        if bar.weighings:
            past.setdefault(bar.loaf, []).append(number)
    earlier = {
        loaf: cut_days_earlier(question.history[numbers[0]], question.history, question.now_day)
        for loaf, numbers in past.items()
    }
    for loaf in sorted(past, key=lambda name: earlier[name])[:MOST_PAST_LOAVES]:
        bars = [question.history[n] for n in past[loaf][:MOST_PAST_BARS]]
        data.loaves.append(FitLoaf(bars[0].recipe, earlier[loaf], False))
        for bar in bars:
            series = BarSeries(bar.bar_id, bar.size, bar.weighings, bar.steps)
            _add(data, series, len(data.loaves) - 1, bar.resolution_g, MOST_PAST_WEIGHINGS)
    return data


def fit_grid(last_day: float) -> Array:
    """Days close together while the bar is fresh, weekly later."""
    grid = np.concatenate(
        [[0, 0.25, 0.5, 1.0], np.arange(2, 14), np.arange(14, 40, 2), np.arange(40, 1500, 6)]
    )
    return grid[: int(np.searchsorted(grid, last_day)) + 2].astype(float)


class Model:
    """The log weights of all readings as a function of the unknowns, with derivatives."""

    def __init__(self, data: Data, room: Room) -> None:
        self.data, self.room = data, room
        self.grid = fit_grid(max((r.day for r in data.readings), default=0.0))
        self.bar_loaf = np.array([bar.loaf for bar in data.bars])
        self.water = np.array([data.loaves[bar.loaf].recipe.water_share for bar in data.bars])
        self.size = np.array([bar.size_mm for bar in data.bars])
        self.loaf_at = ROOM + PARAMETERS * np.arange(len(data.loaves))
        self.bar_at = ROOM + PARAMETERS * len(data.loaves) + 2 * np.arange(len(data.bars))
        self.planing_at = ROOM + PARAMETERS * len(data.loaves) + 2 * len(data.bars)
        self.unknowns = self.planing_at + len(data.planings)
        self._prior()
        self._observations()
        self._noise()

    def _prior(self) -> None:
        data, room = self.data, self.room
        self.mean = np.zeros(self.unknowns)
        self.covariance = np.zeros((self.unknowns, self.unknowns))
        self.mean[:ROOM], self.covariance[:ROOM, :ROOM] = room.mean, room.covariance
        loaves = slice(ROOM, ROOM + PARAMETERS * len(data.loaves))
        self.mean[loaves] = np.concatenate([prior.loaf_mean(loaf.recipe) for loaf in data.loaves])
        self.covariance[loaves, loaves] = prior.loaf_covariance([loaf.recipe.oil for loaf in data.loaves])
        self.mean[self.bar_at] = [bar.log_weight for bar in data.bars]
        self.covariance[self.bar_at, self.bar_at] = [bar.log_weight_sd**2 for bar in data.bars]
        self.covariance[self.bar_at + 1, self.bar_at + 1] = prior.BAR_LOG_TAU_SD**2
        planings = np.arange(self.planing_at, self.unknowns)
        self.mean[planings] = -prior.PLANED_SHARE
        self.covariance[planings, planings] = prior.PLANED_SHARE_SD**2

    def _observations(self) -> None:
        readings = self.data.readings
        pairs = [(i, bar) for i, reading in enumerate(readings) for bar in reading.bars]
        self.pair_reading = np.array([i for i, _ in pairs], dtype=int)
        self.pair_bar = np.array([bar for _, bar in pairs], dtype=int)
        self.pair_day = np.array([readings[i].day for i, _ in pairs], dtype=float)
        self.values = np.log(np.array([r.weight_g for r in readings], dtype=float))
        after = np.clip(np.searchsorted(self.grid, self.pair_day, side="right") - 1, 0, len(self.grid) - 2)
        self.pair_step = after
        self.pair_part = (self.pair_day - self.grid[after]) / (self.grid[after + 1] - self.grid[after])

    def _noise(self) -> None:
        readings = self.data.readings
        weights = np.array([r.weight_g for r in readings])
        steps = np.array([r.step_g for r in readings])
        day = np.array([r.day for r in readings])
        loaf = np.array([self.bar_loaf[r.bars[0]] for r in readings], dtype=int)
        unseen = np.array([not self.data.loaves[i].uses_sensor for i in loaf], dtype=float)
        earlier = np.array([self.data.loaves[i].cut_days_earlier for i in loaf])
        apart = np.abs(np.subtract.outer(day - earlier, day - earlier))
        self.noise = np.zeros_like(apart)
        for sd, memory in UNSEEN_WEATHER:
            scale = sd * unseen * (1.0 - np.exp(-day / memory))
            self.noise += np.outer(scale, scale) * np.exp(-apart / memory)
        self.noise += np.diag((ROUNDING_SD * steps / weights) ** 2 + COURSE_NOISE_SD**2 + (EARLY_NOISE_SD * np.exp(-day / EARLY_DAYS)) ** 2)

    def _climate(self, room: Array) -> tuple[Array, Array]:
        """Humidity for each step and course (bars x columns), temperature for each step and bar."""
        middle = (self.grid[1:] + self.grid[:-1]) / 2.0
        earlier = np.array([self.data.loaves[i].cut_days_earlier for i in self.bar_loaf])
        basis = season_basis(middle[:, None] - earlier)
        rh = np.einsum("tbs,bcs->tbc", basis, room)
        temp = basis @ self.room.temp_mean
        seen = self.room.sensor_day
        if len(seen):
            here = np.flatnonzero(self.bar_loaf == 0)
            known = middle <= seen[-1] + 1.0
            rh[np.ix_(known, here)] = step_means(self.grid, seen, self.room.sensor_rh)[known, None, None]
            temp[np.ix_(known, here)] = step_means(self.grid, seen, self.room.sensor_c)[known, None]
        return rh, temp

    def __call__(self, x: Array) -> tuple[Array, Array]:
        """Log weights and their derivatives by the unknowns."""
        bars, columns = len(self.data.bars), 1 + PARAMETERS + ROOM
        own = x[self.loaf_at[self.bar_loaf][:, None] + np.arange(PARAMETERS)]
        own[:, LOG_TAU] += x[self.bar_at + 1]
        parameters = np.repeat(own[:, None, :], columns, axis=1)
        shifts = np.arange(PARAMETERS)
        parameters[:, 1 + shifts, shifts] += STEPS
        room = np.tile(x[:ROOM], (bars, columns, 1))
        room[:, 1 + PARAMETERS + np.arange(ROOM), np.arange(ROOM)] += ROOM_STEPS
        rh, temp = self._climate(room)
        steps = len(self.grid) - 1
        course = weight_course(
            parameters.reshape(-1, PARAMETERS).T,
            np.repeat(self.water, columns),
            np.repeat(self.size, columns),
            self.grid,
            rh.reshape(steps, -1),
            np.repeat(temp, columns, axis=1),
        )
        logs = np.log(course).reshape(len(self.grid), bars, columns)
        low = logs[self.pair_step, self.pair_bar]
        pairs = low + self.pair_part[:, None] * (logs[self.pair_step + 1, self.pair_bar] - low)
        return self._collect(x, pairs)

    def _collect(self, x: Array, pairs: Array) -> tuple[Array, Array]:
        rows = np.arange(len(self.pair_bar))
        slopes = np.zeros((len(rows), self.unknowns))
        change = (pairs[:, 1:] - pairs[:, :1]) / np.concatenate([STEPS, ROOM_STEPS])
        loaf_at = self.loaf_at[self.bar_loaf[self.pair_bar]]
        slopes[rows[:, None], loaf_at[:, None] + np.arange(PARAMETERS)] = change[:, :PARAMETERS]
        slopes[:, :ROOM] = change[:, PARAMETERS:]
        slopes[rows, self.bar_at[self.pair_bar]] = 1.0
        slopes[rows, self.bar_at[self.pair_bar] + 1] = change[:, LOG_TAU]
        logs = pairs[:, 0] + x[self.bar_at[self.pair_bar]]
        for number, (bar, day) in enumerate(self.data.planings):
            after = (self.pair_bar == bar) & (self.pair_day >= day)
            slopes[after, self.planing_at + number] = 1.0
            logs = logs + after * x[self.planing_at + number]
        weights = np.exp(logs)
        total = np.zeros(len(self.values))
        np.add.at(total, self.pair_reading, weights)
        summed = np.zeros((len(self.values), self.unknowns))
        np.add.at(summed, self.pair_reading, slopes * (weights / total[self.pair_reading])[:, None])
        return np.log(total), summed


def step_means(grid: Array, days: Array, values: Array) -> Array:
    """Mean of a daily series over each step of the grid, interpolated, the ends held."""
    order = np.linspace(0.1, 0.9, 5)[:, None] * np.diff(grid) + grid[:-1]
    return np.asarray(np.interp(order, days, values).mean(axis=0))


def _left_out(total: Array, residual: Array) -> tuple[Array, Array]:
    """Error and variance of each weighing when predicted from all the others."""
    inverse = np.linalg.inv(total)
    variance = 1.0 / np.diag(inverse)
    return inverse @ residual * variance, variance


def _suspects(model: Model, residual: Array, total: Array, planing_too: bool) -> tuple[list[int], Planing | None]:
    """Weighings that do not fit, worst first, each taken out before the next is looked for.

    A handling loss that explains the misfit better than the next gross error ends the search: fit again with it.
    """
    bad: list[int] = []
    total = total.copy()
    while len(bad) < len(residual) / 2:
        inverse = np.linalg.inv(total)
        variance = 1.0 / np.diag(inverse)
        error = inverse @ residual * variance
        log_odds = GROSS_LOG_ODDS + 0.5 * error**2 / variance + 0.5 * np.log(2.0 * np.pi * variance)
        log_odds[bad] = -np.inf
        worst = int(np.argmax(log_odds))
        if planing_too:
            planing, planing_odds = _planing(model, residual, inverse)
            if planing and planing_odds > max(0.0, log_odds[worst]):
                return bad, planing
        if log_odds[worst] <= 0.0:
            break
        bad.append(worst)
        total[worst, worst] += IGNORED
    return bad, None


def _planing(model: Model, residual: Array, inverse: Array) -> tuple[Planing | None, float]:
    """The bar and day of the likeliest handling loss that nobody told, with its log odds."""
    best, found = -np.inf, None
    for bar in np.flatnonzero(model.bar_loaf == 0):
        days = np.sort(model.pair_day[model.pair_bar == bar])
        for before, after in pairwise(days):
            shift = np.zeros(len(residual))
            shift[model.pair_reading[(model.pair_bar == bar) & (model.pair_day >= after)]] = 1.0
            known, seen = shift @ inverse @ shift, shift @ inverse @ residual
            spread = 1.0 + prior.PLANED_SHARE_SD**2 * known
            mean = -prior.PLANED_SHARE
            gain = (seen * mean - 0.5 * known * mean**2) + 0.5 * prior.PLANED_SHARE_SD**2 * (
                seen - known * mean
            ) ** 2 / spread
            log_odds = np.log(PLANED_CHANCE_A_DAY * (after - before)) - 0.5 * np.log(spread) + gain
            if log_odds > best:
                best, found = float(log_odds), (int(bar), float(before + after) / 2.0)
    return found, best


@dataclass(slots=True)
class _Posterior:
    mean: Array
    covariance: Array
    gross: list[int] = field(default_factory=list)
    planing: Planing | None = None


def _solve(model: Model) -> _Posterior:
    """Gauss-Newton with bounded steps; gross errors are looked for afresh at each."""
    if not model.data.readings:
        return _Posterior(model.mean, model.covariance)
    x, prior_sd = model.mean, np.sqrt(np.diag(model.covariance))
    for _ in range(MOST_ITERATIONS):
        value, slopes = model(x)
        residual = model.values - value + slopes @ (x - model.mean)
        gain = model.covariance @ slopes.T
        total = slopes @ gain + model.noise
        bad, _ = _suspects(model, residual, total, planing_too=False)
        total[bad, bad] += IGNORED
        solved = np.linalg.solve(total, np.column_stack([residual, gain.T]))
        move = (model.mean + gain @ solved[:, 0] - x) / prior_sd
        x = x + np.clip(move, -LARGEST_MOVE, LARGEST_MOVE) * prior_sd
        if np.abs(move).max() < SMALL_MOVE:
            break
    _, planing = _suspects(model, residual, slopes @ gain + model.noise, planing_too=True)
    return _Posterior(x, model.covariance - gain @ solved[:, 1:], bad, planing)


def fit(question: DryingQuestion, room: Room) -> Fit:
    """The posterior of the loaf asked about, and the weighings that do not fit."""
    data = gather(question, room)
    model = Model(data, room)
    posterior = _solve(model)
    if posterior.planing:
        data.planings.append(posterior.planing)
        model = Model(data, room)
        posterior = _solve(model)
    own = [(i, bar, day) for i, (bar, day) in enumerate(data.planings) if model.bar_loaf[bar] == 0]
    here = model.bar_at[model.bar_loaf == 0]
    planed = [model.planing_at + i for i, _, _ in own]
    keep = np.concatenate([np.arange(ROOM + PARAMETERS), np.stack([here, here + 1], 1).ravel(), planed]).astype(int)
    readings = [data.readings[i] for i in posterior.gross]
    return Fit(
        mean=posterior.mean[keep],
        covariance=posterior.covariance[np.ix_(keep, keep)],
        bars=tuple(bar.bar_id for bar in data.bars if bar.loaf == 0),
        sizes_mm=model.size[model.bar_loaf == 0],
        planings=tuple((bar, day) for _, bar, day in own),
        gross=tuple(reading for reading in readings if model.bar_loaf[reading.bars[0]] == 0),
        weighings=sum(1 for reading in data.readings if model.bar_loaf[reading.bars[0]] == 0),
        past_loaves=len(data.loaves) - 1,
    )
