"""Scores of the cut window on invented workshops and on makers' reports.

Run: python -m tests.bench.bench_cut [workshops of each kind] [seed]
"""

import sys
import time
from collections.abc import Callable, Iterable
from itertools import pairwise

import numpy as np

from curelog.domain.cutting import CutWindow, FirmnessCheck, Odds, PastCut, PourFacts, cut_window
from curelog.domain.fats import find
from tests.bench.cut_reporting import RESULTS, log_scores
from tests.bench.cut_reports import Report, reports
from tests.bench.cut_workshops import KINDS, Facts, Person

PAST_CUTS = 4
Asked = tuple[PourFacts, tuple[float, float], list[float], list[FirmnessCheck]]


def as_pour(told: Facts) -> PourFacts:
    fats = tuple((find(name), share) for name, share in told["fats"].items())  # type: ignore[attr-defined]
    return PourFacts(**{**told, "fats": fats})  # type: ignore[arg-type]


def outcome(hours: float, opens: float, closes: float) -> str:
    return "too_soft" if hours < opens else "right" if hours <= closes else "too_hard"


def past_cut(person: Person, misses: float = 0.03) -> PastCut:
    facts = person.pour()
    opens, closes = person.window(facts)
    hours = person.cut_hours(opens, closes)
    result = outcome(hours, opens, closes)
    if person.rng.random() < misses:
        result = str(person.rng.choice(RESULTS))
    return PastCut(as_pour(person.told(facts)), hours, "clean" if result == "right" else result)  # type: ignore[arg-type]


def asked(person: Person) -> Asked:
    facts = person.pour()
    opens, closes = person.window(facts)
    hours = [12.0, 24.0, 48.0, float(person.usual_hours), person.cut_hours(opens, closes)]
    checked = opens * person.rng.uniform(0.3, 1.6)
    checks = [FirmnessCheck(checked, person.feel(checked, opens, closes))]  # type: ignore[arg-type]
    return as_pour(person.told(facts)), (opens, closes), hours, checks


def scrambled(history: list[PastCut], rng: np.random.Generator) -> list[PastCut]:
    """Records of one recipe that cannot all be true: late ones too soft, early ones too hard, in turn."""
    late = np.exp(rng.uniform(0.3, 1.2, len(history)))
    return [
        PastCut(
            history[0].facts, past.cut_hours * (by if i % 2 else 1 / by), "too_soft" if i % 2 else "too_hard"
        )
        for i, (past, by) in enumerate(zip(history, late, strict=True))
    ]


def muddled(history: list[PastCut], rng: np.random.Generator) -> list[PastCut]:
    """True hours with results at random."""
    return [
        PastCut(past.facts, past.cut_hours, rng.choice(["too_soft", "clean", "too_hard"])) for past in history
    ]


def same_hour(history: list[PastCut], rng: np.random.Generator) -> list[PastCut]:
    """One recipe at one hour, too soft and too hard in turn."""
    first = history[0]
    results = ("too_soft", "too_hard") * len(history)
    return [
        PastCut(first.facts, first.cut_hours, result) for _, result in zip(history, results, strict=False)
    ]


def noise(history: list[PastCut], rng: np.random.Generator) -> list[PastCut]:
    """Hours and results at random: one recipe, nothing to learn."""
    return [
        PastCut(
            history[0].facts,
            float(np.exp(rng.normal(3.2, 0.7))),
            rng.choice(["too_soft", "clean", "too_hard"]),
        )
        for _ in history
    ]


class Scores:
    """Log score, Brier score and how often loaves said to be right were, over loaves and hours."""

    def __init__(self) -> None:
        self.log: list[float] = []
        self.brier: list[float] = []
        self.said: list[float] = []
        self.was: list[bool] = []

    def add(self, odds: Odds, truth: str) -> None:
        chances = np.array([getattr(odds, result) for result in RESULTS])
        happened = np.array([result == truth for result in RESULTS])
        self.log.append(float(-np.log(chances[happened][0])))
        self.brier.append(float(((chances - happened) ** 2).sum()))
        self.said.append(odds.right)
        self.was.append(truth == "right")

    def said_right(self, low: float, high: float) -> tuple[float, int]:
        inside = [was for said, was in zip(self.said, self.was, strict=True) if low <= said < high]
        return (float(np.mean(inside)) if inside else float("nan")), len(inside)

    def line(self) -> str:
        share, count = self.said_right(0.75, 0.85)
        return f"log {np.mean(self.log):.3f}  Brier {np.mean(self.brier):.3f}  said 75-85 %: {share:.2f} of {count}"


def workshops(kind: str, count: int, seed: int) -> Iterable[tuple[list[PastCut], list[Asked]]]:
    for number in range(count):
        person = Person(np.random.default_rng([seed, number]), kind)
        history = [past_cut(person) for _ in range(PAST_CUTS)]
        yield history, [asked(person) for _ in range(3)]


Way = Callable[[list[PastCut], Asked, np.random.Generator], CutWindow]
WAYS: dict[str, Way] = {
    "no history": lambda past, ask, rng: cut_window(ask[0]),
    "four past cuts": lambda past, ask, rng: cut_window(ask[0], (), past),
    "contradictory": lambda past, ask, rng: cut_window(ask[0], (), scrambled(past, rng)),
    "muddled": lambda past, ask, rng: cut_window(ask[0], (), muddled(past, rng)),
    "same hour": lambda past, ask, rng: cut_window(ask[0], (), same_hour(past, rng)),
    "noise": lambda past, ask, rng: cut_window(ask[0], (), noise(past, rng)),
    "one check": lambda past, ask, rng: cut_window(ask[0], ask[3]),
    "both": lambda past, ask, rng: cut_window(ask[0], ask[3], past),
}


def simulated(kind: str, count: int, seed: int, ways: Iterable[str] = WAYS) -> dict[str, Scores]:
    scores = {way: Scores() for way in ways}
    for history, loaves in workshops(kind, count, seed):
        for ask in loaves:
            _, (opens, closes), hours, _ = ask
            for way in scores:
                window = WAYS[way](history, ask, np.random.default_rng([seed, int(1e6 * opens)]))
                for hour in hours:
                    scores[way].add(window.at(hour), outcome(hour, opens, closes))
    return scores


def pooled(many: Iterable[dict[str, Scores]]) -> dict[str, Scores]:
    total: dict[str, Scores] = {}
    for scores in many:
        for way, part in scores.items():
            for name in ("log", "brier", "said", "was"):
                getattr(total.setdefault(way, Scores()), name).extend(getattr(part, name))
    return total


def report(title: str, scores: dict[str, Scores]) -> None:
    prior = np.mean(scores["no history"].log)
    print(title)
    for way, part in scores.items():
        print(f"  {way:16s} {part.line()}  log against no history {np.mean(part.log) / prior - 1:+.1%}")


def reliability(scores: Scores) -> None:
    print("  said right -> was right:", end="")
    for low, high in pairwise(np.linspace(0, 1, 11)):
        share, count = scores.said_right(low, high)
        print(f"  {low:.1f}: {share:.2f} ({count})", end="")
    print()


def constant_log_score(report: Report, rows: list[Report]) -> float:
    """Log score of the other threads' frequencies: the best answer that looks at nothing."""
    others = [row.outcome for row in rows if row.thread != report.thread]
    return float(-np.log(others.count(report.outcome) / len(others)))


def against_constant(scores: np.ndarray, rows: list[Report]) -> str:
    """Mean difference; its standard error is over threads, as rows of one thread hang together."""
    by_thread = dict.fromkeys((row.thread for row in rows), 0.0)
    for score, row in zip(scores, rows, strict=True):
        by_thread[row.thread] += score - constant_log_score(row, rows)
    difference = np.array(list(by_thread.values()))
    error = np.sqrt(len(difference) * difference.var(ddof=1)) / len(rows)
    return f"{difference.sum() / len(rows):+.3f} (standard error {error:.3f})"


def real(rows: list[Report]) -> None:
    """Makers' reports: our odds as they stand, and as odds of a report that came about as reports do."""
    windows = [cut_window(row.facts) for row in rows]
    plain = Scores()
    for row, window in zip(rows, windows, strict=True):
        plain.add(window.at(row.hours), row.outcome)
    told = log_scores(rows, windows)
    observed = np.array([row.is_observed for row in rows])
    print(
        f"reports: {len(rows)} in {len({row.thread for row in rows})} threads, log score against the best constant"
    )
    print(f"  odds at the hour    {plain.line()}  {against_constant(np.array(plain.log), rows)}")
    print(f"  odds of the report  log {told.mean():.3f}  {against_constant(told, rows)}")
    seen = [row for row in rows if row.is_observed]
    print(f"  observed ones only  log {told[observed].mean():.3f}  {against_constant(told[observed], seen)}")
    shuffles = [np.random.default_rng(seed).permutation(len(rows)) for seed in range(10)]
    mixed_up = [log_scores(rows, [windows[i] for i in order]).mean() for order in shuffles]
    print(f"  with facts of another report  log {np.mean(mixed_up):.3f} (least of ten {min(mixed_up):.3f})")


def milliseconds(past_cuts: int) -> float:
    person = Person(np.random.default_rng(5), "power")
    history = [past_cut(person) for _ in range(past_cuts)]
    facts, _, _, checks = asked(person)
    start = time.process_time()
    for _ in range(50):
        cut_window(facts, checks, history)
    return (time.process_time() - start) / 50 * 1000


if __name__ == "__main__":
    count, seed = (int(text) for text in (*sys.argv[1:], "100", "1")[:2])
    by_kind = {kind: simulated(kind, count, seed) for kind in KINDS}
    for kind, scores in by_kind.items():
        report(kind, scores)
    total = pooled(by_kind.values())
    report("all kinds", total)
    reliability(total["four past cuts"])
    reliability(total["both"])
    real(list(reports()))
    print("ms a loaf:", {n: round(milliseconds(n), 1) for n in (0, 4, 40)})
