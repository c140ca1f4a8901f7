"""How well `estimate cure` forecasts simulated bars: the table of errors, doubt and cost.

    python -m tests.bench.bench_cure [FOLDER] [--sisters] [--foresight]

Nothing is fitted to the workshops scored when they are scored: the beliefs of drying_prior are fixed, and a
question holds only what its own workshop knew on the day. Their middle, though, was in part read off this practice
data (drying_prior says how much that matters); brick_workshops makes data that had no such say.
CRPS is taken from the seven quantiles with straight lines between them (Gneiting and Raftery, 2007, as twice the
mean pinball loss, from memory).
"""

import sys
import time
from pathlib import Path

import numpy as np

from curelog.estimates.cure import answer
from tests.bench.cure_questions import PRACTICE, Practice

DAYS = (7.0, 14.0, 28.0)
WEIGHED = (42, 90, 180)
CHANCES = np.array([0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95])


def crps(quantiles, truth):
    chances = np.linspace(0.01, 0.99, 99)
    values = np.interp(chances, CHANCES, quantiles)
    return 2.0 * np.mean(((truth < values) - chances) * (values - truth))


def score(practice, bar_id, day, **how):
    truth = practice.truth[bar_id]
    found = answer(practice.question(bar_id, day, **how))
    ready, true_ready = list(found["ready_day"].values()), float(truth["ready_day"])
    wrong = {d for bar, d in practice.gross if bar == bar_id and d <= day}
    row = {
        "error": abs(ready[3] - true_ready),
        "crps": crps(ready, true_ready),
        "width": ready[5] - ready[1],
        "inside": ready[1] <= true_ready <= ready[5],
        "bias": ready[3] - true_ready,
        "early": true_ready - ready[5] > 5.0,
        "gross": bool(wrong),
        "found": len(wrong & set(found["doubtful"])),
        "wrong": len(wrong),
        "false": len(set(found["doubtful"]) - wrong),
    }
    for at in WEIGHED:
        true_g, weights = float(truth[f"weight_{at}"]), found["weight_g_at"][str(at)]
        row[f"weight {at}"] = 100.0 * abs(weights["p50"] / true_g - 1.0)
        row[f"inside {at}"] = weights["p10"] <= true_g <= weights["p90"]
    return row


def main():
    flags = {word[2:] for word in sys.argv[1:] if word.startswith("--")}
    folders = [Path(word) for word in sys.argv[1:] if not word.startswith("--")]
    practice = Practice(*(folders[:1] or [PRACTICE]))
    how = {"with_sisters": "sisters" in flags, "foresight": "foresight" in flags}
    for day in DAYS:
        asked = [
            bar for bar in practice.bars if sum(row["day"] <= day for row in practice.readings[bar]) >= 2
        ]
        start = time.process_time()
        scored = [score(practice, bar, day, **how) for bar in asked]
        ms = 1000.0 * (time.process_time() - start) / len(asked)
        table = {key: np.array([row[key] for row in scored], dtype=float) for key in scored[0]}
        honest, gross = table["error"][table["gross"] == 0], table["error"][table["gross"] == 1]
        print(f"day {day:.0f}: {len(asked)} bars, {ms:.1f} ms each")
        print(
            f"  settled day: median error {np.median(table['error']):.2f} d, CRPS {table['crps'].mean():.2f} d, "
            f"80 % interval {np.median(table['width']):.1f} d wide holding {100 * table['inside'].mean():.0f} %, "
            f"bias {np.median(table['bias']):+.2f} d (median) {table['bias'].mean():+.2f} d (mean), "
            f"over 5 d early {100 * table['early'].mean():.1f} %"
        )
        errors = " / ".join(f"{np.median(table[f'weight {at}']):.2f}" for at in WEIGHED)
        held = " / ".join(f"{100 * table[f'inside {at}'].mean():.0f}" for at in WEIGHED)
        print(f"  weight on day 42 / 90 / 180: median error {errors} %, 80 % intervals hold {held} %")
        print(
            f"  gross errors: {table['found'].sum():.0f} of {table['wrong'].sum():.0f} named, "
            f"{table['false'].sum():.0f} honest readings doubted; median error with one "
            f"{np.median(gross):.2f} d, without {np.median(honest):.2f} d"
        )


if __name__ == "__main__":
    main()
