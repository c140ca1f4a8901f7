"""The cut window: from when to when a loaf cuts clean, in hours after the pour, with honest doubt.

Firmness grows over the logarithm of time. A loaf opens at a first hour and closes at a last one; both are
samples over the workshops that this one could be, weighted by its past cuts and by this loaf's finger checks.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from curelog.domain.cut_history import MOST_TELLING, workshops_after
from curelog.domain.cutting_prior import Array
from curelog.domain.firming import Pours
from curelog.domain.firmness import check_likelihood
from curelog.domain.pour_facts import CutResult, Feel, FirmnessCheck, Gel, Heat, PastCut, PourFacts
from curelog.domain.quantiles import Spread

__all__ = [
    "CutResult",
    "CutWindow",
    "Feel",
    "FirmnessCheck",
    "Gel",
    "Heat",
    "Odds",
    "PastCut",
    "PourFacts",
    "RestsOn",
    "cut_window",
]

NEVER_SURE = 0.03  # shared out over the three odds: nothing about soap is certain
LOAF_STEPS = 11
# Middles of eleven equally likely slices of a logistic deviation: one loaf's own straying.
LOAF_DEVIATIONS = np.log((np.arange(LOAF_STEPS) + 0.5) / (LOAF_STEPS - np.arange(LOAF_STEPS) - 0.5))


@dataclass(frozen=True, slots=True)
class Odds:
    """Chances at one hour; they add to 1 and none is 0."""

    too_soft: float
    right: float
    too_hard: float

    def as_dict(self) -> dict[str, float]:
        return {"too_soft": self.too_soft, "right": self.right, "too_hard": self.too_hard}


@dataclass(frozen=True, slots=True)
class RestsOn:
    checks: int
    past_cuts: int


@dataclass(frozen=True, slots=True)
class CutWindow:
    """First and last hour of a clean cut."""

    opens: Spread
    closes: Spread
    rests_on: RestsOn
    _opens_h: Array = field(repr=False, compare=False)
    _closes_h: Array = field(repr=False, compare=False)
    _weights: Array = field(repr=False, compare=False)

    def at(self, hours: float) -> Odds:
        """P(not open yet), P(open), P(closed) at `hours` (0 or more) after the pour."""
        if not (np.isfinite(hours) and hours >= 0):
            raise ValueError(f"hours after the pour must be 0 or more, not {hours}")
        sure = 1 - NEVER_SURE
        too_soft = sure * float(self._weights[self._opens_h > hours].sum()) + NEVER_SURE / 3
        too_hard = sure * float(self._weights[self._closes_h < hours].sum()) + NEVER_SURE / 3
        return Odds(too_soft, 1 - too_soft - too_hard, too_hard)


def _spread(hours: Array, weights: Array) -> Spread:
    order = np.argsort(hours)
    reached = np.cumsum(weights[order])
    p10, p50, p90 = (float(hours[order[np.searchsorted(reached, q)]]) for q in (0.1, 0.5, 0.9))
    return Spread(p10, p50, p90)


def cut_window(
    facts: PourFacts, checks: Sequence[FirmnessCheck] = (), history: Sequence[PastCut] = ()
) -> CutWindow:
    """The window of this loaf, from its pour, its finger checks and the workshop's past cuts."""
    workshops, workshop_weights = workshops_after(history, facts)
    pour = Pours([facts])
    typical = pour.log_opens(workshops)[0] + workshops["recipe"]
    width = pour.log_width(workshops)[0] * workshops["own_width"] + pour.held_open(workshops)[0]
    opens = (typical[:, None] + np.outer(workshops["loaf_noise"], LOAF_DEVIATIONS)).ravel()
    closes = opens + np.repeat(width, LOAF_STEPS)
    weights = np.repeat(workshop_weights, LOAF_STEPS)
    for check in checks:
        weights = weights * check_likelihood(check, opens, closes)
    weights = weights / weights.sum()
    opens_h, closes_h = np.exp(opens), np.exp(closes)
    basis = RestsOn(len(checks), min(len(history), MOST_TELLING))
    return CutWindow(_spread(opens_h, weights), _spread(closes_h, weights), basis, opens_h, closes_h, weights)
