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

# Within two weeks if that tells anything, else within four.
FURTHEST_DAYS = (14, 28)
# A gain below this is not worth walking to the rack for.
LEAST_GAIN_DAYS = 0.25
# The sooner, simpler weighing is taken when it tells this much of what the best one would.
GOOD_ENOUGH = 0.85
# One bar that tells less than this of what all together would "cannot show it any more".
MUTE = 0.5
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
    step_g = question.resolution_g
    for furthest in FURTHEST_DAYS:
        days = np.arange(np.floor(question.now_day) + 1.0, question.now_day + furthest)
        single, together = (_gains(forecast, bars, days, step_g) for bars in (alone, everyone))
        best = max(single.max(), together.max())
        if best >= LEAST_GAIN_DAYS:
            break
    else:
        return None
    bars, gains = (alone, single) if single.max() >= GOOD_ENOUGH * best else (everyone, together)
    first = int(np.argmax(gains >= GOOD_ENOUGH * gains.max()))
    fine = float(_gains(forecast, bars, days[first : first + 1], FINE_STEP_G)[0])
    wanted_g = FINE_STEP_G if step_g > FINE_STEP_G and GOOD_ENOUGH * fine > gains[first] else step_g
    on = f"on day {days[first]:.0f}"
    if len(bars) > 1:
        words = _together(len(bars), on, step_g, mute=single.max() < MUTE * best)
    else:
        words = _single(on, step_g, wanted_g)
    return NextWeighing(float(days[first]), bars, wanted_g, words, float(gains[first]))


def _gains(forecast: CureForecast, bars: Sequence[str], days: Array, step_g: float) -> Array:
    """Expected fall of the settled day's standard deviation for a weighing of `bars` together on each day."""
    settled = forecast.settled_draws - forecast.settled_draws.mean()
    sd = float(settled.std())
    gains = np.zeros(len(days))
    for place, day in enumerate(days):
        weight = forecast.drawn_weight(bars, float(day))
        noise = (ROUNDING_SD * step_g) ** 2 + (COURSE_NOISE_SD * weight.mean()) ** 2
        shared = float(np.mean(settled * (weight - weight.mean())))
        explained = shared**2 / ((float(weight.var()) + noise) * max(sd**2, 1e-12))
        gains[place] = sd * (1.0 - np.sqrt(1.0 - min(explained, 1.0)))
    return gains


def _together(count: int, on: str, step_g: float, mute: bool) -> str:
    if mute:
        return f"with a {step_g:g} g scale one bar cannot show it any more: weigh bars 1 to {count} together {on}"
    return f"weigh bars 1 to {count} together {on}: their sum tells more than one bar on a {step_g:g} g scale"


def _single(on: str, step_g: float, wanted_g: float) -> str:
    if wanted_g < step_g:
        return f"weigh one bar {on}, on a scale with a step of {wanted_g:g} g if there is one"
    return f"weigh one bar {on}"
