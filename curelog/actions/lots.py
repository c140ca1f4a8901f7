"""Taking lots in, making them here, counting them. Used up, they stay with what was poured of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from curelog.models import Batch, BatchAdditive, BatchFat, Lot, LotPart, Person, StockCount


@dataclass(frozen=True)
class PartTaken:
    """Some of a lot or of a batch, in g."""

    of: Lot | Batch
    mass_g: float


@transaction.atomic
def keep_lot(lot: Lot, parts: Sequence[PartTaken] = ()) -> Lot:
    """A new lot, or one whose particulars are put right. The same key again is the same lot."""
    lot.save()
    lot.parts.all().delete()
    LotPart.objects.bulk_create(
        LotPart(
            lot=lot,
            source=part.of if isinstance(part.of, Lot) else None,
            batch=part.of if isinstance(part.of, Batch) else None,
            mass_g=part.mass_g,
        )
        for part in parts
    )
    _link_earlier_pours(lot)
    return lot


def _link_earlier_pours(lot: Lot) -> None:
    """Pours that named this code before the lot was entered. What they were poured with stays as it was."""
    if lot.kind == Lot.Kind.FAT:
        fats = BatchFat.objects.filter(from_lot=None, lot__iexact=lot.code, facts__name=lot.name)
        fats.update(from_lot=lot)
    elif lot.kind == Lot.Kind.ADDITIVE:
        extras = BatchAdditive.objects.filter(from_lot=None, lot__iexact=lot.code, name__iexact=lot.name)
        extras.update(from_lot=lot)
    elif lot.kind == Lot.Kind.ALKALI:
        first = Batch.objects.filter(lye_from=None, lye_lot__iexact=lot.code, **{f"{lot.key}_g__gt": 0})
        first.filter(koh_lot="", **({"naoh_g": 0} if lot.key == "koh" else {})).update(lye_from=lot)
        if lot.key == "koh":
            Batch.objects.filter(koh_from=None, koh_lot__iexact=lot.code).update(koh_from=lot)


def count_stock(
    lot: Lot, key: UUID, at: datetime, by: Person | None, counted_g: float, note: str = ""
) -> None:
    """Sent twice, it is one count."""
    values = {"lot": lot, "counted_at": at, "by": by, "counted_g": counted_g, "note": note}
    StockCount.objects.get_or_create(pk=key, defaults=values)


def retire_lot(lot: Lot, is_retired: bool) -> None:
    """It is offered no more, or again."""
    lot.is_retired = is_retired
    lot.save(update_fields=["is_retired"])
