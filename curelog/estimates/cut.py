"""`estimate cut`: a pour, its checks and the workshop's past cuts in; the window and its odds out."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import cast, get_args

from curelog.domain.cutting import CutResult, Feel, FirmnessCheck, Gel, Heat, PastCut, PourFacts, cut_window
from curelog.domain.fats import Fat, UnknownFat, find
from curelog.domain.pour_facts import SENSIBLE
from curelog.estimates import (
    Answer,
    BadQuestion,
    Item,
    Question,
    items,
    maybe_choice,
    maybe_number,
    number,
    numbers,
)

MOST_HOURS = 1e5  # eleven years
LEAST_HOURS = 0.01
SHARE_TOLERANCE = 0.01  # shares are often rounded to full per cent


def answer(question: Question) -> Answer:
    """Answers one question; BadQuestion says why it cannot."""
    facts, checks = _facts(question), _checks(question)
    history = [_past_cut(item) for item in items(question, "history")]
    hours = numbers(question, "ask_hours", 0, MOST_HOURS)
    window = cut_window(facts, checks, history)
    asked = [str(hour) for hour in question.get("ask_hours") or ()]
    return {
        "id": question.get("id"),
        "opens_h": asdict(window.opens),
        "closes_h": asdict(window.closes),
        "at": {key: asdict(window.at(hour)) for key, hour in zip(asked, hours, strict=True)},
    }


def _facts(question: Question) -> PourFacts:
    measured = {name: maybe_number(question, name, *limits) for name, limits in SENSIBLE.items()}
    return PourFacts(
        fats=_fats(question),
        gel=cast(Gel | None, maybe_choice(question, "gel", get_args(Gel))),
        heat=cast(Heat | None, maybe_choice(question, "heat", get_args(Heat))),
        **measured,
    )


def _fats(question: Question) -> tuple[tuple[Fat, float], ...]:
    place = _place(question, "fats")
    named = question.get("fats")
    if not isinstance(named, Mapping) or not named:
        raise BadQuestion(f'{place}: an object of shares is wanted, like {{"lard": 0.8, "olive": 0.2}}')
    shares = Item({name: share for name, share in named.items() if share is not None})
    shares.place = f"{place}."
    told = [(_fat(name, place), number(shares, name, 0, 1)) for name in shares]
    total = sum(share for _, share in told)
    if abs(total - 1) > SHARE_TOLERANCE:
        raise BadQuestion(f"{place}: the shares must add to 1, they add to {total:g}")
    return tuple((fat, share / total) for fat, share in told)


def _fat(name: str, place: str) -> Fat:
    try:
        return find(name)
    except UnknownFat as unknown:
        raise BadQuestion(f"{place}: {unknown}") from unknown


def _place(question: Question, path: str) -> str:
    return (question.place if isinstance(question, Item) else "") + path


def _checks(question: Question) -> tuple[FirmnessCheck, ...]:
    return tuple(
        FirmnessCheck(
            number(item, "hours", LEAST_HOURS, MOST_HOURS), cast(Feel, _choice(item, "feel", get_args(Feel)))
        )
        for item in items(question, "checks")
    )


def _past_cut(item: Item) -> PastCut:
    return PastCut(
        facts=_facts(item),
        cut_hours=number(item, "cut_hours", LEAST_HOURS, MOST_HOURS),
        result=cast(CutResult, _choice(item, "result", get_args(CutResult))),
        checks=_checks(item),
    )


def _choice(item: Item, path: str, choices: tuple[str, ...]) -> str:
    found = maybe_choice(item, path, choices)
    if found is None:
        raise BadQuestion(f"{item.place}{path}: is missing; one of {', '.join(choices)}")
    return found
