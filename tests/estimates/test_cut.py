"""`estimate cut`: the contract's shape, and words for what cannot be answered."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curelog.estimates import BadQuestion
from curelog.estimates.cut import answer
from curelog.estimates.stream import answer_lines

QUESTION = {
    "id": "loaf 7",
    "fats": {"Lard": 0.8, "coconut": 0.2},
    "lye_concentration": 0.33,
    "superfat": 0.05,
    "gel": "full",
    "heat": "oven",
    "room_c": None,
    "checks": [{"hours": 14.0, "feel": "dents"}],
    "history": [{"fats": {"lard": 1.0}, "cut_hours": 19.0, "result": "clean", "unknown": 1}],
    "ask_hours": [12, 24.5, 48],
}


def test_answer_has_the_shape_of_the_contract():
    told = answer(QUESTION)
    assert set(told) == {"id", "opens_h", "closes_h", "at"}
    assert told["id"] == "loaf 7"
    assert list(told["at"]) == ["12", "24.5", "48"]
    for spread in (told["opens_h"], told["closes_h"]):
        assert list(spread) == ["p10", "p50", "p90"]
        assert spread["p10"] <= spread["p50"] <= spread["p90"]
    for odds in told["at"].values():
        assert list(odds) == ["too_soft", "right", "too_hard"]
        assert sum(odds.values()) == pytest.approx(1)


def test_fats_alone_are_enough():
    assert answer({"fats": {"olive": 1.0}})["at"] == {}


def test_checks_and_history_count():
    alone = answer({**QUESTION, "checks": [], "history": None})
    assert answer({**QUESTION, "history": None})["opens_h"]["p50"] > alone["opens_h"]["p50"]
    assert answer({**QUESTION, "checks": None})["opens_h"]["p90"] < alone["opens_h"]["p90"]


def test_shares_rounded_to_per_cent_are_taken():
    assert answer({"fats": {"lard": 0.33, "olive": 0.33, "coconut": 0.335}})["opens_h"]["p50"] > 0


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"fats": None}, "fats"),
        ({"fats": {"lard": 0.5}}, "add to 1"),
        ({"fats": {"lard": 1.5, "olive": -0.5}}, "fats.lard"),
        ({"fats": {"unobtainium": 1.0}}, "unobtainium"),
        ({"fats": ["lard"]}, "fats"),
        ({"lye_concentration": 33}, "lye_concentration"),
        ({"lye_concentration": "a third"}, "lye_concentration"),
        ({"room_c": True}, "room_c"),
        ({"loaf_g": -500}, "loaf_g"),
        ({"gel": "some"}, "gel"),
        ({"checks": [{"hours": -1, "feel": "firm"}]}, "checks[0].hours"),
        ({"checks": [{"hours": 12}]}, "checks[0].feel"),
        ({"history": [{"fats": {"lard": 1.0}, "cut_hours": 19}]}, "history[0].result"),
        ({"history": [{"fats": {"lard": 0.1}, "cut_hours": 19, "result": "clean"}]}, "history[0].fats"),
        ({"history": [QUESTION]}, "history[0].cut_hours"),
        ({"ask_hours": [12, None]}, "ask_hours[1]"),
        ({"ask_hours": [-1]}, "ask_hours[0]"),
        ({"ask_hours": [float("nan")]}, "ask_hours[0]"),
        ({"checks": [{"hours": 12, "feel": "firm"}] * 10_000}, "checks"),
    ],
)
def test_what_cannot_be_answered_is_said_with_its_place(wrong, words):
    with pytest.raises(BadQuestion) as bad:
        answer({**QUESTION, **wrong})
    assert words in str(bad.value)


def test_a_bad_line_leaves_the_others_answered():
    lines = [json.dumps(QUESTION), "", "{", json.dumps({**QUESTION, "gel": 3}), json.dumps(QUESTION)]
    told = [json.loads(line) for line in answer_lines("cut", lines)]
    assert ["error" in one for one in told] == [False, True, True, True, False]
    assert told[3]["id"] == "loaf 7"


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


@given(st.sampled_from(sorted(QUESTION)), json_values)
@settings(max_examples=150, deadline=None)
def test_any_value_in_any_place_is_answered_or_refused_in_words(key, value):
    [told] = (json.loads(line) for line in answer_lines("cut", [json.dumps({**QUESTION, key: value})]))
    assert "please report" not in told.get("error", "")
    assert ("error" in told) != ("opens_h" in told)
