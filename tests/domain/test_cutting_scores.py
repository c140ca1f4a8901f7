"""What history is worth, on a few of the bench's invented workshops (the bench itself runs many)."""

import numpy as np
import pytest

from curelog.domain.cutting import cut_window
from tests.bench.bench_cut import Scores, constant_log_score, pooled, simulated
from tests.bench.cut_reporting import log_scores
from tests.bench.cut_reports import reports
from tests.bench.cut_workshops import KINDS


@pytest.fixture(scope="module")
def scores() -> dict[str, Scores]:
    ways = ("no history", "four past cuts", "contradictory", "same hour")
    return pooled(simulated(kind, count=15, seed=2, ways=ways) for kind in KINDS)


def log_score(scores: Scores) -> float:
    return float(np.mean(scores.log))


def test_four_past_cuts_better_the_log_score_by_a_fifth(scores):
    assert log_score(scores["four past cuts"]) < 0.8 * log_score(scores["no history"])


@pytest.mark.parametrize("way", ["contradictory", "same hour"])
def test_a_history_that_contradicts_itself_costs_at_most_two_per_cent(scores, way):
    assert log_score(scores[way]) < 1.02 * log_score(scores["no history"])


def test_of_loaves_said_to_be_right_at_60_to_90_per_cent_about_as_many_are(scores):
    said = np.array(scores["four past cuts"].said)
    was = np.array(scores["four past cuts"].was)
    likely = (said >= 0.6) & (said < 0.9)
    assert likely.sum() > 50
    # Hours of one loaf and loaves of one workshop hang together, so 0.12 is about two standard errors.
    assert was[likely].mean() == pytest.approx(said[likely].mean(), abs=0.12)


def test_on_makers_reports_it_beats_the_best_constant_and_the_facts_of_another_report():
    """Threads left out in turn; tests/data/README.md says where the reports are from."""
    rows = list(reports())
    windows = [cut_window(row.facts) for row in rows]
    ours = log_scores(rows, windows).mean()
    assert ours < np.mean([constant_log_score(row, rows) for row in rows])
    shuffles = [np.random.default_rng(seed).permutation(len(rows)) for seed in range(3)]
    assert ours < np.mean([log_scores(rows, [windows[i] for i in order]).mean() for order in shuffles])
