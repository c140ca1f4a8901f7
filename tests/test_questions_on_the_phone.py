"""The phone asks about a weight what the server would ask: static/js/questions.js against domain/questioning.py."""

import json
import random
import shutil
import subprocess
from pathlib import Path

import pytest

from curelog.domain.quantiles import Quantiles
from curelog.domain.questioning import WeightContext, questions

ROOT = Path(__file__).resolve().parents[1]
ASK = """
import { questions } from "./static/js/questions.js";
const cases = JSON.parse(await new Response(process.stdin).text());
console.log(JSON.stringify(cases.map(([weightG, known]) => questions(weightG, known))));
"""


def drawn(rng):
    """A bar near 120 g, known well or hardly, and a weight that is right, slipped, or anything."""
    last_g = rng.choice([None, rng.uniform(60, 200)])
    base_g = last_g or 120.0
    has_range, has_least = rng.random() < 0.7, rng.random() < 0.7
    low_g = base_g * rng.uniform(0.93, 0.99)
    known = WeightContext(
        last_g=last_g,
        expected=spread(low_g, base_g) if has_range else None,
        least_g=base_g * rng.uniform(0.7, 0.9) if has_least else None,
        others_g={name: base_g * rng.uniform(0.8, 1.2) for name in "58"[: rng.randrange(3)]},
        step_g=rng.choice([0.1, 1.0, 5.0]),
    )
    slip = rng.choice([1, 1, 1 / 28.3495, 28.3495, 0.1, 10, rng.uniform(0.3, 1.6), 0])
    return base_g * slip * rng.uniform(0.97, 1.02), known


def spread(low_g, high_g):
    middle_g = (low_g + high_g) / 2
    return Quantiles(low_g, low_g, middle_g, middle_g, middle_g, high_g, high_g)


def on_the_phone(known):
    return {
        "lastG": known.last_g,
        "lowG": known.expected.p05 if known.expected else None,
        "highG": known.expected.p95 if known.expected else None,
        "leastG": known.least_g,
        "others": known.others_g,
        "stepG": known.step_g,
    }


@pytest.mark.skipif(not shutil.which("node"), reason="no Node.js here")
def test_phone_and_server_ask_the_same():
    rng = random.Random(26)
    cases = [drawn(rng) for _ in range(2000)]
    told = json.dumps([[weight_g, on_the_phone(known)] for weight_g, known in cases])
    command = ["node", "--input-type=module", "--eval", ASK]
    done = subprocess.run(command, input=told, capture_output=True, text=True, cwd=ROOT, check=True)
    asked = [list(questions(weight_g, known)) for weight_g, known in cases]
    assert sum(map(bool, asked)) > 500
    assert json.loads(done.stdout) == asked
