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
# Weather inside a house: about a week's memory, a few per cent.
WEATHER_RH_SD, WEATHER_C_SD, WEATHER_MEMORY_DAYS = 4.2, 1.1, 4.5
SENSOR_STEP_SD = 0.5
USUAL_RH_SD, USUAL_C_SD = 5.0, 2.0
# Makers weigh about weekly: the last weighing of a past loaf was some days ago.
LAST_WEIGHING_AGE_DAYS = 4.0
MOST_SENSOR_DAYS = 240


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


def _weather_covariance(seen: _Seen) -> Array:
    """Weather of two windows in common, as a share of a day's variance; single days decay exponentially."""
    length = np.maximum(seen.last - seen.first, 1.0)
    middle = (seen.first + seen.last) / 2.0
    overlap = np.minimum.outer(seen.last, seen.last) - np.maximum.outer(seen.first, seen.first)
    shared = np.clip(overlap, 0.0, None) / np.multiply.outer(length, length)
    long = np.minimum(1.0, 2.0 * WEATHER_MEMORY_DAYS * shared)
    short = np.exp(-np.abs(np.subtract.outer(middle, middle)) / WEATHER_MEMORY_DAYS)
    days = np.logical_and.outer(length < 2.0, length < 2.0)
    return np.asarray(np.where(days, short, long))


def room_of(question: DryingQuestion) -> Room:
    """Condition level and season on everything the sensor said."""
    sensor = question.climate[:: 1 + len(question.climate) // MOST_SENSOR_DAYS]
    seen = _windows(question, sensor)
    basis, weather = _window_basis(seen), _weather_covariance(seen)
    mean = np.array([LEVEL_RH, 0.0, 0.0, LEVEL_C, 0.0, 0.0])
    covariance = _prior_covariance()
    rows, values, noises = [], [], []
    for offset, column, sd in ((0, seen.rh, WEATHER_RH_SD), (3, seen.temp_c, WEATHER_C_SD)):
        known = np.isfinite(column)
        design = np.zeros((known.sum(), 6))
        design[:, offset : offset + 3] = basis[known]
        rows.append(design)
        values.append(column[known])
        noises.append(sd**2 * weather[np.ix_(known, known)] + SENSOR_STEP_SD**2 * np.eye(known.sum()))
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
