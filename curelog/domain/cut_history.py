"""What a workshop's past cuts say about its next loaf."""

from collections.abc import Sequence

import numpy as np

from curelog.domain.cutting_prior import PRIORS, Array, Workshops, typical_workshops
from curelog.domain.firming import Pours
from curelog.domain.firmness import logistic
from curelog.domain.pour_facts import PastCut, PourFacts

STRAY_RECORD = 0.05  # a mistyped hour, another loaf, another idea of "clean"
# That a workshop's records say nothing about its next loaf. More than we believe, on purpose: it costs sound
# records little, as they soon outweigh it, and keeps contradictory ones from doing worse than no records.
STRAY_HISTORY = 0.35
# Results of a stray record. Few are clean: a real maker's mostly are, and only the others can contradict.
STRAY_RESULT = {"too_soft": 0.4, "clean": 0.2, "too_hard": 0.4}

# The sample moves to where the records point in three steps, each taking them at this power, as few of the first
# rows fit a long history. Against 60,000 rows the odds err by 0.01 on average (tried with 4 and 24 past cuts).
FOCUSING = (0.3, 0.7, 1.0)
PRIOR_ROWS = 12  # the prior's covariance counts like so many rows
DRAW_WIDER = 1.1
LEAST_WEIGHT = 1e-4  # of a fair share; what weighs less only costs time
MOST_TELLING = 24
FAR_RECIPE = 0.25  # share of the fats replaced at which a recipe hardly tells of another any more


def likeness(one: PourFacts, other: PourFacts) -> float:
    """1 for the same fats, towards 0 as more of them (as share of the mass) is replaced by others."""
    shares: dict[str, float] = {}
    for sign, facts in ((1, one), (-1, other)):
        for fat, share in facts.fats:
            shares[fat.key] = shares.get(fat.key, 0.0) + sign * share
    replaced = sum(abs(share) for share in shares.values()) / 2
    return float(np.exp(-((replaced / FAR_RECIPE) ** 2)))


def opening_bounds(past: PastCut) -> tuple[float, float, float, float]:
    """What a past loaf's result and checks say, as log hours: not open at the first, open at the second,
    not closed at the third, closed at the fourth (infinite where nothing says so)."""
    not_open, is_open, not_closed, closed = -np.inf, np.inf, -np.inf, np.inf
    for hours, sign in [(past.cut_hours, past.result), *((check.hours, check.feel) for check in past.checks)]:
        now = float(np.log(hours))
        if sign in ("too_soft", "sticky", "dents"):
            not_open = max(not_open, now)
        if sign in ("clean", "firm"):
            is_open = min(is_open, now)
        if sign == "clean":
            not_closed = max(not_closed, now)
        if sign in ("too_hard", "hard"):
            closed = min(closed, now)
    return not_open, is_open, not_closed, closed


def _most_telling(cuts: Sequence[PastCut], asked: PourFacts) -> Sequence[PastCut]:
    """The last ones of the recipes most alike; more add time, not knowledge."""
    latest_first = list(reversed(cuts))
    latest_first.sort(key=lambda past: -likeness(past.facts, asked))
    return latest_first[:MOST_TELLING]


class History:
    """Past cuts, arranged so that their likelihood is one sum over a table of loaves by workshops."""

    def __init__(self, cuts: Sequence[PastCut], asked: PourFacts):
        self.pours = Pours([past.facts for past in cuts])
        bounds = np.array([opening_bounds(past) for past in cuts])
        self.not_open, self.is_open, self.not_closed, self.closed = np.split(bounds, 4, axis=1)
        self.alike = np.array([[likeness(past.facts, asked)] for past in cuts])
        self.stray = np.array([[STRAY_RESULT[past.result]] for past in cuts])
        self.unlike_variance = (1 - self.alike**2) * PRIORS["recipe"].doubt ** 2 * 3 / np.pi**2

    def log_likelihood(self, workshops: Workshops) -> Array:
        """Log chance of all records in each workshop.

        As closes = opens + width (in log hours), every sign bounds the loaf's opening hour from a side; what
        is left is the chance of a logistic deviation between two bounds.
        """
        typical = self.pours.log_opens(workshops) + self.alike * workshops["recipe"]
        width = self.pours.log_width(workshops) + self.pours.held_open(workshops)
        scale = np.sqrt(workshops["loaf_noise"] ** 2 + self.unlike_variance)
        latest = np.minimum(self.is_open, self.closed - width)
        earliest = np.maximum(self.not_open, self.not_closed - width)
        chance = logistic((latest - typical) / scale) - logistic((earliest - typical) / scale)
        fits = (1 - STRAY_RECORD) * np.maximum(chance, 0.0) + STRAY_RECORD * self.stray
        return np.asarray(np.log(fits).sum(axis=0))


def _focus(workshops: Workshops, weights: Array) -> tuple[Workshops, Array]:
    """A new sample where the weights lie, with the log of prior over sampling density of each row.

    The covariance is pulled towards the prior's when few rows carry the weight, and drawn a little wide.
    """
    effective = 1 / np.sum(weights**2)
    mean = weights @ workshops.deviations
    centred = workshops.deviations - mean
    pooled = effective * (centred.T * weights) @ centred + PRIOR_ROWS * np.eye(len(PRIORS))
    root = np.linalg.cholesky(DRAW_WIDER * pooled / (effective + PRIOR_ROWS))
    base = typical_workshops().deviations
    rows = mean + base @ root.T
    log_ratio = (np.sum(base**2, axis=1) - np.sum(rows**2, axis=1)) / 2
    return Workshops(rows), log_ratio + np.sum(np.log(np.diag(root)))


def workshops_after(history: Sequence[PastCut], asked: PourFacts) -> tuple[Workshops, Array]:
    """The workshops this could be, and their weights, once its past cuts are known.

    With chance STRAY_HISTORY the records say nothing; contradictory ones are explained best that way, which
    leaves the prior standing.
    """
    prior = typical_workshops()
    if not history:
        return prior, np.full(len(prior), 1 / len(prior))
    past = History(_most_telling(history, asked), asked)
    workshops, log_weights = prior, past.log_likelihood(prior)
    for power in FOCUSING:
        weights = np.exp(power * (log_weights - log_weights.max()))
        workshops, log_ratio = _focus(workshops, weights / weights.sum())
        log_weights = past.log_likelihood(workshops) + log_ratio
    log_both = np.concatenate(
        [
            np.log(1 - STRAY_HISTORY) + log_weights,
            np.full(len(prior), np.log(STRAY_HISTORY) + np.log(past.stray).sum()),
        ]
    )
    weights = np.exp(log_both - log_both.max())
    weights /= weights.sum()
    counts = weights > LEAST_WEIGHT / len(prior)
    both = np.vstack([workshops.deviations, prior.deviations])
    return Workshops(both[counts]), weights[counts] / weights[counts].sum()
