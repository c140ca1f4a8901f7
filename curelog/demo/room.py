"""The air of the invented shed: dry by the stove in winter, damp in one season that every shed knows."""

from math import exp

import numpy as np
from numpy.typing import NDArray

USUAL_RH, USUAL_C = 54.0, 18.0
# The damp season, by days before today: its middle, its half width, and how much damper it is at its height.
DAMP_MIDDLE_DAYS_AGO, DAMP_WIDTH_DAYS, DAMP_RH = 186.0, 24.0, 27.0


def humidity(days: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Relative humidity in per cent for each of the last `days` days, today last. Weather hangs on for days."""
    drift = 0.0
    air = np.empty(days)
    for day in range(days):
        drift = 0.7 * drift + rng.normal(0.0, 3.0)
        season = DAMP_RH * exp(-0.5 * ((days - 1 - day - DAMP_MIDDLE_DAYS_AGO) / DAMP_WIDTH_DAYS) ** 2)
        air[day] = min(92.0, max(30.0, USUAL_RH + season + drift))
    return air
