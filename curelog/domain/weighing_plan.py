"""When to weigh next: the day and the bars that would tell most about the settled day for the least work.

For each candidate the drawn courses say how the weight that would be read goes with the settled day; the part of
the variance it explains, the scale's step counted as noise, is the gain (linear Bayes; Raiffa and Schlaifer,
Applied Statistical Decision Theory, 1961, from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .drying import CureForecast, DryingQuestion
from .drying_model import COURSE_NOISE_SD, ROUNDING_SD

Array = NDArray[np.float64]

FURTHEST_DAYS = 21
# A gain below this is not worth walking to the rack for.
LEAST_GAIN_DAYS = 0.3
# The sooner, simpler weighing is taken when it tells this much of what the best one would.
GOOD_ENOUGH = 0.85
FINE_STEP_G = 0.1


@dataclass(frozen=True, slots=True)
class NextWeighing:
    """`gain_days`: by how much the settled day's standard deviation is expected to shrink."""

    day: float
    bar_ids: tuple[str, ...]
    step_g: float
    words: str
    gain_days: float


def next_weighing(question: DryingQuestion, forecast: CureForecast) -> NextWeighing | None:
    """The least work that tells nearly as much as the best; None when nothing more is to be learned."""
    everyone = tuple(bar.bar_id for bar in question.bars)
    alone = (question.target or everyone[0],)
    days = np.arange(np.floor(question.now_day) + 1.0, question.now_day + FURTHEST_DAYS)
    step = question.resolution_g
    single, together = (_gains(forecast, bars, days, step) for bars in (alone, everyone))
    best = max(single.max(), together.max())
    if best < LEAST_GAIN_DAYS:
        return None
    bars, gains = (alone, single) if single.max() >= GOOD_ENOUGH * best else (everyone, together)
    first = int(np.argmax(gains >= GOOD_ENOUGH * gains.max()))
    fine = float(_gains(forecast, bars, days[first : first + 1], FINE_STEP_G)[0])
    wanted = FINE_STEP_G if step > FINE_STEP_G and fine > gains[first] / GOOD_ENOUGH else step
    words = _words(float(days[first]), bars, everyone, step, wanted)
    return NextWeighing(float(days[first]), bars, wanted, words, float(gains[first]))


def _gains(forecast: CureForecast, bars: Sequence[str], days: Array, step_g: float) -> Array:
    """Expected fall of the settled day's standard deviation for a weighing of `bars` together on each day."""
    settled = forecast.settled_draws
    sd = settled.std()
    gains = []
    for day in days:
        weight = forecast.drawn_weight(bars, float(day))
        noise = (ROUNDING_SD * step_g) ** 2 + (COURSE_NOISE_SD * weight.mean()) ** 2
        with_weight = np.cov(settled, weight)[0, 1]
        explained = with_weight**2 / max(float(weight.var()) + noise, 1e-12) / max(float(sd) ** 2, 1e-12)
        gains.append(sd * (1.0 - np.sqrt(1.0 - min(explained, 1.0))))
    return np.array(gains)


def _words(day: float, bars: Sequence[str], everyone: Sequence[str], step_g: float, wanted_g: float) -> str:
    if len(bars) > 1:
        which = (
            f"bars 1 to {len(bars)} together"
            if tuple(bars) == tuple(everyone)
            else f"{len(bars)} bars together"
        )
        return f"with a {step_g:g} g scale one bar cannot show it any more: weigh {which} on day {day:.0f}"
    if wanted_g < step_g:
        return f"weigh on day {day:.0f}, on a scale with a step of {wanted_g:g} g if there is one"
    return f"weigh one bar on day {day:.0f}"
