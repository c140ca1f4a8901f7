"""Courses drawn from the fit through rooms to come, and what is read off them."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from .drying_course import LOG_TAU, PARAMETERS, weight_course
from .drying_facts import SettledRule
from .drying_fit import ROOM, Fit, step_means
from .drying_room import WEATHER_MEMORY_DAYS, WEATHER_RH_SD, Room, season_basis, weather_now

Array = NDArray[np.float64]

DRAWS = 400
HORIZON_DAYS = 200.0
FAR_HORIZON_DAYS = 800.0


@lru_cache(maxsize=16)
def _standard_normals(dimensions: int) -> Array:
    """A fixed, mirrored set: the same question always gets the same answer, and means are exact."""
    half = np.random.default_rng(20).standard_normal((DRAWS // 2, dimensions))
    half /= half.std(axis=0)
    return np.concatenate([half, -half])


@lru_cache(maxsize=4)
def _weather_shocks(steps: int) -> Array:
    half = np.random.default_rng(7).standard_normal((steps, DRAWS // 2))
    return np.concatenate([half, half[:, ::-1] * -1.0], axis=1)


def draw_grid(now_day: float, horizon: float) -> Array:
    """Daily while it matters for the settled day, wider later."""
    daily = np.arange(1.0, max(90.0, min(now_day + 45.0, horizon)))
    later = np.arange(daily[-1] + 3.0, horizon + 3.0, 3.0 if horizon <= HORIZON_DAYS else 7.0)
    return np.concatenate([[0.0, 0.25, 0.5], daily, later])


def future_rh(room: Room, levels: Array, grid: Array, now_day: float) -> Array:
    """Humidity per step (rows) and draw: the sensor so far, then season and weather. `levels`: draws x 3."""
    middle = (grid[1:] + grid[:-1]) / 2.0
    rh = season_basis(middle) @ levels.T
    known = np.zeros(len(middle), dtype=bool)
    if len(room.sensor_day):
        known = middle <= room.sensor_day[-1] + 0.5
        rh[known] = step_means(grid, room.sensor_day, room.sensor_rh)[known, None]
    mean, covariance = weather_now(room, levels)
    shocks = _weather_shocks(2 * len(middle) + 2)
    weather = mean + np.linalg.cholesky(covariance) @ shocks[:2]
    step_days = np.diff(grid)[:, None]
    kept = np.exp(-step_days / np.array(WEATHER_MEMORY_DAYS))
    fresh = np.sqrt(1.0 - kept**2) * np.array(WEATHER_RH_SD)
    for step in np.flatnonzero(~known & (middle > now_day - 1.0)):
        weather = kept[step, :, None] * weather + fresh[step, :, None] * shocks[2 * step + 2 : 2 * step + 4]
        rh[step] += weather[0] + weather[1]
    return rh


@dataclass(frozen=True, slots=True)
class Draws:
    """`course`: W(t) / W(cut) of the mean bar, days x draws; `log_weight`: at the cut, bars x draws."""

    grid: Array
    course: Array
    log_weight: Array
    planed: Array


def draw(fit: Fit, room: Room, water_share: float, of: list[int], now_day: float, horizon: float) -> Draws:
    """Draws for the bars `of` (places in the fit), their speed and size averaged."""
    values, vectors = np.linalg.eigh(fit.covariance)
    root = vectors * np.sqrt(np.clip(values, 0.0, None))
    drawn = fit.mean + _standard_normals(len(fit.mean)) @ root.T
    first = ROOM + PARAMETERS
    bars = drawn[:, first : first + 2 * len(fit.bars)].reshape(DRAWS, -1, 2)
    parameters = drawn[:, ROOM:first].T.copy()
    parameters[LOG_TAU] += bars[:, of, 1].mean(axis=1)
    grid = draw_grid(now_day, horizon)
    size = np.full(DRAWS, np.exp(np.log(fit.sizes_mm[of]).mean()))
    rh = future_rh(room, drawn[:, :ROOM], grid, now_day)
    middle = (grid[1:] + grid[:-1]) / 2.0
    temp = season_basis(middle) @ room.temp_mean
    if len(room.sensor_day):
        known = middle <= room.sensor_day[-1] + 0.5
        temp[known] = step_means(grid, room.sensor_day, room.sensor_c)[known]
    course = weight_course(parameters, np.full(DRAWS, water_share), size, grid, rh, temp[:, None])
    planed = drawn[:, first + 2 * len(fit.bars) :].T
    return Draws(grid, course, bars[:, :, 0].T, planed)


def settled_days(draws: Draws, rule: SettledRule) -> Array:
    """First day of each draw that satisfies the rule; the end of the grid where none does."""
    grid = draws.grid
    late = grid[grid >= rule.days]
    before = late - rule.days
    left = np.clip(np.searchsorted(grid, before, side="right") - 1, 0, len(grid) - 2)
    part = ((before - grid[left]) / (grid[left + 1] - grid[left]))[:, None]
    then = draws.course[left] * (1.0 - part) + draws.course[left + 1] * part
    now = draws.course[grid >= rule.days]
    excess = then / now - 1.0 - rule.pct / 100.0
    fine = excess <= 0.0
    first = np.where(fine.any(axis=0), fine.argmax(axis=0), len(late) - 1)
    column = np.arange(excess.shape[1])
    high, low = excess[np.maximum(first - 1, 0), column], excess[first, column]
    share = np.where((first > 0) & (high > 0) & (low < high), high / np.maximum(high - low, 1e-12), 1.0)
    start = late[np.maximum(first - 1, 0)]
    return np.asarray(start + np.clip(share, 0.0, 1.0) * (late[first] - start))
