"""The pour: the recipe's amounts, as really weighed, become a batch and its loaves."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from curelog.actions.keeping import Told
from curelog.domain.fats import Fat
from curelog.models import Batch, BatchAdditive, BatchFat, Loaf, Mould, Recipe, Workshop


@dataclass(frozen=True)
class Weighed:
    """What went into the pot, in g: fats and additives in the order of the recipe, with their lots."""

    fats_g: Sequence[float]
    naoh_g: float
    koh_g: float
    water_g: float
    additives_g: Sequence[float] = ()
    fat_lots: Sequence[str] = ()
    additive_lots: Sequence[str] = ()
    lye_lot: str = ""


@dataclass(frozen=True)
class Filling:
    """One mould and what went into it. Without a mass the batch is shared out by the moulds' volume."""

    mould: Mould | None
    mass_g: float | None = None


@dataclass(frozen=True)
class Circumstances:
    heat: str
    lye_temperature_c: float | None = None
    fats_temperature_c: float | None = None
    trace_minutes: float | None = None
    room_c: float | None = None


def next_number(poured_at: datetime) -> str:
    """Two digits of the year, a dash, and the count within the year: "26-014"."""
    year = f"{poured_at:%y}"
    taken = Batch.objects.filter(number__startswith=f"{year}-").values_list("number", flat=True)
    counts = [int(digits) for number in taken if (digits := number.split("-", 1)[1][:3]).isdigit()]
    return f"{year}-{max(counts, default=0) + 1:03d}"


@transaction.atomic
def pour(
    recipe: Recipe,
    told: Told,
    number: str,
    weighed: Weighed,
    circumstances: Circumstances,
    fillings: Sequence[Filling],
    workshop: Workshop,
) -> Batch:
    """Copies the recipe into a batch. The same key again gives the stored batch back."""
    known = Batch.objects.filter(pk=told.key).first()
    if known:
        return known
    batch = Batch.objects.create(
        id=told.key,
        number=number,
        recipe=recipe,
        name=recipe.name,
        poured_at=told.at,
        by=told.by,
        note=told.note,
        superfat=recipe.superfat,
        naoh_g=weighed.naoh_g,
        koh_g=weighed.koh_g,
        water_g=weighed.water_g,
        lye_lot=weighed.lye_lot,
        least_cure_days=recipe.least_cure_days,
        settled_pct=recipe.settled_pct or workshop.settled_pct,
        settled_days=recipe.settled_days or workshop.settled_days,
        bar_thickness_mm=recipe.bar_thickness_mm,
        **asdict(circumstances),
    )
    _copy_ingredients(batch, recipe, weighed)
    _fill(batch, fillings)
    return batch


def _copy_ingredients(batch: Batch, recipe: Recipe, weighed: Weighed) -> None:
    fats, additives = list(recipe.fats.all()), list(recipe.additives.all())
    fat_lots = list(weighed.fat_lots) or [""] * len(fats)
    additive_lots = list(weighed.additive_lots) or [""] * len(additives)
    for part, mass_g, lot in zip(fats, weighed.fats_g, fat_lots, strict=True):
        BatchFat.objects.create(batch=batch, facts=fat_facts(part.fat), weighed_g=mass_g, lot=lot)
    for extra, mass_g, lot in zip(additives, weighed.additives_g, additive_lots, strict=True):
        BatchAdditive.objects.create(
            batch=batch, name=extra.name, role=extra.role, water_share=extra.water_share, weighed_g=mass_g, lot=lot
        )


def fat_facts(fat: Fat) -> dict[str, object]:
    """The fat's values as they are today, for keeping with the batch."""
    return {part.name: getattr(fat, part.name) for part in fields(fat)} | {"fatty_acids": dict(fat.fatty_acids)}


def _fill(batch: Batch, fillings: Sequence[Filling]) -> None:
    """One loaf a mould; letters only where there are several."""
    shares = _shares(fillings, batch.poured_g)
    letters = [""] if len(fillings) == 1 else "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    for filling, mass_g, letter in zip(fillings, shares, letters, strict=False):
        mould = filling.mould
        size = {side: getattr(mould, side) if mould else None for side in ("length_mm", "width_mm", "height_mm")}
        cavities = mould.cavities if mould else 0
        Loaf.objects.create(
            id=loaf_key(batch.pk, letter),
            batch=batch,
            letter=letter,
            mould=mould,
            poured_g=mass_g,
            cavities=cavities,
            **size,
        )


def loaf_key(batch_key: UUID, letter: str) -> UUID:
    """Known before the server has answered, so that a loaf poured offline can be told more about."""
    return uuid5(batch_key, letter)


def _shares(fillings: Sequence[Filling], poured_g: float) -> list[float]:
    open_ml = [f.mould.volume_ml if f.mould else 1.0 for f in fillings if f.mass_g is None]
    rest_g = poured_g - sum(f.mass_g or 0.0 for f in fillings)
    return [
        f.mass_g if f.mass_g is not None else rest_g * (f.mould.volume_ml if f.mould else 1.0) / sum(open_ml)
        for f in fillings
    ]
