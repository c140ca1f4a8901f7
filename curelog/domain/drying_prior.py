"""What is believed of a loaf's drying before it is weighed, and how much loaves of one workshop share."""

import numpy as np
from numpy.typing import NDArray

from .drying_course import PARAMETERS
from .drying_facts import BarSize, DryingRecipe

Array = NDArray[np.float64]

# Columns: LOG_TAU, SHAPE, SLOPE, LOG_BALANCE, HUMIDITY, LOG_BEFORE_CUT (see drying_course).
MEAN = np.array([np.log(52.0), 0.65, 2.0, np.log(0.10), 0.85, np.log(0.015)])
WORKSHOP_SD = np.array([0.32, 0.11, 1.2, 0.16, 0.10, 0.30])
RECIPE_SD = np.array([0.15, 0.06, 0.7, 0.10, 0.06, 0.10])
LOAF_SD = np.array([0.15, 0.06, 0.7, 0.06, 0.06, 0.25])
# Bars of a loaf: hand-cut sizes noted to 5 mm, places in the loaf and on the rack.
BAR_LOG_TAU_SD = 0.09
DENSITY_G_PER_MM3, LOG_DENSITY_SD = 1.05e-3, 0.10
UNKNOWN_LOG_WEIGHT_SD = 0.5
PLANED_SHARE, PLANED_SHARE_SD = 0.015, 0.010
TYPICAL_SIZE = BarSize(75.0, 52.0, 25.0)


def loaf_mean(recipe: DryingRecipe) -> Array:
    mean = MEAN.copy()
    mean[PARAMETERS - 1] += 0.5 * np.log(np.clip(recipe.days_pour_to_cut, 0.25, 7.0))
    return mean


def loaf_covariance(recipes: list[str | None]) -> Array:
    """Covariance of all loaves' parameters, loaf by loaf: workshop + same recipe + the loaf's own."""
    count = len(recipes)
    same = np.array([[a == b and a is not None for b in recipes] for a in recipes], dtype=float)
    np.fill_diagonal(same, 1.0)
    return np.asarray(
        np.kron(np.ones((count, count)), np.diag(WORKSHOP_SD**2))
        + np.kron(same, np.diag(RECIPE_SD**2))
        + np.kron(np.eye(count), np.diag(LOAF_SD**2))
    )
