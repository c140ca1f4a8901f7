"""Questions and answers of `manage.py estimate`: one module per kind, each with `answer(question)`.

The readers below take a question apart by dotted paths. What is null counts as absent; what is wrong is
said with its path, as in "fats[0].g: must be at least 0, not -5".
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

Question = Mapping[str, Any]
Answer = dict[str, Any]
T = TypeVar("T")

SHARE_TOLERANCE = 1e-6
MOST_ITEMS = 2000


class BadQuestion(ValueError):
    """A question that cannot be answered; its words say what is wrong and what to do."""


class Item(dict[str, Any]):
    """An object out of a list, which knows its place in the question."""

    place = ""


def number(question: Question, path: str, low: float = -math.inf, high: float = math.inf) -> float:
    """The number at `path`, which has to be there and to lie between `low` and `high`."""
    return _present(maybe_number(question, path, low, high), question, path)


def maybe_number(
    question: Question, path: str, low: float = -math.inf, high: float = math.inf
) -> float | None:
    value = _at(question, path)
    return None if value is None else _number(value, _place(question, path), low, high)


def numbers(question: Question, path: str, low: float = -math.inf, high: float = math.inf) -> list[float]:
    """The list of numbers at `path`; empty when absent."""
    place = _place(question, path)
    return [_number(v, f"{place}[{i}]", low, high) for i, v in enumerate(_list(question, path, MOST_ITEMS))]


def text(question: Question, path: str) -> str:
    return _present(maybe_text(question, path), question, path)


def maybe_text(question: Question, path: str) -> str | None:
    value = _at(question, path)
    if value is not None and not isinstance(value, str):
        raise BadQuestion(f"{_place(question, path)}: must be text, not {_named(value)}")
    return value


def maybe_choice(question: Question, path: str, choices: Sequence[str]) -> str | None:
    value = maybe_text(question, path)
    if value is not None and value not in choices:
        raise BadQuestion(f"{_place(question, path)}: must be one of {', '.join(choices)}, not {value!r}")
    return value


def shares(question: Question, path: str) -> dict[str, float]:
    """The named fractions at `path`, which have to add to 1."""
    place = _place(question, path)
    found = _object(_present(_at(question, path), question, path), place)
    named = {name: _number(v, f"{place}.{name}", 0, 1) for name, v in found.items() if v is not None}
    total = sum(named.values())
    if abs(total - 1) > SHARE_TOLERANCE:
        raise BadQuestion(f"{place}: the shares must add to 1, they add to {total:g}")
    return named


def items(question: Question, path: str, most: int = MOST_ITEMS) -> list[Item]:
    """The objects in the list at `path`, at most `most`; none when absent."""
    found = []
    for index, value in enumerate(_list(question, path, most)):
        place = f"{_place(question, path)}[{index}]"
        item = Item(_object(value, place))
        item.place = f"{place}."
        found.append(item)
    return found


def _at(question: Question, path: str) -> Any:
    *parents, last = path.split(".")
    node: Any = question
    for depth, name in enumerate(parents, start=1):
        node = node.get(name)
        if node is None:
            return None
        node = _object(node, _place(question, ".".join(parents[:depth])))
    return node.get(last)


def _place(question: Question, path: str) -> str:
    return (question.place if isinstance(question, Item) else "") + path


def _present(value: T | None, question: Question, path: str) -> T:
    if value is None:
        raise BadQuestion(f"{_place(question, path)}: is missing")
    return value


def _number(value: Any, place: str, low: float, high: float) -> float:
    # To Python true is the number 1, to JSON it is not.
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadQuestion(f"{place}: must be a number, not {_named(value)}")
    try:
        found = float(value)
    except OverflowError:
        found = math.inf
    if not math.isfinite(found):
        raise BadQuestion(f"{place}: must be a finite number")
    if found < low:
        raise BadQuestion(f"{place}: must be at least {low:g}, not {found:g}")
    if found > high:
        raise BadQuestion(f"{place}: must be at most {high:g}, not {found:g}")
    return found


def _list(question: Question, path: str, most: int) -> list[Any]:
    value = _at(question, path)
    place = _place(question, path)
    if value is None:
        return []
    if not isinstance(value, list):
        raise BadQuestion(f"{place}: must be a list, not {_named(value)}")
    if len(value) > most:
        raise BadQuestion(f"{place}: at most {most} entries, not {len(value)}; leave out the oldest")
    return value


def _object(value: Any, place: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise BadQuestion(f"{place}: must be an object, not {_named(value)}")
    return value


def _named(value: Any) -> str:
    """What a value is, in JSON's words."""
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    names = {str: "text", list: "a list", int: "a number", float: "a number"}
    return names.get(type(value), "an object")
