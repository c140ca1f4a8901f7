"""How a report of a cut comes about, so that makers' reports can be held against the cut window.

Nobody reports a loaf at an hour drawn by lot. Advice and habits name hours that suited; an observed loaf was met
by the clock (the next day, the day after) or by a finger that aimed into the window and missed by some; and
what went wrong is told more often. So a report's outcome is asked as P(outcome | reported at this hour), over the
windows that the loaf could have. How people choose and report is learned from the other threads' reports.
"""

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from curelog.domain.cutting import CutWindow
from tests.bench.cut_reports import Report

Array = NDArray[np.float64]
RESULTS = ("too_soft", "right", "too_hard")
CLOCK = (
    (24.0, 0.15, 0.6),
    (48.0, 0.15, 0.25),
    (24.0, 1.2, 0.15),
)  # hours, scale in log hours, share: our guess
WIDEST_AIM = 1.5  # nobody aims at the middle of a window of weeks
# By the clock (share); aim (share of the window after its opening); scale of a miss in log hours; failures told
# so many times as often. Wide on purpose, and averaged over.
WAYS = tuple(product((0.2, 0.4, 0.6), (0.0, 0.1, 0.3, 0.5), (0.2, 0.3, 0.4, 0.6), (1.0, 1.5, 2.0, 3.0)))
STRAY = 0.03  # shared out over the outcomes, as the cut window's own odds do


def _bell(x: Array, scale: float) -> Array:
    return np.asarray(np.exp(-((x / scale) ** 2) / 2) / scale)


def _odds(report: Report, window: CutWindow, way: tuple[float, float, float, float]) -> Array:
    by_clock, aim, miss, failures_told = way
    now = np.log(report.hours)
    opens, closes = np.log(window._opens_h), np.log(window._closes_h)
    aimed = opens + aim * np.minimum(closes - opens, WIDEST_AIM)
    met = _bell(now - aimed, miss)
    if report.is_observed:
        clock = sum(share * float(_bell(now - np.log(h), scale)) for h, scale, share in CLOCK)
        met = by_clock * clock + (1 - by_clock) * met
    chance = window._weights * met
    too_soft, too_hard = chance[opens > now].sum(), chance[closes < now].sum()
    told = np.array([too_soft, chance.sum() - too_soft - too_hard, too_hard])
    if report.is_observed:
        told = told * (failures_told, 1.0, failures_told)
    return np.asarray((1 - STRAY) * told / told.sum() + STRAY / 3)


def log_scores(rows: Sequence[Report], windows: Sequence[CutWindow]) -> Array:
    """Of each report, its way of coming about weighed by how well it explains the other threads."""
    pairs = list(zip(rows, windows, strict=True))
    chances = np.array(
        [[_odds(row, window, way)[RESULTS.index(row.outcome)] for row, window in pairs] for way in WAYS]
    )
    scores = np.empty(len(rows))
    threads = np.array([row.thread for row in rows])
    for thread in set(threads):
        left_out = threads == thread
        explains = np.log(chances[:, ~left_out]).sum(axis=1)
        weights = np.exp(explains - explains.max())
        scores[left_out] = -np.log(weights / weights.sum() @ chances[:, left_out])
    return scores
