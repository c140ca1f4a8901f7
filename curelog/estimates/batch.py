"""`estimate batch`: a recipe in, amounts to weigh out and the batch's make-up."""

from dataclasses import asdict

from curelog.domain.batch import (
    Additive,
    Alkali,
    BatchError,
    FatPortion,
    Water,
    WaterMode,
    work_out,
)
from curelog.domain.fats import UnknownFat, find
from curelog.estimates import (
    Answer,
    BadQuestion,
    Item,
    Question,
    items,
    maybe_number,
    maybe_text,
    number,
    text,
)

WATER_MODES: tuple[WaterMode, ...] = ("lye_concentration", "water_to_lye", "percent_of_fats", "g")
TOLD = (
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
)


def answer(question: Question) -> Answer:
    """Answers one question; BadQuestion says why it cannot."""
    try:
        batch = work_out(
            [_portion(item) for item in items(question, "fats")],
            number(question, "superfat"),
            _alkali(question),
            _water(question),
            [_additive(item) for item in items(question, "additives")],
        )
    except BatchError as error:
        raise BadQuestion(str(error)) from error
    facts = asdict(batch)
    told = {name: facts[name] for name in TOLD}
    return {"id": question.get("id"), **told, "cautions": [caution.words for caution in batch.cautions]}


def _portion(item: Item) -> FatPortion:
    try:
        fat = find(text(item, "fat"))
    except UnknownFat as unknown:
        raise BadQuestion(f"{item.place}fat: {unknown}") from unknown
    return FatPortion(fat, number(item, "g", low=0), maybe_number(item, "free_fatty_acids", 0, 1) or 0.0)


def _alkali(question: Question) -> Alkali:
    naoh = maybe_number(question, "alkali.naoh", 0, 1)
    koh = maybe_number(question, "alkali.koh", 0, 1)
    if naoh is None and koh is None:
        naoh = 1.0
    return Alkali(
        naoh_share=naoh or 0.0,
        koh_share=koh or 0.0,
        naoh_purity=_purity(question, "alkali.naoh_purity"),
        koh_purity=_purity(question, "alkali.koh_purity"),
    )


def _purity(question: Question, path: str) -> float:
    purity = maybe_number(question, path, 0, 1)
    return 1.0 if purity is None else purity


def _water(question: Question) -> Water:
    told = {mode: maybe_number(question, f"water.{mode}", low=0) for mode in WATER_MODES}
    given = [Water(mode, value) for mode, value in told.items() if value is not None]
    if len(given) != 1:
        raise BadQuestion(f"water: give one of {', '.join(WATER_MODES)}, not {len(given)} of them")
    return given[0]


def _additive(item: Item) -> Additive:
    name = maybe_text(item, "name") or "additive"
    return Additive(name, number(item, "g", low=0), maybe_number(item, "water_share", 0, 1) or 0.0)
