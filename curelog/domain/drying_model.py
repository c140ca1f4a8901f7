"""The log weights of all readings as a function of what is unknown, with derivatives and noise.

Unknowns, in this order: level, cos and sin of the room's humidity; six parameters of each loaf; log weight at the
cut and a log speed of its own for each bar; log share left by each handling loss of unknown size.
"""

import numpy as np
from numpy.typing import NDArray

from . import drying_prior as prior
from .drying_course import LOG_TAU, PARAMETERS, weight_course
from .drying_data import Data
from .drying_room import Room, season_basis

Array = NDArray[np.float64]
Places = NDArray[np.intp]

ROOM = 3
# A scale's step spreads a weight evenly: sd = step / sqrt(12).
ROUNDING_SD = 0.29
COURSE_NOISE_SD = 0.001
# The five compartments are coarsest in the first days.
EARLY_NOISE_SD, EARLY_DAYS = 0.002, 2.0
# Weather and spells that no sensor saw move a bar's log weight by this much (sd, memory in days).
UNSEEN_WEATHER = ((0.003, 6.0), (0.005, 40.0))
PARAMETER_STEPS = np.array([0.02, 0.02, 0.05, 0.01, 0.02, 0.05])
ROOM_STEPS = np.array([0.5, 0.5, 0.5])
WEATHER_KNOTS = 30


def fit_grid(last_day: float) -> Array:
    """Days close together while the bar is fresh, wider later; the last step ends after `last_day`."""
    grid = np.concatenate(
        [[0, 0.25, 0.5, 1.0], np.arange(2, 14), np.arange(14, 40, 2), np.arange(40, 9000, 6)]
    )
    return grid[: int(np.searchsorted(grid, last_day)) + 2].astype(float)


def step_means(grid: Array, days: Array, values: Array) -> Array:
    """Mean of a daily series over each step of the grid, interpolated, the ends held."""
    within = np.linspace(0.1, 0.9, 5)[:, None] * np.diff(grid) + grid[:-1]
    return np.asarray(np.interp(within, days, values).mean(axis=0))


def unseen_weather(day: Array, earlier: Array, other_day: Array, other_earlier: Array) -> Array:
    """Covariance of what unseen weather did to log weights, by days since the cut and age of the loaf."""
    apart = np.abs(np.subtract.outer(day - earlier, other_day - other_earlier))
    total = np.zeros_like(apart)
    for sd, memory in UNSEEN_WEATHER:
        grown = np.outer(1.0 - np.exp(-day / memory), 1.0 - np.exp(-other_day / memory))
        total += sd**2 * grown * np.exp(-apart / memory)
    return total


class Model:
    def __init__(self, data: Data, room: Room) -> None:
        self.data, self.room = data, room
        self.grid = fit_grid(max((reading.day for reading in data.readings), default=0.0))
        self.bar_loaf = np.array([bar.loaf for bar in data.bars])
        self.water = np.array([data.loaves[bar.loaf].recipe.water_share for bar in data.bars])
        self.size = np.array([bar.size_mm for bar in data.bars])
        self.earlier = np.array([data.loaves[bar.loaf].cut_days_earlier for bar in data.bars])
        loaves, bars = len(data.loaves), len(data.bars)
        self.loaf_at = ROOM + PARAMETERS * np.arange(loaves)
        self.bar_at = ROOM + PARAMETERS * loaves + 2 * np.arange(bars)
        self.planing_at = ROOM + PARAMETERS * loaves + 2 * bars + np.arange(len(data.planings))
        self.unknowns = ROOM + PARAMETERS * loaves + 2 * bars + len(data.planings)
        self._believe()
        self._observe()
        self._blur()

    def _believe(self) -> None:
        data, room = self.data, self.room
        self.mean = np.zeros(self.unknowns)
        self.covariance = np.zeros((self.unknowns, self.unknowns))
        self.mean[:ROOM], self.covariance[:ROOM, :ROOM] = room.mean, room.covariance
        loaves = slice(ROOM, ROOM + PARAMETERS * len(data.loaves))
        recipes = [loaf.recipe for loaf in data.loaves]
        self.mean[loaves] = np.concatenate([prior.loaf_mean(recipe) for recipe in recipes])
        self.covariance[loaves, loaves] = prior.loaf_covariance(recipes)
        self.mean[self.bar_at] = [bar.log_weight for bar in data.bars]
        self.covariance[self.bar_at, self.bar_at] = [bar.log_weight_sd**2 for bar in data.bars]
        self.covariance[self.bar_at + 1, self.bar_at + 1] = prior.BAR_LOG_TAU_SD**2
        self.mean[self.planing_at] = -prior.PLANED_SHARE
        self.covariance[self.planing_at, self.planing_at] = prior.PLANED_SHARE_SD**2

    def _observe(self) -> None:
        """Each reading is a sum over its bars: pairs of reading and bar, each between two days of the grid."""
        readings = self.data.readings
        pairs = [(number, bar) for number, reading in enumerate(readings) for bar in reading.bars]
        self.pair_reading, self.pair_bar = np.array(pairs, dtype=int).reshape(-1, 2).T
        self.values = np.log(np.array([reading.weight_g for reading in readings], dtype=float))
        self.day = np.array([reading.day for reading in readings], dtype=float)
        self.pair_day = self.day[self.pair_reading]
        self.pair_step = np.clip(
            np.searchsorted(self.grid, self.pair_day, side="right") - 1, 0, len(self.grid) - 2
        )
        step_days = np.diff(self.grid)[self.pair_step]
        self.pair_part = ((self.pair_day - self.grid[self.pair_step]) / step_days)[:, None]

    def _blur(self) -> None:
        readings, day = self.data.readings, self.day
        first_bar = np.array([reading.bars[0] for reading in readings], dtype=int)
        unseen = np.array([not loaf.has_sensor for loaf in self.data.loaves], dtype=float)
        hidden, earlier = unseen[self.bar_loaf[first_bar]], self.earlier[first_bar]
        rounding = ROUNDING_SD * np.array([reading.step_g for reading in readings]) / np.exp(self.values)
        early = EARLY_NOISE_SD * np.exp(-day / EARLY_DAYS)
        self.noise = unseen_weather(day, earlier, day, earlier) * np.outer(hidden, hidden)
        self.noise += np.diag(rounding**2 + COURSE_NOISE_SD**2 + early**2)
        own = np.array([self.data.is_own(reading) for reading in readings], dtype=bool)
        knots = WEATHER_KNOTS if unseen[0] and own.any() else 0
        self.weather_day = np.linspace(0.0, day[own].max() if knots else 0.0, knots)
        now = np.zeros(knots)
        self.weather = unseen_weather(self.weather_day, now, self.weather_day, now)
        self.weather_seen = unseen_weather(self.weather_day, now, day, earlier) * hidden

    def _climate(self, room: Array) -> tuple[Array, Array]:
        """Humidity for each step and course (bars x columns), temperature for each step and bar."""
        middle = (self.grid[1:] + self.grid[:-1]) / 2.0
        basis = season_basis(middle[:, None] - self.earlier)
        rh = np.einsum("tbs,bcs->tbc", basis, room)
        temp = basis @ self.room.temp_mean
        seen = self.room.sensor_day
        if len(seen):
            known, here = middle <= seen[-1] + 1.0, np.flatnonzero(self.bar_loaf == 0)
            rh[np.ix_(known, here)] = step_means(self.grid, seen, self.room.sensor_rh)[known, None, None]
            temp[np.ix_(known, here)] = step_means(self.grid, seen, self.room.sensor_c)[known, None]
        return rh, temp

    def _courses(self, x: Array) -> Array:
        """Log weight share of each pair: at x, and with each parameter and the room moved by a step."""
        bars, columns = len(self.data.bars), 1 + PARAMETERS + ROOM
        own = x[self.loaf_at[self.bar_loaf][:, None] + np.arange(PARAMETERS)]
        own[:, LOG_TAU] += x[self.bar_at + 1]
        parameters = np.repeat(own[:, None, :], columns, axis=1)
        parameters[:, 1 + np.arange(PARAMETERS), np.arange(PARAMETERS)] += PARAMETER_STEPS
        room = np.tile(x[:ROOM], (bars, columns, 1))
        room[:, 1 + PARAMETERS + np.arange(ROOM), np.arange(ROOM)] += ROOM_STEPS
        rh, temp = self._climate(room)
        course = weight_course(
            parameters.reshape(-1, PARAMETERS).T,
            np.repeat(self.water, columns),
            np.repeat(self.size, columns),
            self.grid,
            rh.reshape(len(self.grid) - 1, -1),
            np.repeat(temp, columns, axis=1),
        )
        logs = np.log(course).reshape(len(self.grid), bars, columns)
        low = logs[self.pair_step, self.pair_bar]
        return np.asarray(low + self.pair_part * (logs[self.pair_step + 1, self.pair_bar] - low))

    def __call__(self, x: Array) -> tuple[Array, Array]:
        """Log weights of the readings and their derivatives by the unknowns."""
        courses = self._courses(x)
        rows, bar = np.arange(len(self.pair_bar)), self.pair_bar
        slopes = np.zeros((len(rows), self.unknowns))
        change = (courses[:, 1:] - courses[:, :1]) / np.concatenate([PARAMETER_STEPS, ROOM_STEPS])
        slopes[rows[:, None], self.loaf_at[self.bar_loaf[bar]][:, None] + np.arange(PARAMETERS)] = change[
            :, :PARAMETERS
        ]
        slopes[:, :ROOM] = change[:, PARAMETERS:]
        slopes[rows, self.bar_at[bar]] = 1.0
        slopes[rows, self.bar_at[bar] + 1] = change[:, LOG_TAU]
        for at, (planed, day) in zip(self.planing_at, self.data.planings, strict=True):
            slopes[(bar == planed) & (self.pair_day >= day), at] = 1.0
        logs = courses[:, 0] + x[self.bar_at[bar]] + slopes[:, self.planing_at] @ x[self.planing_at]
        return self._summed(np.exp(logs), slopes)

    def _summed(self, weights: Array, slopes: Array) -> tuple[Array, Array]:
        total = np.zeros(len(self.values))
        np.add.at(total, self.pair_reading, weights)
        summed = np.zeros((len(self.values), self.unknowns))
        np.add.at(summed, self.pair_reading, slopes * (weights / total[self.pair_reading])[:, None])
        return np.log(total), summed
