"""When to weigh next: the day and the bars that would tell most about the settled day for the least work.

For each candidate the drawn courses say how the weight that would be read goes with the settled day; the part of
the variance it explains, the scale's step counted as noise, is the gain (linear Bayes; Raiffa and Schlaifer,
Applied Statistical Decision Theory, 1961, from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .drying import CureForecast, DryingQuestion
from .drying_model import COURSE_NOISE_SD, ROUNDING_SD
from .questioning import in_grams

Array = NDArray[np.float64]

# Within two weeks if that tells anything, else within four.
FURTHEST_DAYS = (14, 28)
# A gain below this is not worth walking to the rack for.
LEAST_GAIN_DAYS = 0.25
# The sooner, simpler weighing is taken when it tells this much of what the best one would.
GOOD_ENOUGH = 0.75
# One bar that tells less than this of what all together would "cannot show it any more".
MUTE = 0.5
FINE_STEP_G = 0.1


@dataclass(frozen=True, slots=True)
class NextWeighing:
    """The day, the bars, and the scale's step that is wished for; `is_mute`: one bar cannot show it any more.

    `gain_days`: by how much the settled day's standard deviation is expected to shrink.
    """

    day: float
    bar_ids: tuple[str, ...]
    step_g: float
    gain_days: float
    has_step_g: float
    is_mute: bool

    def words(self, shown: Callable[[float], str] = in_grams) -> str:
        """The bars and the scale; the day is for the reader's own calendar. `shown` writes a mass in their unit."""
        named, scale = _named(self.bar_ids), shown(self.has_step_g)
        if len(self.bar_ids) == 1:
            finer = f", on a scale with a step of {shown(self.step_g)} if there is one"
            return f"Weigh bar {named}{finer if self.step_g < self.has_step_g else ''}"
        if self.is_mute:
            return f"With a {scale} scale one bar cannot show it any more: weigh bars {named} together"
        return f"Weigh bars {named} together: their sum tells more than one bar on a {scale} scale"


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
    is_mute = single.max() < MUTE * best
    return NextWeighing(float(days[first]), bars, wanted_g, float(gains[first]), step_g, is_mute)


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


def _named(bars: Sequence[str]) -> str:
    """ "1 to 6" for a run of numbers, else "2, 5 and 8"; one by itself."""
    if len(bars) == 1:
        return bars[0]
    first = int(bars[0]) if bars[0].isdigit() else 0
    if len(bars) > 2 and list(bars) == [str(first + place) for place in range(len(bars))]:
        return f"{bars[0]} to {bars[-1]}"
    return f"{', '.join(bars[:-1])} and {bars[-1]}"
