"""Courses drawn from the fit through rooms to come, and what is read off them."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from .drying_course import LOG_TAU, PARAMETERS, weight_course
from .drying_facts import SettledRule
from .drying_fit import Fit
from .drying_model import PARAMETER_STEPS, ROOM, ROOM_STEPS, step_means
from .drying_room import WEATHER_MEMORY_DAYS, WEATHER_RH_SD, Room, season_basis, weather_now

Array = NDArray[np.float64]

DRAWS = 400
HORIZON_DAYS = 200.0
FAR_HORIZON_DAYS = 800.0
LARGEST_PULL = 1.5
UNSEEN_FADES_DAYS = 20.0


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
    """Daily while it matters for the settled day, wider before and after, weekly far ahead."""
    horizon = max(horizon, now_day + 60.0)
    early = np.arange(28.0, max(28.0, now_day - 42.0), 3.0)
    daily = np.arange(early[-1] + 3.0 if len(early) else 28.0, max(90.0, now_day + 45.0))
    later = np.arange(daily[-1] + 4.0, horizon + 7.0, 4.0 if horizon <= HORIZON_DAYS else 7.0)
    return np.concatenate([[0.0, 0.25, 0.5], np.arange(1.0, 28.0), early, daily, later])


def future_rh(room: Room, levels: Array, grid: Array, now_day: float) -> Array:
    """Humidity per step (rows) and draw: the sensor so far, then season and weather. `levels`: draws x 3."""
    middle = (grid[1:] + grid[:-1]) / 2.0
    rh = _past_rh(room, levels, grid)
    known = middle <= room.sensor_day[-1] + 0.5 if len(room.sensor_day) else np.zeros(len(middle), dtype=bool)
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

    def share_at(self, day: float) -> Array:
        """The course on one day, the last one held beyond the grid."""
        day = min(max(day, 0.0), float(self.grid[-1]))
        left = min(int(np.searchsorted(self.grid, day, side="right")) - 1, len(self.grid) - 2)
        part = (day - self.grid[left]) / (self.grid[left + 1] - self.grid[left])
        return np.asarray(self.course[left] * (1.0 - part) + self.course[left + 1] * part)


def _past_rh(room: Room, levels: Array, grid: Array) -> Array:
    """Humidity per step and column without any weather that no sensor saw."""
    middle = (grid[1:] + grid[:-1]) / 2.0
    rh = season_basis(middle) @ levels.T
    if len(room.sensor_day):
        known = middle <= room.sensor_day[-1] + 0.5
        rh[known] = step_means(grid, room.sensor_day, room.sensor_rh)[known, None]
    return np.asarray(rh)


def _temperature(room: Room, grid: Array) -> Array:
    middle = (grid[1:] + grid[:-1]) / 2.0
    temp = season_basis(middle) @ room.temp_mean
    if len(room.sensor_day):
        known = middle <= room.sensor_day[-1] + 0.5
        temp[known] = step_means(grid, room.sensor_day, room.sensor_c)[known]
    return np.asarray(temp[:, None])


@dataclass(frozen=True, slots=True)
class _MeanBar:
    """The bars asked about as one, with the mean of their speeds and sizes."""

    fit: Fit
    room: Room
    water_share: float
    of: list[int]

    def speeds(self) -> list[int]:
        return [ROOM + PARAMETERS + 2 * bar + 1 for bar in self.of]

    def course(self, unknowns: Array, grid: Array, rh: Array) -> Array:
        """`unknowns`: columns x unknowns."""
        parameters = unknowns[:, ROOM : ROOM + PARAMETERS].T.copy()
        parameters[LOG_TAU] += unknowns[:, self.speeds()].mean(axis=1)
        size = np.full(len(unknowns), np.exp(np.log(self.fit.sizes_mm[self.of]).mean()))
        water = np.full(len(unknowns), self.water_share)
        return weight_course(parameters, water, size, grid, rh, _temperature(self.room, grid))

    def bent(self, drawn: Array, grid: Array) -> Array:
        """Log weight share of each draw beyond what its tangent at the fit's mean says, on `grid`."""
        mean, count = self.fit.mean, ROOM + PARAMETERS
        steps = np.concatenate([ROOM_STEPS, PARAMETER_STEPS])
        tangent = np.tile(mean, (count + 1, 1))
        tangent[1:, :count] += np.diag(steps)
        columns = np.concatenate([drawn, tangent])
        logs = np.log(self.course(columns, grid, _past_rh(self.room, columns[:, :ROOM], grid)))
        actual, base, moved = logs[:, :DRAWS], logs[:, DRAWS], logs[:, DRAWS + 1 :]
        slopes = (moved - base[:, None]) / steps
        away = (drawn - mean)[:, :count].T.copy()
        away[ROOM + LOG_TAU] += (drawn - mean)[:, self.speeds()].mean(axis=1)
        return np.asarray(actual - base[:, None] - slopes @ away)


def _straightened(bar: _MeanBar, drawn: Array, grid: Array) -> Array:
    """Move each draw by one Gauss-Newton step, so that its own bent course fits as well as its tangent did.

    Without it draws along a direction that the weighings leave open drift off the weighings themselves
    (randomised maximum likelihood; Oliver, Reynolds and Liu, Inverse Theory for Petroleum Reservoir
    Characterization, 2008, ch. 10, from memory).
    """
    fit = bar.fit
    if not len(fit.days):
        return drawn
    # Two points at least: with every weighing on the day of the cut there is still a step to lie on.
    past = grid[: max(2, int(np.searchsorted(grid, fit.days.max())) + 1)]
    bent = bar.bent(drawn, past)
    at = np.clip(np.searchsorted(past, fit.days, side="right") - 1, 0, len(past) - 2)
    part = ((fit.days - past[at]) / (past[at + 1] - past[at]))[:, None]
    missed = bent[at] * (1.0 - part) + bent[at + 1] * part
    sd = np.sqrt(np.clip(np.diag(fit.covariance), 0.0, None))
    return np.asarray(drawn - np.clip((fit.pull @ missed).T, -LARGEST_PULL * sd, LARGEST_PULL * sd))


def draw(fit: Fit, room: Room, water_share: float, of: list[int], now_day: float, horizon: float) -> Draws:
    """Draws for the bars `of` (places in the fit)."""
    # Directions that the weighings pin down are singular to rounding: a breath of variance keeps the root real.
    spread = np.diag(fit.covariance)
    root = np.linalg.cholesky(fit.covariance + np.diag(1e-9 + 1e-7 * np.abs(spread)))
    bar, grid = _MeanBar(fit, room, water_share, of), draw_grid(now_day, horizon)
    drawn = _straightened(bar, fit.mean + _standard_normals(len(fit.mean)) @ root.T, grid)
    course = bar.course(drawn, grid, future_rh(room, drawn[:, :ROOM], grid, now_day))
    first, after = ROOM + PARAMETERS, ROOM + PARAMETERS + 2 * len(fit.bars)
    weather_at = after + len(fit.planings)
    course = course * _unseen(fit.weather_day, drawn[:, weather_at:], grid)
    # Unseen weather is added in logs and knows no ceiling; water does.
    course = np.maximum(course, course[0] * (1.0 - water_share))
    return Draws(grid, course, drawn[:, first:after:2].T, drawn[:, after:weather_at].T)


def _unseen(days: Array, weather: Array, grid: Array) -> Array:
    """What weather that no sensor saw did to each draw's weight; it wears off after the last weighing."""
    if not len(days):
        return np.ones((len(grid), 1))
    at = np.clip(np.searchsorted(days, grid, side="right") - 1, 0, len(days) - 1)
    after = np.minimum(at + 1, len(days) - 1)
    gap = np.where(after > at, days[after] - days[at], 1.0)
    part = np.clip((grid - days[at]) / gap, 0.0, 1.0)
    log_share = weather[:, at] * (1.0 - part) + weather[:, after] * part
    return np.asarray(np.exp(log_share * np.exp(-np.clip(grid - days[-1], 0.0, None) / UNSEEN_FADES_DAYS)).T)


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
