"""The table of weights and what is asked about them: tests/data/weight_questions.json, written from the Python rules.

    python -m tests.domain.weight_questions

Both sides are held to it, so that the phone without a network asks what the server would: test_questioning.py, and
tests/js/questions.test.mjs.
"""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from curelog.domain.quantiles import Quantiles
from curelog.domain.questioning import WeightContext, questions

TABLE = Path(__file__).parents[1] / "data" / "weight_questions.json"
KNOWN = WeightContext(
    last_g=130.0,
    expected=Quantiles(124.0, 124.5, 125.2, 126.0, 126.8, 127.4, 128.0),
    least_g=98.0,
    others_g={"5": 141.0, "8": 118.0},
)
CONTEXTS = (
    KNOWN,
    replace(KNOWN, expected=None),
    replace(KNOWN, expected=None, least_g=None, others_g={}),
    replace(KNOWN, step_g=5.0),
    replace(KNOWN, step_g=0.1, last_g=1300.0, expected=None, least_g=980.0),
    WeightContext(None, None, None, {"5": 141.0}),
)
# For the first context: both sides of the edges of what is taken without a word, each slip, and nothing at all.
RIGHT_G = (121.9, 122, 126, 131.9)
SLIPPED_G = (0, -3, 4.45, 12.6, 60, 95, 98, 107, 132.1, 138.5, 140.5, 180, 1265, 3572, 9500)


def cases() -> list[dict[str, Any]]:
    return [
        {"weightG": weight_g, "known": told(known), "asked": list(questions(weight_g, known))}
        for known in CONTEXTS
        for weight_g in RIGHT_G + SLIPPED_G
    ]


def told(known: WeightContext) -> dict[str, Any]:
    """As the page tells it to the phone."""
    return {
        "lastG": known.last_g,
        "lowG": known.expected.p05 if known.expected else None,
        "highG": known.expected.p95 if known.expected else None,
        "leastG": known.least_g,
        "others": dict(known.others_g),
        "stepG": known.step_g,
    }


if __name__ == "__main__":
    lines = ",\n".join(json.dumps(case) for case in cases())
    TABLE.write_text(f"[\n{lines}\n]\n", encoding="utf-8")
