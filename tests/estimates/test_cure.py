"""`estimate cure`: the contract's shapes, bad questions, and accuracy on a part of the practice data."""

import copy
import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curelog.estimates import BadQuestion
from curelog.estimates.cure import answer
from curelog.estimates.stream import answer_lines
from tests.bench.cure_questions import Practice

CHANCES = ["p05", "p10", "p25", "p50", "p75", "p90", "p95"]
QUESTION = {
    "bar_id": "L12-3",
    "info_day": 14,
    "recipe": {"water_frac": 0.28, "oil": "Palm Lard", "superfat": 0.05, "gel": True, "days_pour_to_cut": 1},
    "dims_mm": [78.0, 55.0, 26.0],
    "climate": [{"day": day, "rh": 58, "temp_c": 19.5} for day in range(15)],
    "readings": [
        {"day": 0.1, "weight_g": 118.0},
        {"day": 7.0, "weight_g": 109.0},
        {"day": 13.9, "weight_g": 106.0},
    ],
    "sisters": [
        {"bar_id": "L12-5", "dims_mm": None, "readings": [{"day": 0.1, "weight_g": 121.0}]},
        {"bar_id": "L12-7", "dims_mm": [78, 55, 27], "readings": [{"day": 0.1, "weight_g": 123.0}]},
    ],
    "steps": [],
    "history": [],
    "resolution_g": 1.0,
    "rule": {"kind": "trail", "pct": 4.0, "days": 28},
}
PAST = {
    "bar_id": "L11-1",
    "loaf": "L11",
    "recipe": QUESTION["recipe"],
    "dims_mm": [78, 55, 26],
    "resolution_g": 1.0,
    "readings": [
        {"day": 1.0, "weight_g": 117.0},
        {"day": 30.0, "weight_g": 102.0},
        {"day": 60.0, "weight_g": 98.0},
    ],
    "climate_mean": {"rh": 59.0, "temp_c": None},
}


def asked(**changes):
    return {**copy.deepcopy(QUESTION), **changes}


def test_the_answer_has_the_shape_of_the_contract():
    found = answer(asked())
    assert list(found) == ["bar_id", "ready_day", "weight_g_at", "doubtful"]
    assert found["bar_id"] == "L12-3"
    assert list(found["weight_g_at"]) == ["42", "56", "90", "180"]
    for quantiles in (found["ready_day"], *found["weight_g_at"].values()):
        assert list(quantiles) == CHANCES
        assert list(quantiles.values()) == sorted(quantiles.values())
    assert found["doubtful"] == []


@pytest.mark.parametrize(
    "absent",
    ["info_day", "dims_mm", "climate", "readings", "sisters", "steps", "history", "resolution_g", "rule"],
)
@pytest.mark.parametrize("null", [True, False])
def test_what_is_not_known_may_be_null_or_absent(absent, null):
    question = asked(**{absent: None})
    if not null:
        del question[absent]
    assert answer(question)["ready_day"]["p50"] >= 28


def test_the_recipe_alone_is_enough_with_a_size():
    found = answer({"bar_id": "x", "recipe": {"water_frac": 0.25}, "dims_mm": [75, 50, 25]})
    assert 28 <= found["ready_day"]["p10"] < found["ready_day"]["p90"]


def test_unknown_oils_keys_and_gel_words_are_taken():
    for gel in ("none", "partial", "full", True, False, None, 1):
        recipe = {"water_frac": 0.28, "oil": "grandmother's mix", "gel": gel, "stars": 5}
        assert answer(asked(recipe=recipe, moon="full"))["ready_day"]["p50"] > 28


def test_a_wrong_weighing_is_named_by_its_day():
    readings = [*QUESTION["readings"], {"day": 14.5, "weight_g": 1050.0}]
    assert answer(asked(readings=readings))["doubtful"] == [14.5]


def test_sisters_in_any_order_give_the_same_answer():
    assert answer(asked(sisters=QUESTION["sisters"][::-1])) == answer(asked())


def test_past_loaves_count_even_with_gaps():
    bare = {key: PAST[key] for key in ("bar_id", "readings")}
    for history in ([PAST], [PAST | {"climate_mean": None}], [bare], [PAST | {"readings": []}]):
        assert answer(asked(history=history))["ready_day"]["p50"] > 28


def test_another_rule_moves_the_day():
    strict = answer(asked(rule={"kind": "trail", "pct": 2.0, "days": 28}))
    early = answer(asked(rule={"pct": 4.0, "days": 14}))
    assert strict["ready_day"]["p50"] > answer(asked())["ready_day"]["p50"] > early["ready_day"]["p50"]


def test_a_told_planing_is_no_drying():
    planed = [
        {"day": 0.1, "weight_g": 118.0},
        {"day": 7.0, "weight_g": 107.0},
        {"day": 13.9, "weight_g": 104.0},
    ]
    told = answer(asked(readings=planed, steps=[{"day": 5.0, "kind": "planed"}]))
    assert told["ready_day"]["p50"] == pytest.approx(answer(asked())["ready_day"]["p50"], abs=4)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"recipe": None}, "recipe.water_frac"),
        ({"recipe": {"water_frac": 1.4}}, "at most"),
        ({"recipe": {"water_frac": "much"}}, "must be a number"),
        ({"readings": QUESTION["readings"][::-1]}, "put them in order"),
        ({"readings": [{"day": 1.0, "weight_g": -3.0}]}, "at least"),
        ({"readings": [{"day": -1.0, "weight_g": 100.0}]}, "at least"),
        ({"readings": [{"day": 1.0}]}, "is missing"),
        ({"readings": [{"day": 1.0, "weight_g": 100.0}] * 10_000}, "at most"),
        ({"readings": "none"}, "must be a list"),
        ({"readings": None, "dims_mm": None}, "size"),
        ({"dims_mm": [75, 50]}, "three sides"),
        ({"dims_mm": [75, 50, 0]}, "at least"),
        ({"rule": {"kind": "feel"}}, "trail"),
        ({"sisters": [{"readings": QUESTION["readings"][::-1]}]}, "sisters[0].readings"),
        ({"history": [PAST | {"readings": PAST["readings"][::-1]}]}, "history[0].readings"),
        ({"climate": [{"day": 2, "rh": 50}, {"day": 1, "rh": 50}]}, "put them in order"),
        ({"climate": [{"day": 2, "rh": 150}]}, "at most"),
    ],
)
def test_a_bad_question_is_told_what_is_wrong(changes, words):
    with pytest.raises(BadQuestion) as refused:
        answer(asked(**changes))
    assert words in str(refused.value)


def test_in_the_stream_a_bad_line_costs_no_other():
    lines = [json.dumps(asked()), '{"bar_id": "b", "info_day": NaN}', "", json.dumps(asked(readings=5))]
    found = [json.loads(line) for line in answer_lines("cure", lines)]
    assert "ready_day" in found[0]
    assert all("error" in answered for answered in found[1:])
    assert [answered["bar_id"] for answered in found] == ["L12-3", "b", None, "L12-3"]


@settings(max_examples=25, deadline=None)
@given(
    st.fixed_dictionaries(
        {"recipe": st.fixed_dictionaries({"water_frac": st.floats(0.05, 0.5), "oil": st.none() | st.text()})},
        optional={
            "info_day": st.none() | st.floats(0, 400),
            "dims_mm": st.none() | st.lists(st.floats(5, 200), min_size=3, max_size=3),
            "readings": st.none()
            | st.lists(
                st.fixed_dictionaries({"day": st.floats(0, 200), "weight_g": st.floats(1, 2000)}), max_size=8
            ),
            "climate": st.none()
            | st.lists(
                st.fixed_dictionaries({"day": st.integers(0, 60), "rh": st.none() | st.floats(0, 100)}),
                max_size=8,
            ),
            "resolution_g": st.none() | st.sampled_from([0.01, 0.1, 1, 5]),
            "rule": st.none() | st.fixed_dictionaries({"pct": st.floats(0.5, 12), "days": st.floats(7, 60)}),
        },
    )
)
def test_every_question_gets_an_answer_or_a_reason(question):
    (line,) = answer_lines("cure", [json.dumps({"bar_id": "any", **question})])
    found = json.loads(line)
    # A fault of ours would be an error object too, but one that asks to be reported.
    assert "please report" not in found.get("error", "")
    for quantiles in (found.get("ready_day", {}), *found.get("weight_g_at", {}).values()):
        values = list(quantiles.values())
        assert np.isfinite(values).all()
        assert values == sorted(values)


def test_accuracy_on_a_part_of_the_practice_data_holds():
    """One bar in seven, across all workshops. The bounds lie a fifth above what was measured when written: they
    guard against getting worse, the bench gives the figures."""
    practice = Practice()
    bars = [bar for bar in list(practice.bars)[::7] if len(practice.question(bar, 14.0)["readings"]) >= 2]
    found = {bar: answer(practice.question(bar, 14.0)) for bar in bars}
    truth = {bar: float(practice.truth[bar]["ready_day"]) for bar in bars}
    errors = [abs(found[bar]["ready_day"]["p50"] - truth[bar]) for bar in bars]
    inside = [found[bar]["ready_day"]["p10"] <= truth[bar] <= found[bar]["ready_day"]["p90"] for bar in bars]
    weights = [
        found[bar]["weight_g_at"]["42"]["p50"] / float(practice.truth[bar]["weight_42"]) - 1 for bar in bars
    ]
    assert np.median(errors) < 4.5
    assert 0.65 < np.mean(inside) < 0.95
    assert np.median(np.abs(weights)) < 0.008
