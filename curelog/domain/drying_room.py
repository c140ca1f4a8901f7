"""What is known of the curing room's humidity and temperature, past and to come.

The room is a level, a yearly season and a weather that forgets within days. Level and season are Gaussian and
told by the sensor's days, by what the sensor said over the past loaves, and by the maker's usual value.
Days count from the cut of the loaf asked about, so that earlier loaves lie at negative days.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .drying_facts import DryingQuestion, PastBar

Array = NDArray[np.float64]

YEAR_DAYS = 365.25
# Common practice, no source: curing rooms lie mostly between 40 and 70 % RH, 16 to 25 C; in a humid season
# more. The season of either is worth several per cent and a few kelvin.
LEVEL_RH, LEVEL_RH_SD = 57.0, 9.0
LEVEL_C, LEVEL_C_SD = 20.0, 2.5
SEASON_RH_SD, SEASON_C_SD = 3.5, 1.4
# Warm months hold more vapour outdoors, and heating dries the cold ones: rooms are humid when they are warm.
SEASON_CORRELATION = 0.7
# Weather inside a house: days of a few per cent, and spells of weeks (wet months, the heating on or off).
WEATHER_MEMORY_DAYS = (4.5, 40.0)
WEATHER_RH_SD, WEATHER_C_SD = (4.2, 3.5), (1.1, 0.6)
SENSOR_STEP_SD = 0.5
USUAL_RH_SD, USUAL_C_SD = 5.0, 2.0
# Makers weigh about weekly: the last weighing of a past loaf was some days ago.
LAST_WEIGHING_AGE_DAYS = 4.0
MOST_SENSOR_DAYS = 120
WINDOW_SAMPLES = 24
RECENT_DAYS = 40


def season_basis(days: Array) -> Array:
    """Rows (1, cos, sin) of the year at `days`."""
    angle = 2.0 * np.pi * np.asarray(days, dtype=float) / YEAR_DAYS
    return np.stack([np.ones_like(angle), np.cos(angle), np.sin(angle)], axis=-1)


@dataclass(frozen=True, slots=True)
class Room:
    """Gaussian belief in (level, cos, sin) of humidity, and the same of temperature; the sensor's own days."""

    mean: Array
    covariance: Array
    temp_mean: Array
    sensor_day: Array
    sensor_rh: Array
    sensor_c: Array


@dataclass(frozen=True, slots=True)
class _Seen:
    """What the sensor said, as means over sampled days: `first` is where each one's `days` begin."""

    days: Array
    first: NDArray[np.intp]
    rh: Array
    temp_c: Array

    def means(self, values: Array, axis: int) -> Array:
        counts = np.diff(np.append(self.first, len(self.days)))
        shape = [-1 if at == axis else 1 for at in range(values.ndim)]
        return np.asarray(np.add.reduceat(values, self.first, axis=axis) / counts.reshape(shape))


def cut_days_earlier(bar: PastBar, history: Sequence[PastBar], now_day: float) -> float:
    """Days from the cut of a past loaf to the cut of this one, guessed from its last weighing if not told."""
    if bar.cut_days_earlier is not None:
        return bar.cut_days_earlier
    days = [weighing.day for other in history if other.loaf == bar.loaf for weighing in other.weighings]
    return max(max(days, default=0.0) + LAST_WEIGHING_AGE_DAYS - now_day, 1.0)


def _seen(question: DryingQuestion) -> _Seen:
    """Single days of this loaf, and the means over the past loaves' days, each sampled."""
    sensor = question.climate[:: 1 + len(question.climate) // MOST_SENSOR_DAYS]
    days = [np.array([day.day]) for day in sensor]
    said = [(day.rh, day.temp_c) for day in sensor]
    past = {bar.loaf: bar for bar in question.history if bar.climate_mean is not None}
    for bar in past.values():
        first = -cut_days_earlier(bar, question.history, question.now_day)
        days.append(np.linspace(first, question.now_day, WINDOW_SAMPLES))
        rh_mean, temp_mean = bar.climate_mean or (None, None)
        said.append((np.nan if rh_mean is None else rh_mean, np.nan if temp_mean is None else temp_mean))
    rh, temp_c = np.array(said, dtype=float).reshape(-1, 2).T
    first_at = np.cumsum([0] + [len(window) for window in days])[:-1]
    return _Seen(np.concatenate([*days, np.empty(0)]), first_at, rh, temp_c)


def weather_covariance(days: Array, sds: tuple[float, float]) -> Array:
    apart = np.abs(np.subtract.outer(days, days))
    parts = zip(sds, WEATHER_MEMORY_DAYS, strict=True)
    return np.asarray(sum(sd**2 * np.exp(-apart / memory) for sd, memory in parts))


def room_of(question: DryingQuestion) -> Room:
    """Condition level and season on everything the sensor said."""
    seen = _seen(question)
    mean = np.array([LEVEL_RH, 0.0, 0.0, LEVEL_C, 0.0, 0.0])
    covariance = _prior_covariance()
    rows, values, noises = [], [], []
    basis = seen.means(season_basis(seen.days), axis=0) if len(seen.rh) else np.empty((0, 3))
    for offset, column, sds in ((0, seen.rh, WEATHER_RH_SD), (3, seen.temp_c, WEATHER_C_SD)):
        if not len(column):
            continue
        known = np.isfinite(column)
        design = np.zeros((known.sum(), 6))
        design[:, offset : offset + 3] = basis[known]
        rows.append(design)
        values.append(column[known])
        weather = seen.means(seen.means(weather_covariance(seen.days, sds), axis=0), axis=1)
        noises.append(weather[np.ix_(known, known)] + SENSOR_STEP_SD**2 * np.eye(known.sum()))
    for offset, usual, sd in zip((0, 3), question.room_usual or (), (USUAL_RH_SD, USUAL_C_SD), strict=False):
        if usual is not None:
            rows.append(np.eye(6)[offset : offset + 1])
            values.append(np.array([usual]))
            noises.append(np.array([[sd**2]]))
    for design, value, noise in zip(rows, values, noises, strict=True):
        gain = np.linalg.solve(design @ covariance @ design.T + noise, design @ covariance).T
        mean = mean + gain @ (value - design @ mean)
        covariance = covariance - gain @ design @ covariance
    days = np.array([(day.day, day.rh, day.temp_c) for day in question.climate]).reshape(-1, 3).T
    return Room(mean[:3], (covariance[:3, :3] + covariance[:3, :3].T) / 2.0, mean[3:], *days)


def _prior_covariance() -> Array:
    sds = np.array([LEVEL_RH_SD, SEASON_RH_SD, SEASON_RH_SD, LEVEL_C_SD, SEASON_C_SD, SEASON_C_SD])
    correlation = np.eye(6)
    for humid, warm in ((1, 4), (2, 5)):
        correlation[humid, warm] = correlation[warm, humid] = SEASON_CORRELATION
    return np.asarray(correlation * np.outer(sds, sds))


def weather_now(room: Room, levels: Array) -> tuple[Array, Array]:
    """Short and long weather on the sensor's last day: mean (2 x draws, `levels` draws x 3) and covariance."""
    days, rh = room.sensor_day[-RECENT_DAYS:], room.sensor_rh[-RECENT_DAYS:]
    prior = np.diag(np.square(WEATHER_RH_SD))
    if not len(days):
        return np.zeros((2, len(levels))), prior
    noise = weather_covariance(days, WEATHER_RH_SD) + SENSOR_STEP_SD**2 * np.eye(len(days))
    memories = np.array(WEATHER_MEMORY_DAYS)[:, None]
    shared = np.diag(prior)[:, None] * np.exp(-(days[-1] - days) / memories)
    gain = np.linalg.solve(noise, shared.T).T
    return gain @ (rh[:, None] - season_basis(days) @ levels.T), prior - gain @ shared.T
