"""What a finger says about when a loaf's window opens and closes."""

import numpy as np

from curelog.domain.cutting_prior import Array
from curelog.domain.pour_facts import FirmnessCheck

STRAY_CHECK = 0.05  # another loaf, a slip of the pen
FINGER_ERROR = 0.15  # scale in log hours: fingers differ by about a quarter of the time; our guess
STICKY_BEFORE = 0.3  # sticky ends this far (in log hours) before a clean cut
HARD_BEFORE = 0.15  # hard to the finger comes a little before too hard for the wire


def logistic(x: Array) -> Array:
    return np.asarray(0.5 + 0.5 * np.tanh(0.5 * x))


def _or_stray(chance: Array) -> Array:
    return (1 - STRAY_CHECK) * chance + STRAY_CHECK / 2


def check_likelihood(check: FirmnessCheck, opens: Array, closes: Array) -> Array:
    """Chance of this feel, for log hours `opens` and `closes`.

    Sticky and dents answer "not firm yet" and can only speak for a later opening; hard answers "no give any
    more" and can only speak for an earlier closing. That keeps a check from moving the window the wrong way.
    """
    now = np.log(check.hours)
    not_firm = logistic((opens - now) / FINGER_ERROR)
    hard = logistic((now - closes + HARD_BEFORE) / FINGER_ERROR)
    match check.feel:
        case "sticky":
            return _or_stray(logistic((opens - STICKY_BEFORE - now) / FINGER_ERROR))
        case "dents":
            return _or_stray(not_firm)
        case "firm":
            return _or_stray(1 - not_firm) * _or_stray(1 - hard)
        case "hard":
            return _or_stray(hard)
