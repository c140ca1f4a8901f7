"""`estimate cure`: a bar, its weighings, its room and the workshop's past in; settled day and weights out."""

from collections.abc import Iterable
from itertools import pairwise

from curelog.domain.drying import (
    BarSeries,
    BarSize,
    CureForecast,
    DryingQuestion,
    DryingRecipe,
    GelSeen,
    HandlingStep,
    NoForecast,
    PastBar,
    RoomDay,
    SettledRule,
    Weighing,
    forecast,
)
from curelog.estimates import (
    Answer,
    BadQuestion,
    Item,
    Question,
    items,
    maybe_choice,
    maybe_number,
    maybe_text,
    number,
    numbers,
)

ASKED_DAYS = (42, 56, 90, 180)
LATEST_DAY = 3650.0
HEAVIEST_G = 100_000.0
LONGEST_MM = 2_000.0
MOST_SISTERS = 40
SCALE_STEPS_G = (1.0, 0.1, 0.01)


def answer(question: Question) -> Answer:
    """Answers one question; BadQuestion says why it cannot."""
    found = forecast(_asked(question))
    if isinstance(found, NoForecast):
        raise BadQuestion(f"{found.reason}: {found.remedy}")
    return _answered(question, found)


def _answered(question: Question, found: CureForecast) -> Answer:
    return {
        "bar_id": question.get("bar_id"),
        "ready_day": found.settled_day.as_dict(),
        "weight_g_at": {str(day): found.weight_at(day).as_dict() for day in ASKED_DAYS},
        "doubtful": [doubt.day for doubt in found.doubtful if doubt.bar_id == "target"],
    }


def _asked(question: Question) -> DryingQuestion:
    # The caller's names may be missing or repeat, and their order must not matter: bars go by what they weighed.
    weighings = _weighings(question)
    target = BarSeries("target", _size(question), weighings, _steps(question))
    sisters = sorted(
        ((_weighings(item), _size(item)) for item in items(question, "sisters", MOST_SISTERS)),
        key=lambda sister: [(weighing.day, weighing.weight_g) for weighing in sister[0]],
    )
    known = [BarSeries(f"sister {n}", size, told) for n, (told, size) in enumerate(sisters) if told]
    recipe = _recipe(question)
    asked_on = maybe_number(question, "info_day", 0, LATEST_DAY) or 0.0
    return DryingQuestion(
        now_day=max([asked_on, *(w.day for bar in (target, *known) for w in bar.weighings)]),
        recipe=recipe,
        bars=(target, *known),
        target="target",
        climate=_climate(question),
        history=tuple(_past_bar(item, recipe) for item in items(question, "history")),
        resolution_g=_step_g(question, weighings),
        rule=_rule(question),
    )


def _recipe(question: Question, stand_in: DryingRecipe | None = None) -> DryingRecipe:
    """The recipe at `recipe`; a past loaf that names no water is taken to be of the one asked about."""
    limits = ("recipe.water_frac", 0.02, 0.7)
    share = maybe_number(question, *limits) if stand_in else number(question, *limits)
    if share is None and stand_in:
        return stand_in
    oil = maybe_text(question, "recipe.oil")
    return DryingRecipe(
        water_share=share or 0.0,
        oil="_".join(oil.lower().replace("-", " ").split()) if oil else None,
        superfat=maybe_number(question, "recipe.superfat", -1, 1),
        gel=_gel(question),
        days_pour_to_cut=_or(maybe_number(question, "recipe.days_pour_to_cut", 0, 365), 1.0),
    )


def _gel(question: Question) -> GelSeen | bool | None:
    recipe = question.get("recipe") or {}
    if isinstance(recipe.get("gel"), bool | int):
        return bool(recipe["gel"])
    return maybe_choice(question, "recipe.gel", ("none", "partial", "full"))  # type: ignore[return-value]


def _size(question: Question) -> BarSize | None:
    told = question.get("dims_mm")
    if told is None or (isinstance(told, list) and (not told or None in told)):
        return None
    sides = numbers(question, "dims_mm", 1, LONGEST_MM)
    if len(sides) != 3:
        raise BadQuestion(f"dims_mm: three sides are wanted, length, width and thickness, not {len(sides)}")
    return BarSize(*sides)


def _weighings(question: Question) -> tuple[Weighing, ...]:
    found = tuple(
        Weighing(number(item, "day", 0, LATEST_DAY), number(item, "weight_g", 0.01, HEAVIEST_G))
        for item in items(question, "readings")
    )
    _in_order(question, "readings", (weighing.day for weighing in found))
    return found


def _climate(question: Question) -> tuple[RoomDay, ...]:
    """The sensor's days; a day without humidity tells nothing, one without temperature is taken as 20 C."""
    days = []
    for item in items(question, "climate"):
        day, rh = number(item, "day", -LATEST_DAY, LATEST_DAY), maybe_number(item, "rh", 0, 100)
        temp_c = maybe_number(item, "temp_c", -30, 60)
        if rh is not None:
            days.append(RoomDay(day, rh, _or(temp_c, 20.0)))
    _in_order(question, "climate", (day.day for day in days))
    return tuple(days)


def _steps(question: Question) -> tuple[HandlingStep, ...]:
    return tuple(
        HandlingStep(
            day=number(item, "day", 0, LATEST_DAY),
            kind=maybe_text(item, "kind") or "planed",
            loss_g=maybe_number(item, "loss_g", 0, HEAVIEST_G),
        )
        for item in items(question, "steps")
    )


def _past_bar(item: Item, recipe: DryingRecipe) -> PastBar:
    weighings = _weighings(item)
    rh, temp_c = (
        maybe_number(item, "climate_mean.rh", 0, 100),
        maybe_number(item, "climate_mean.temp_c", -30, 60),
    )
    return PastBar(
        bar_id=item.place,
        loaf=maybe_text(item, "loaf") or item.place,
        recipe=_recipe(item, recipe),
        size=_size(item),
        resolution_g=_step_g(item, weighings),
        weighings=weighings,
        climate_mean=None if rh is None and temp_c is None else (rh, temp_c),
    )


def _step_g(question: Question, weighings: Iterable[Weighing]) -> float:
    """The scale's step; when it is not told, the widest that all weights are whole steps of."""
    told = maybe_number(question, "resolution_g", 0.0001, 1000)
    if told is not None:
        return told
    weights = [weighing.weight_g for weighing in weighings]
    fitting = [step for step in SCALE_STEPS_G if all(abs(w / step - round(w / step)) < 1e-6 for w in weights)]
    return fitting[0] if fitting else SCALE_STEPS_G[-1]


def _rule(question: Question) -> SettledRule:
    kind = maybe_text(question, "rule.kind")
    if kind not in (None, "trail"):
        raise BadQuestion(f'rule.kind: only "trail" (trailing loss) is known, not {kind!r}')
    pct = maybe_number(question, "rule.pct", 0.05, 50)
    return SettledRule(_or(pct, 4.0), _or(maybe_number(question, "rule.days", 1, 365), 28.0))


def _in_order(question: Question, path: str, days: Iterable[float]) -> None:
    place = question.place if isinstance(question, Item) else ""
    for before, after in pairwise(days):
        if after < before:
            raise BadQuestion(f"{place}{path}: day {after:g} comes after day {before:g}; put them in order")


def _or(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value
