"""What is known of the curing room's humidity and temperature, past and to come.

The room is a level, a yearly season and a weather that forgets within days. Level and season are Gaussian and
told by the sensor's days, by what the sensor said over the past loaves, and by the maker's usual value.
Days count from the cut of the loaf asked about, so that earlier loaves lie at negative days.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .drying_facts import DryingQuestion, PastBar, RoomDay

Array = NDArray[np.float64]

YEAR_DAYS = 365.25
# Common practice, no source: curing rooms lie mostly between 40 and 70 % RH, 16 to 25 C; in a humid season
# more. The season of either is worth several per cent and a few kelvin.
LEVEL_RH, LEVEL_RH_SD = 57.0, 9.0
LEVEL_C, LEVEL_C_SD = 20.0, 2.5
SEASON_RH_SD, SEASON_C_SD = 4.5, 1.4
# Warm months hold more vapour outdoors, and heating dries the cold ones: rooms are humid when they are warm.
SEASON_CORRELATION = 0.7
# Weather inside a house: days of a few per cent, and spells of weeks (wet months, the heating on or off).
WEATHER_MEMORY_DAYS = (4.5, 40.0)
WEATHER_RH_SD, WEATHER_C_SD = (4.2, 2.0), (1.1, 0.6)
SENSOR_STEP_SD = 0.5
USUAL_RH_SD, USUAL_C_SD = 5.0, 2.0
# Makers weigh about weekly: the last weighing of a past loaf was some days ago.
LAST_WEIGHING_AGE_DAYS = 4.0
MOST_SENSOR_DAYS = 240
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
    """Averages over windows of days: `first` to `last`, what the sensor said, whose it is."""

    first: Array
    last: Array
    rh: Array
    temp_c: Array


def cut_days_earlier(bar: PastBar, history: Sequence[PastBar], now_day: float) -> float:
    """Days from the cut of a past loaf to the cut of this one, guessed from its last weighing if not told."""
    if bar.cut_days_earlier is not None:
        return bar.cut_days_earlier
    days = [weighing.day for other in history if other.loaf == bar.loaf for weighing in other.weighings]
    return max(max(days, default=0.0) + LAST_WEIGHING_AGE_DAYS - now_day, 1.0)


def _windows(question: DryingQuestion, sensor: Sequence[RoomDay]) -> _Seen:
    rows = [(day.day - 0.5, day.day + 0.5, day.rh, day.temp_c) for day in sensor]
    loaves: set[str] = set()
    for bar in question.history:
        if bar.climate_mean is None or bar.loaf in loaves:
            continue
        loaves.add(bar.loaf)
        first = -cut_days_earlier(bar, question.history, question.now_day)
        rh, temp_c = bar.climate_mean
        rows.append(
            (first, question.now_day, np.nan if rh is None else rh, np.nan if temp_c is None else temp_c)
        )
    columns = np.array(rows, dtype=float).reshape(-1, 4).T
    return _Seen(*columns)


def _window_basis(seen: _Seen) -> Array:
    middle = np.linspace(0.0, 1.0, 9)[:, None] * (seen.last - seen.first) + seen.first
    return np.asarray(season_basis(middle).mean(axis=0))


def _weather_covariance(seen: _Seen, sds: tuple[float, float]) -> Array:
    """Covariance of the weather of two windows; single days decay exponentially, long windows share days."""
    length = np.maximum(seen.last - seen.first, 1.0)
    middle = (seen.first + seen.last) / 2.0
    overlap = np.minimum.outer(seen.last, seen.last) - np.maximum.outer(seen.first, seen.first)
    shared = np.clip(overlap, 0.0, None) / np.multiply.outer(length, length)
    apart = np.abs(np.subtract.outer(middle, middle))
    days = np.logical_and.outer(length < 2.0, length < 2.0)
    total = np.zeros_like(apart)
    for sd, memory in zip(sds, WEATHER_MEMORY_DAYS, strict=True):
        total += sd**2 * np.where(days, np.exp(-apart / memory), np.minimum(1.0, 2.0 * memory * shared))
    return total


def room_of(question: DryingQuestion) -> Room:
    """Condition level and season on everything the sensor said."""
    sensor = question.climate[:: 1 + len(question.climate) // MOST_SENSOR_DAYS]
    seen = _windows(question, sensor)
    basis = _window_basis(seen)
    mean = np.array([LEVEL_RH, 0.0, 0.0, LEVEL_C, 0.0, 0.0])
    covariance = _prior_covariance()
    rows, values, noises = [], [], []
    for offset, column, sds in ((0, seen.rh, WEATHER_RH_SD), (3, seen.temp_c, WEATHER_C_SD)):
        known = np.isfinite(column)
        design = np.zeros((known.sum(), 6))
        design[:, offset : offset + 3] = basis[known]
        rows.append(design)
        values.append(column[known])
        weather = _weather_covariance(seen, sds)[np.ix_(known, known)]
        noises.append(weather + SENSOR_STEP_SD**2 * np.eye(known.sum()))
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
    apart, back = np.abs(np.subtract.outer(days, days)), days[-1] - days
    noise = SENSOR_STEP_SD**2 * np.eye(len(days))
    shared = np.empty((2, len(days)))
    for part, (sd, memory) in enumerate(zip(WEATHER_RH_SD, WEATHER_MEMORY_DAYS, strict=True)):
        noise += sd**2 * np.exp(-apart / memory)
        shared[part] = sd**2 * np.exp(-back / memory)
    gain = np.linalg.solve(noise, shared.T).T
    return gain @ (rh[:, None] - season_basis(days) @ levels.T), prior - gain @ shared.T
