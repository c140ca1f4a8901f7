import json
from typing import Any

import pytest

from curelog.estimates.stream import answer_lines

ASKED = {
    "id": "a",
    "bar_weights_g": [108, 110, 112, 114, 116],
    "weighed_on_day": 42,
    "declare_from_day": 45,
    "hold_until_day": 180,
    "left": {"p05": 0.90, "p50": 0.93, "p95": 0.95},
    "rule": "average_eu",
}


def label(question: dict[str, Any]) -> dict[str, Any]:
    (line,) = answer_lines("label", [json.dumps(question)])
    answer: dict[str, Any] = json.loads(line)
    return answer


def test_an_answer_has_what_the_contract_names() -> None:
    answer = label(ASKED)
    assert list(answer) == ["id", "declare_g", "basis", "expected_mean_g", "share_below", "caution"]
    assert answer["declare_g"] == 100
    assert "76/211/EEC" in answer["basis"]


def test_step_and_chance_default_to_a_gram_and_95_per_cent() -> None:
    assert label(ASKED | {"step_g": 1, "chance": 0.95}) == label(ASKED | {"step_g": None})
    assert label(ASKED | {"step_g": 0.1})["declare_g"] == pytest.approx(100.8)
    assert label(ASKED | {"chance": 0.5})["declare_g"] == 104


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"bar_weights_g": []}, "bar_weights_g: at least one bar"),
        ({"bar_weights_g": [100, -1]}, "bar_weights_g[1]: must be at least 0.1"),
        ({"bar_weights_g": [100] * 10_000}, "bar_weights_g: at most 2000 entries"),
        ({"left": {"p05": 0.9, "p50": 0.8, "p95": 0.95}}, "left: p05, p50 and p95 must not fall"),
        ({"left": None}, "left.p05: is missing"),
        ({"rule": "average"}, "rule: must be one of minimum, average_eu, hb133"),
        ({"rule": None}, "rule: is missing"),
        ({"hold_until_day": 40}, "weighed_on_day, declare_from_day, hold_until_day: must follow"),
        ({"chance": 1}, "chance: must be at most 0.999"),
        ({"step_g": 0}, "step_g: must be at least 0.01"),
        ({"step_g": 500}, "these bars bear no label weight"),
        ({"bar_weights_g": [2000], "rule": "hb133"}, "the rule's table runs from 0 to 1450 g"),
    ],
)
def test_what_is_wrong_is_named(changed: dict[str, Any], words: str) -> None:
    answer = label(ASKED | changed)
    assert answer["id"] == "a"
    assert answer["error"].startswith(words)
