"""What is believed of a loaf's drying before it is weighed, and how much loaves of one workshop share.

Where the figures come from: means and correlations were read off this course fitted to bricks of an own
finite-volume simulation (tests/bench/brick.py) and, in hindsight, to the simulated practice data, both invented,
neither measured; they are rounded. Spreads between workshops are a third wider than found there, that of the
balance moisture twice as wide, since real workshops differ more; its middle lies 12 % lower and the slowing is less,
as real bars go on drying further than the simulated ones. From the recipe alone they give 10 to 20 % loss in
8 weeks at a water share of 0.28, which holds one public test of single-fat soaps (2013: 8 to 20 %, mean 15 %).
Assumed: water lost before the cut is about 1 % of the loaf, more the longer it waits; two loaves of one recipe
are closer to each other than two recipes of one workshop.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .drying_course import LOG_BALANCE, LOG_BEFORE_CUT, PARAMETERS
from .drying_facts import BarSize, DryingRecipe

Array = NDArray[np.float64]

# Columns: LOG_TAU, SHAPE, SLOPE, LOG_BALANCE, HUMIDITY, LOG_BEFORE_CUT (see drying_course).
MEAN = np.array([4.12, 0.58, -0.3, -2.4, 0.74, np.log(0.012)])
PER_WATER_SHARE = np.array([-0.8, 0.3, 3.0, 0.0, 0.0, 0.0])
USUAL_WATER_SHARE = 0.25
# Bars poured with little water end up drier, whether the water was discounted or salt, which holds none below
# 75 % RH, took the place of soap: balance moisture ~ (water per dry mass) ** 0.5 below the usual water.
DRIER_POWER = 0.5
WORKSHOP_SD = np.array([0.40, 0.13, 1.6, 0.33, 0.14, 0.40])
RECIPE_SD = np.array([0.17, 0.055, 0.65, 0.09, 0.055, 0.10])
LOAF_SD = np.array([0.20, 0.065, 0.80, 0.09, 0.055, 0.22])
# More resistance at the surface looks like a faster, less stretched course that slows more as it dries.
CORRELATION = np.eye(PARAMETERS)
for _one, _other, _value in ((0, 1, -0.65), (0, 2, -0.60), (1, 2, 0.70)):
    CORRELATION[_one, _other] = CORRELATION[_other, _one] = _value
# Bars of a loaf: hand-cut sizes noted to 5 mm, places in the loaf and on the rack.
BAR_LOG_TAU_SD = 0.09
DENSITY_G_PER_MM3, LOG_DENSITY_SD = 1.05e-3, 0.10
UNKNOWN_LOG_WEIGHT_SD = 0.5
PLANED_SHARE, PLANED_SHARE_SD = 0.015, 0.010
TYPICAL_SIZE = BarSize(75.0, 52.0, 25.0)


def _per_dry(water_share: float) -> float:
    return water_share / (1.0 - water_share)


def loaf_mean(recipe: DryingRecipe) -> Array:
    mean = MEAN + PER_WATER_SHARE * (recipe.water_share - USUAL_WATER_SHARE)
    scarce = _per_dry(recipe.water_share) / _per_dry(USUAL_WATER_SHARE)
    mean[LOG_BALANCE] += DRIER_POWER * min(0.0, float(np.log(scarce)))
    mean[LOG_BEFORE_CUT] += 0.5 * np.log(np.clip(recipe.days_pour_to_cut, 0.25, 7.0))
    return mean


def _covariance(sds: Array) -> Array:
    return np.asarray(CORRELATION * np.outer(sds, sds))


def loaf_covariance(recipes: Sequence[DryingRecipe]) -> Array:
    """Covariance of all loaves' parameters, loaf by loaf: workshop + same recipe + the loaf's own."""
    count = len(recipes)
    oils = [recipe.oil for recipe in recipes]
    same = np.array([[a == b and a is not None for b in oils] for a in oils], dtype=float)
    np.fill_diagonal(same, 1.0)
    return np.asarray(
        np.kron(np.ones((count, count)), _covariance(WORKSHOP_SD))
        + np.kron(same, _covariance(RECIPE_SD))
        + np.kron(np.eye(count), _covariance(LOAF_SD))
    )
