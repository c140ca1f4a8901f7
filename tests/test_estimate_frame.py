"""`manage.py estimate`: one answer a line, whatever the line holds."""

import json
import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curelog.domain.batch import Alkali, FatPortion, Water, work_out
from curelog.domain.fats import find
from curelog.estimates import BadQuestion, items, maybe_choice, maybe_number, number, numbers, shares, text
from curelog.estimates.stream import answer_lines

ROOT = Path(__file__).parent.parent
LARD = {
    "id": "a",
    "fats": [{"fat": "Lard", "g": 500}],
    "superfat": 0.05,
    "water": {"lye_concentration": 0.33},
    "mould": "unknown keys are ignored",
}


def batch(*questions: dict[str, Any] | str) -> list[dict[str, Any]]:
    lines = [q if isinstance(q, str) else json.dumps(q) for q in questions]
    return [json.loads(line) for line in answer_lines("batch", lines)]


def test_an_answer_has_what_the_contract_names() -> None:
    (answer,) = batch(LARD)
    expected = work_out([FatPortion(find("lard"), 500)], 0.05, Alkali(), Water("lye_concentration", 0.33))
    assert list(answer) == [
        "id",
        "naoh_g",
        "koh_g",
        "water_g",
        "batch_g",
        "water_share",
        "lye_concentration",
        "glycerol_g",
        "fatty_matter_g",
        "fatty_acids",
        "saponification_value",
        "iodine_value",
        "cautions",
    ]
    assert answer["naoh_g"] == expected.naoh_g
    assert answer["fatty_acids"] == expected.fatty_acids
    assert answer["cautions"] == [caution.words for caution in expected.cautions]


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"fats": [{"fat": "lrd", "g": 500}]}, "fats[0].fat: no fat is called 'lrd'; near it: lard"),
        ({"fats": [{"fat": "lard", "g": -5}]}, "fats[0].g: must be at least 0, not -5"),
        ({"fats": [{"fat": "lard", "g": "500"}]}, "fats[0].g: must be a number, not text"),
        ({"fats": [{"fat": "lard", "g": True}]}, "fats[0].g: must be a number, not true"),
        ({"fats": [{"fat": "lard", "g": 10**400}]}, "fats[0].g: must be a finite number"),
        ({"fats": [{"fat": "lard"}]}, "fats[0].g: is missing"),
        ({"fats": [{"fat": "lard", "g": 500}, None]}, "fats[1]: must be an object, not null"),
        ({"fats": {"lard": 500}}, "fats: must be a list, not an object"),
        ({"fats": None}, "fats: at least one fat is needed"),
        ({"fats": [{"fat": "lard", "g": 1}] * 10_000}, "fats: at most 2000 entries, not 10000"),
        ({"fats": [{"fat": "lard", "g": 1}] * 2}, "fats: Lard is named twice"),
        ({"superfat": None}, "superfat: is missing"),
        ({"superfat": 60}, "superfat: a superfat lies between 0 % and 40%"),
        ({"alkali": {"naoh": 0.7, "koh": 0.7}}, "alkali: the shares must add to 1, not 1.4"),
        ({"alkali": "naoh"}, "alkali: must be an object, not text"),
        ({"water": {}}, "water: give one of"),
        ({"water": {"g": 150, "water_to_lye": 2}}, "water: give one of"),
        ({"water": {"g": 20}}, "water: 20.0 g of water is less than the alkali's own"),
        (
            {"additives": [{"name": "milk", "g": 10, "water_share": 2}]},
            "additives[0].water_share: must be at most 1",
        ),
    ],
)
def test_what_is_wrong_is_named_by_its_path(changed: dict[str, Any], words: str) -> None:
    before, bad, after = batch(LARD, LARD | changed | {"id": 7}, LARD)
    assert bad["id"] == 7
    assert bad["error"].startswith(words)
    assert before == after == batch(LARD)[0]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("", "line 2 is empty"),
        ("  \n", "line 2 is empty"),
        ("{oops", "line 2 is not JSON: expecting property name"),
        ("[1]", "line 2 holds no question"),
        ("null", "line 2 holds no question"),
        ("[" * 100_000, "line 2 nests too deep"),
        ('{"id": ' + "9" * 5000 + "}", "line 2 nests too deep or holds too long a number"),
    ],
)
def test_a_line_that_is_no_question_is_named_by_its_number(line: str, words: str) -> None:
    before, bad, after = batch(LARD, line, LARD)
    assert bad["id"] is None
    assert bad["error"].startswith(words)
    assert "naoh_g" in before
    assert "naoh_g" in after


@pytest.mark.parametrize("constant", ["NaN", "Infinity", "-Infinity"])
def test_constants_that_json_does_not_know_are_refused(constant: str) -> None:
    (bad,) = batch(json.dumps(LARD).replace("500", constant))
    assert bad["id"] == "a"
    assert bad["error"].startswith(f"{constant} is not a number")


def test_null_counts_as_absent() -> None:
    asked = {
        "id": "a",
        "alkali": {"naoh": None, "koh": 1, "koh_purity": None},
        "water": {"g": None, "water_to_lye": 2},
        "additives": None,
    }
    bare = {"alkali": {"koh": 1}, "water": {"water_to_lye": 2}}
    assert batch(LARD | asked) == batch(LARD | bare)


def test_cure_answers_by_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "curelog.estimates.cure", SimpleNamespace(answer=dict))
    bad, good = [
        json.loads(line) for line in answer_lines("cure", ['{"bar_id": 7, "x": NaN}', '{"bar_id": 8}'])
    ]
    assert bad["bar_id"] == 7
    assert bad["error"].startswith("NaN")
    assert good == {"bar_id": 8}


def test_a_fault_of_ours_costs_one_answer_only(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails_once(question: Any) -> dict[str, Any]:
        return {"id": question["id"], "odd": 1 / question["id"]}

    monkeypatch.setattr("curelog.estimates.batch.answer", fails_once)
    bad, good = batch({"id": 0}, {"id": 1})
    assert "ZeroDivisionError" in bad["error"]
    assert good == {"id": 1, "odd": 1}


JSON = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False) | st.integers() | st.text(max_size=4),
    lambda inner: (
        st.lists(inner, max_size=2)
        | st.dictionaries(st.sampled_from(["fat", "g", "koh", "name"]), inner, max_size=2)
    ),
    max_leaves=5,
)


@given(st.sampled_from(list(LARD)), JSON)
def test_any_question_gets_an_answer_or_words(key: str, odd: Any) -> None:
    question = LARD | {key: odd}
    (answer,) = batch(question)
    assert answer["id"] == question["id"]
    assert "please report it" not in answer.get("error", "")


def test_the_readers_check_types_and_bounds() -> None:
    question = {
        "a": {"b": 2},
        "days": [1, 2.5],
        "fats": {"lard": 0.8, "olive": 0.2},
        "gel": "full",
        "list": [{"x": 1}],
    }
    assert number(question, "a.b", 0, 3) == 2
    assert maybe_number(question, "a.c") is None
    assert maybe_number(question, "z.c") is None
    assert numbers(question, "days") == [1, 2.5]
    assert shares(question, "fats") == {"lard": 0.8, "olive": 0.2}
    assert maybe_choice(question, "gel", ("none", "full")) == "full"
    assert number(items(question, "list")[0], "x") == 1


@pytest.mark.parametrize(
    ("read", "words"),
    [
        (lambda q: number(q, "a.b", 0, 1), "a.b: must be at most 1, not 2"),
        (lambda q: number(q, "a.b.c"), "a.b: must be an object, not a number"),
        (lambda q: numbers(q, "days"), r"days\[1\]: must be a number, not null"),
        (lambda q: shares(q, "fats"), "fats: the shares must add to 1, they add to 0.9"),
        (lambda q: shares(q, "none"), "none: is missing"),
        (lambda q: text(q, "a"), "a: must be text, not an object"),
        (lambda q: maybe_choice(q, "gel", ("none", "full")), "gel: must be one of none, full, not 'odd'"),
        (lambda q: number(items(q, "list")[0], "x.y"), r"list\[0\].x: must be an object, not a number"),
    ],
)
def test_the_readers_say_what_is_wrong(read: Any, words: str) -> None:
    question = {"a": {"b": 2}, "days": [0, None], "fats": {"lard": 0.9}, "gel": "odd", "list": [{"x": 1}]}
    with pytest.raises(BadQuestion, match=words):
        read(question)


def test_the_command_needs_no_database_and_keeps_going(tmp_path: Path) -> None:
    """A process of its own, no data folder, and a line that is not even UTF-8."""
    lines = json.dumps(LARD).encode() + b"\n\xff\xfe\n\n" + json.dumps(LARD | {"id": "b"}).encode()
    run = subprocess.run(
        [sys.executable, "manage.py", "estimate", "batch"],
        cwd=ROOT,
        env=os.environ
        | {"CURELOG_DATA": str(tmp_path / "data"), "DJANGO_SETTINGS_MODULE": "curelog.settings"},
        input=lines,
        capture_output=True,
        check=False,
    )
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    assert run.returncode == 0
    assert run.stderr == b""
    assert [answer["id"] for answer in answers] == ["a", None, None, "b"]
    assert ["error" in answer for answer in answers] == [False, True, True, False]
    assert not (tmp_path / "data").exists()
