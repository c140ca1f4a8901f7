"""The pour: the recipe's amounts, as really weighed, become a batch and its loaves."""

import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields, replace
from datetime import date, datetime, timedelta
from typing import Any, TypeVar
from uuid import UUID, uuid5

from django.db import IntegrityError, models, transaction

from curelog.actions.keeping import OtherBody, Told
from curelog.domain.batch import FatPortion
from curelog.domain.fats import Fat
from curelog.domain.mixture import Superfat, superfat_as_weighed
from curelog.models import Batch, BatchAdditive, BatchFat, Loaf, Lot, Mould, Recipe, Workshop
from curelog.models.shelf import portions_from
from curelog.reminders.planning import replan

T = TypeVar("T")
MOST_LOAVES = 26  # a letter each
# A second tap on "poured now" is a little later than the first and still tells of the same pour.
SAME_MOMENT = timedelta(minutes=5)
NOT_COMPARED = {"id", "batch", "facts", "recipe", "received_at", "by", "poured_at"}
# Which lot a code means may have become known meanwhile; the code itself is compared.
NOT_COMPARED |= {"from_lot", "lye_from", "koh_from"}


@dataclass(frozen=True)
class Weighed:
    """What went into the pot, in g: fats and additives in the order of the recipe, with the codes of their lots, and
    those of the lots that are known. `koh_lot` is told where there are two alkalis."""

    fats_g: Sequence[float]
    naoh_g: float
    koh_g: float
    water_g: float
    additives_g: Sequence[float] = ()
    fat_lots: Sequence[str] = ()
    additive_lots: Sequence[str] = ()
    lye_lot: str = ""
    koh_lot: str = ""
    fat_from: Sequence[Lot | None] = ()
    additive_from: Sequence[Lot | None] = ()
    lye_from: Lot | None = None
    koh_from: Lot | None = None

    @property
    def lots(self) -> list[Lot]:
        told = (*self.fat_from, *self.additive_from, self.lye_from, self.koh_from)
        return [lot for lot in told if lot]

    @property
    def poured_g(self) -> float:
        return sum(self.fats_g) + self.naoh_g + self.koh_g + self.water_g + sum(self.additives_g)


@dataclass(frozen=True)
class Filling:
    """One mould and what went into it. Without a mass the batch is shared out by the moulds' volume."""

    mould: Mould | None
    mass_g: float | None = None

    @property
    def volume_ml(self) -> float:
        return self.mould.volume_ml if self.mould else 1.0


@dataclass(frozen=True)
class Circumstances:
    heat: str
    lye_temperature_c: float | None = None
    fats_temperature_c: float | None = None
    trace_minutes: float | None = None
    room_c: float | None = None


class NumberTaken(Exception):
    """Another batch has this number. Nothing was kept."""


@dataclass
class Pot:
    """A batch with its parts before, or after, they are stored."""

    batch: Batch
    parts: Sequence[models.Model]

    @property
    def content(self) -> list[tuple[Any, ...]]:
        """What was typed, without who sent it and when it came."""
        return [_values(row) for row in (self.batch, *self.parts)]

    @classmethod
    def stored(cls, batch: Batch) -> "Pot":
        return cls(batch, [*batch.fats.all(), *batch.additives.all(), *batch.loaves.order_by("letter")])

    def store(self) -> None:
        self.batch.save(force_insert=True)
        for row in self.parts:
            row.save(force_insert=True)


def _values(row: models.Model) -> tuple[Any, ...]:
    return tuple(
        getattr(row, field.attname) for field in row._meta.concrete_fields if field.name not in NOT_COMPARED
    )


def next_number(poured_at: datetime) -> str:
    """Two digits of the year on the given clock, a dash, and the count within the year: "26-014"."""
    year = f"{poured_at:%y}"
    taken = Batch.objects.filter(number__startswith=f"{year}-").values_list("number", flat=True)
    counts = [int(found[1]) for number in taken if (found := re.match(r"\d\d-(\d+)", number, re.ASCII))]
    return f"{year}-{max(counts, default=0) + 1:03d}"


def pour(
    recipe: Recipe,
    told: Told,
    number: str,
    weighed: Weighed,
    circumstances: Circumstances,
    fillings: Sequence[Filling],
    workshop: Workshop,
) -> Batch:
    """Copies the recipe into a batch. The same key and content again gives the stored batch back.

    Raises OtherBody for a known key with other content and NumberTaken for a number that another batch has.
    """
    batch = _batch(recipe, told, number, weighed, circumstances, workshop)
    loaves = loaves_of(batch, fillings, weighed.poured_g)
    with transaction.atomic():
        kept = keep_pot(Pot(batch, [*_ingredients(batch, recipe, weighed), *loaves]))
        note_opened(weighed, workshop.local(told.at).date())
    return kept


def keep_pot(pot: Pot) -> Batch:
    """Stores it once and plans its loaves. Raises as `pour` does."""
    batch = pot.batch
    try:
        with transaction.atomic():
            if known := Batch.objects.filter(pk=batch.pk).first():
                return _same(known, pot)
            pot.store()
            for loaf in batch.loaves.all():
                replan(loaf, batch.poured_at)
    except IntegrityError as error:
        # The same key from a second tap at the same instant, or the number.
        if known := Batch.objects.filter(pk=batch.pk).first():
            return _same(known, pot)
        if Batch.objects.filter(number=batch.number).exists():
            raise NumberTaken from error
        raise
    return batch


def note_opened(weighed: Weighed, day: date) -> None:
    """What is poured from is open: the next pour can propose it."""
    Lot.objects.filter(pk__in=[lot.pk for lot in weighed.lots], opened_on=None).update(opened_on=day)


def _same(known: Batch, pot: Pot) -> Batch:
    is_same_moment = abs(known.poured_at - pot.batch.poured_at) < SAME_MOMENT
    if not is_same_moment or Pot.stored(known).content != pot.content:
        raise OtherBody
    return known


def _batch(
    recipe: Recipe,
    told: Told,
    number: str,
    weighed: Weighed,
    circumstances: Circumstances,
    workshop: Workshop,
) -> Batch:
    return Batch(
        id=told.key,
        number=number,
        recipe=recipe,
        name=recipe.name,
        poured_at=told.at,
        by=told.by,
        note=told.note,
        superfat=superfat_of(recipe, weighed).share,
        naoh_g=weighed.naoh_g,
        koh_g=weighed.koh_g,
        water_g=weighed.water_g,
        lye_lot=weighed.lye_lot,
        koh_lot=weighed.koh_lot,
        lye_from=weighed.lye_from,
        koh_from=weighed.koh_from,
        least_cure_days=recipe.least_cure_days,
        settled_pct=recipe.settled_pct or workshop.settled_pct,
        settled_days=recipe.settled_days or workshop.settled_days,
        bar_thickness_mm=recipe.bar_thickness_mm,
        **asdict(circumstances),
    )


def superfat_of(recipe: Recipe, weighed: Weighed) -> Superfat:
    """What the alkali leaves of the fats, both as weighed."""
    return superfat_as_weighed(portions_of(recipe, weighed), weighed.naoh_g, weighed.koh_g, recipe.alkali)


def portions_of(recipe: Recipe, weighed: Weighed) -> list[FatPortion]:
    """The fats as weighed, with the values of their lots."""
    portions = portions_from(recipe, _one_each(weighed.fat_from, recipe.portions, None))
    return [replace(portion, mass_g=mass_g) for portion, mass_g in zip(portions, weighed.fats_g, strict=True)]


def _one_each(told: Sequence[T], parts: Sequence[object], usual: T) -> list[T]:
    """Lots are told for every part or for none."""
    return list(told) or [usual] * len(parts)


def _ingredients(batch: Batch, recipe: Recipe, weighed: Weighed) -> list[models.Model]:
    return [*_fats(batch, recipe, weighed), *_additives(batch, recipe, weighed)]


def _fats(batch: Batch, recipe: Recipe, weighed: Weighed) -> list[BatchFat]:
    portions = portions_of(recipe, weighed)
    codes, lots = _one_each(weighed.fat_lots, portions, ""), _one_each(weighed.fat_from, portions, None)
    return [
        BatchFat(batch=batch, facts=fat_facts(part.fat), weighed_g=part.mass_g, lot=code, from_lot=lot)
        for part, code, lot in zip(portions, codes, lots, strict=True)
    ]


def _additives(batch: Batch, recipe: Recipe, weighed: Weighed) -> list[BatchAdditive]:
    extras = list(recipe.additives.all())
    codes, lots = _one_each(weighed.additive_lots, extras, ""), _one_each(weighed.additive_from, extras, None)
    return [
        BatchAdditive(
            batch=batch,
            name=extra.name,
            role=extra.role,
            water_share=extra.water_share,
            weighed_g=mass_g,
            lot=code,
            from_lot=lot,
        )
        for extra, mass_g, code, lot in zip(extras, weighed.additives_g, codes, lots, strict=True)
    ]


def fat_facts(fat: Fat) -> dict[str, object]:
    """The fat's values as they are today, for keeping with the batch."""
    return {part.name: getattr(fat, part.name) for part in fields(fat)} | {
        "fatty_acids": dict(fat.fatty_acids)
    }


def loaves_of(batch: Batch, fillings: Sequence[Filling], poured_g: float) -> list[models.Model]:
    """One loaf a mould; letters only where there are several."""
    masses_g = shared_out(fillings, poured_g)
    letters = [""] if len(fillings) == 1 else "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[: len(fillings)]
    return [_loaf(batch, *filled) for filled in zip(fillings, masses_g, letters, strict=True)]


def _loaf(batch: Batch, filling: Filling, mass_g: float, letter: str) -> Loaf:
    mould = filling.mould
    size = {side: getattr(mould, side) if mould else None for side in ("length_mm", "width_mm", "height_mm")}
    return Loaf(
        id=loaf_key(batch.pk, letter),
        batch=batch,
        letter=letter,
        mould=mould,
        poured_g=mass_g,
        cavities=mould.cavities if mould else 0,
        **size,
    )


def loaf_key(batch_key: UUID, letter: str) -> UUID:
    """Known before the server has answered, so that a loaf poured offline can be told more about."""
    return uuid5(batch_key, letter)


def shared_out(fillings: Sequence[Filling], poured_g: float) -> list[float]:
    """Mass of each loaf in g: as told, or what the others leave, by volume."""
    rest_g = poured_g - sum(filling.mass_g or 0.0 for filling in fillings)
    open_ml = sum(filling.volume_ml for filling in fillings if filling.mass_g is None)
    return [rest_g * f.volume_ml / open_ml if f.mass_g is None else f.mass_g for f in fillings]
