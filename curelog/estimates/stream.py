"""JSON lines in, JSON lines out: one answer per question, in order, whatever the line holds."""

import json
from collections.abc import Iterable, Iterator
from importlib import import_module
from typing import Any

from curelog.estimates import Answer, BadQuestion

KINDS = ("batch", "cut", "cure", "label")
ID_KEYS = {"cure": "bar_id"}


def answer_lines(kind: str, lines: Iterable[str]) -> Iterator[str]:
    """One line of JSON for each line; what cannot be answered becomes an error object that says why."""
    # Imported here: whoever asks for batches does not wait for the forecast's tables.
    answer = import_module(f"curelog.estimates.{kind}").answer
    id_key = ID_KEYS.get(kind, "id")
    for line_number, line in enumerate(lines, start=1):
        asked = None
        try:
            question, constants = _parse(line, line_number)
            asked = question.get(id_key)
            _refuse(constants)
            yield _as_json(answer(question))
        except BadQuestion as bad:
            yield json.dumps({id_key: asked, "error": str(bad)})
        except Exception as fault:
            # One question that trips over a fault of ours must not cost the answers to all others.
            words = f"this could not be worked out ({type(fault).__name__}: {fault}); please report it"
            yield json.dumps({id_key: asked, "error": words})


def _parse(line: str, line_number: int) -> tuple[dict[str, Any], list[str]]:
    """The question, and the words in it (NaN, Infinity) that Python takes for numbers and JSON does not."""
    if not line.strip():
        raise BadQuestion(f"line {line_number} is empty: put one question on each line")
    constants: list[str] = []
    try:
        question = json.loads(line, parse_constant=constants.append)
    except json.JSONDecodeError as fault:
        words = f"line {line_number} is not JSON: {fault.msg.lower()} at character {fault.pos + 1}"
        raise BadQuestion(words) from fault
    except (ValueError, RecursionError) as fault:
        raise BadQuestion(f"line {line_number} nests too deep or holds too long a number") from fault
    if not isinstance(question, dict):
        raise BadQuestion(f"line {line_number} holds no question: a JSON object in braces is wanted")
    return question, constants


def _refuse(constants: list[str]) -> None:
    if constants:
        raise BadQuestion(f"{constants[0]} is not a number: leave out what is not known, or write null")


def _as_json(answer: Answer) -> str:
    return json.dumps(answer, allow_nan=False)
