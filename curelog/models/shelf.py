"""The lots at hand: what is left of each, what to look at, and which lot a code means."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from django.db.models import QuerySet

from curelog.domain.batch import FatPortion
from curelog.domain.fats import Fat, certified
from curelog.domain.mixture import Mixture
from curelog.domain.shelf_life import concerns, urgency
from curelog.models.loaves import Batch, BatchAdditive, BatchFat
from curelog.models.lots import Lot, LotPart, StockCount
from curelog.models.recipes import AdditiveRole, Recipe

Fits = Callable[[Lot], bool]


def with_parts(lots: QuerySet[Lot]) -> QuerySet[Lot]:
    return lots.select_related("own").prefetch_related("parts__source__own", "parts__batch")


@dataclass(frozen=True)
class Use:
    """Some of a lot that went into something, and when."""

    lot: UUID
    at: datetime
    mass_g: float


@dataclass(frozen=True)
class ShelfLot:
    """`left_g` is below 0 when more was taken than came in: a pour or a count is missing or mistyped."""

    lot: Lot
    left_g: float
    concerns: tuple[str, ...] = ()


def on_shelf(lots: Iterable[Lot], today: date) -> list[ShelfLot]:
    """Most urgent first. Of lots loaded by `with_parts`; the number of queries does not depend on theirs."""
    ordered = sorted(lots, key=lambda lot: urgency(lot.keeping))
    left_g = left_of(ordered)
    return [ShelfLot(lot, left_g[lot.pk], concerns(lot.keeping, today)) for lot in ordered]


def open_lots(today: date) -> list[ShelfLot]:
    return on_shelf(with_parts(Lot.objects.filter(is_retired=False)), today)


def left_of(lots: Iterable[Lot]) -> dict[UUID, float]:
    """In g: what came in, or was last counted, less what was taken since."""
    known = {lot.pk: lot for lot in lots}
    last = {count.lot_id: count for count in StockCount.objects.filter(lot__in=known)}
    taken: dict[UUID, float] = defaultdict(float)
    for use in uses(known):
        if use.lot not in last or use.at > last[use.lot].counted_at:
            taken[use.lot] += use.mass_g
    start = {key: last[key].counted_g if key in last else lot.received_g for key, lot in known.items()}
    return {key: start_g - taken[key] for key, start_g in start.items()}


def uses(lots: dict[UUID, Lot]) -> Iterator[Use]:
    """Everything that was taken from these lots."""
    weighed = "from_lot", "batch__poured_at", "weighed_g"
    for row in BatchFat.objects.filter(from_lot__in=lots).order_by().values_list(*weighed):
        yield Use(*row)
    for row in BatchAdditive.objects.filter(from_lot__in=lots).order_by().values_list(*weighed):
        yield Use(*row)
    for column in ("lye_from", "koh_from"):
        taken = Batch.objects.filter(**{f"{column}__in": lots}).order_by()
        for lot, at, naoh_g, koh_g in taken.values_list(column, "poured_at", "naoh_g", "koh_g"):
            yield Use(lot, at, lye_taken_g(lots[lot], naoh_g, koh_g))
    parts = LotPart.objects.filter(source__in=lots).order_by()
    for row in parts.values_list("source", "lot__made_at", "mass_g"):
        yield Use(*row)


def lye_taken_g(lot: Lot, naoh_g: float, koh_g: float) -> float:
    """Of dry alkali its own mass; of stock lye all that holds so much alkali."""
    alkali_g = koh_g if lot.key == "koh" else naoh_g
    return alkali_g / lot.strength if lot.strength else alkali_g


def fits_fat(choice: str) -> Fits:
    """The fat itself, or a premix that holds it."""

    def fits(lot: Lot) -> bool:
        if lot.kind == Lot.Kind.MIX:
            return any(part.source and part.source.choice == choice for part in lot.parts.all())
        return lot.kind == Lot.Kind.FAT and lot.choice == choice

    return fits


def fits_alkali(key: str) -> Fits:
    return lambda lot: lot.kind in (Lot.Kind.ALKALI, Lot.Kind.LYE) and lot.key == key


def fits_additive(name: str, role: str) -> Fits:
    """By its name; trimmings go in under any name of no other role."""

    def fits(lot: Lot) -> bool:
        if lot.kind == Lot.Kind.SOAP:
            return role == AdditiveRole.OTHER
        return lot.kind == Lot.Kind.ADDITIVE and lot.name.casefold() == name.casefold()

    return fits


def meant_by(code: str, fits: Fits) -> Lot | None:
    """The lot of this code, used up or not: a pour that waited on a phone still means it."""
    named = with_parts(Lot.objects.filter(code__iexact=code)) if code else []
    return next(iter(sorted(filter(fits, named), key=lambda lot: lot.is_made_here)), None)


def in_use(offered: Iterable[ShelfLot]) -> Lot | None:
    """The one that is open. With several open nobody can know."""
    opened = [each.lot for each in offered if each.lot.opened_on]
    return opened[0] if len(opened) == 1 else None


def fat_from(fat: Fat, choice: str, lot: Lot | None) -> Fat:
    """By the lot's certificate, where it has one. `choice` names the fat as recipes do."""
    value = lot.certificate_of(choice) if lot else None
    return certified(fat, value) if value else fat


def portions_from(recipe: Recipe, lots: Sequence[Lot | None]) -> list[FatPortion]:
    """The recipe's fats with the values of their lots, one lot or none for each."""
    return [
        replace(portion, fat=fat_from(portion.fat, part.choice, lot))
        for portion, part, lot in zip(recipe.portions, recipe.fats.all(), lots, strict=True)
    ]


def mixture_with(recipe: Recipe, lots: Sequence[Lot | None]) -> Mixture:
    return recipe.mixture_of(portions_from(recipe, lots))
