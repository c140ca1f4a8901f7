"""`estimate label`: bar weights and what will be left of them in, the weight to declare out."""

from itertools import pairwise

from curelog.domain.net_rules import RULES, RuleName
from curelog.domain.netweight import Left, net_weight
from curelog.estimates import Answer, BadQuestion, Question, maybe_choice, maybe_number, number, numbers

HEAVIEST_BAR_G = 100_000.0
DAYS = ("weighed_on_day", "declare_from_day", "hold_until_day")


def answer(question: Question) -> Answer:
    """Answers one question; BadQuestion says why it cannot."""
    bars_g = numbers(question, "bar_weights_g", 0.1, HEAVIEST_BAR_G)
    if not bars_g:
        raise BadQuestion("bar_weights_g: at least one bar has to be weighed")
    _check_days(question)
    step_g = maybe_number(question, "step_g", 0.01, 1000)
    chance = maybe_number(question, "chance", 0.5, 0.999)
    try:
        found = net_weight(bars_g, _left(question), _rule(question), step_g or 1.0, chance or 0.95)
    except ValueError as error:
        raise BadQuestion(str(error)) from error
    return {
        "id": question.get("id"),
        "declare_g": found.declare_g,
        "basis": found.basis,
        "expected_mean_g": found.expected_mean_g,
        "share_below": found.share_below,
        "caution": found.caution,
    }


def _rule(question: Question) -> RuleName:
    name = maybe_choice(question, "rule", tuple(RULES))
    for rule in RULES:
        if rule == name:
            return rule
    raise BadQuestion(f"rule: is missing; one of {', '.join(RULES)}")


def _left(question: Question) -> Left:
    shares = [number(question, f"left.{point}", 0.01, 1.5) for point in ("p05", "p50", "p95")]
    if shares != sorted(shares):
        raise BadQuestion("left: p05, p50 and p95 must not fall")
    return Left(*shares)


def _check_days(question: Question) -> None:
    told = [day for name in DAYS if (day := maybe_number(question, name)) is not None]
    if any(later < earlier for earlier, later in pairwise(told)):
        raise BadQuestion(f"{', '.join(DAYS)}: must follow each other")
