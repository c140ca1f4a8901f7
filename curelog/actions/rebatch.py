"""Soap melted again: a batch like any other, of soap and water instead of fats and lye."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import uuid5

from django.db import transaction

from curelog.actions.keeping import Told
from curelog.actions.lots import PartTaken, keep_lot
from curelog.actions.pour import Filling, Pot, keep_pot, loaves_of
from curelog.models import Batch, BatchAdditive, Lot, Workshop


@dataclass(frozen=True)
class Melted:
    """`soap`: lots of trimmings, or batches of which some was taken. Water that was added, in g."""

    name: str
    soap: Sequence[PartTaken]
    water_g: float


@transaction.atomic
def rebatch(told: Told, number: str, melted: Melted, filling: Filling, workshop: Workshop) -> Batch:
    """The same key and content again gives the stored batch back. Raises as `pour` does."""
    batch = Batch(
        id=told.key,
        number=number,
        name=melted.name,
        poured_at=told.at,
        by=told.by,
        note=told.note,
        superfat=_superfat(melted.soap),
        water_g=melted.water_g,
        settled_pct=workshop.settled_pct,
        settled_days=workshop.settled_days,
    )
    soap = [_soap(batch, part) for part in melted.soap]
    poured_g = melted.water_g + sum(part.mass_g for part in melted.soap)
    return keep_pot(Pot(batch, [*soap, *loaves_of(batch, [filling], poured_g)]))


def _soap(batch: Batch, part: PartTaken) -> BatchAdditive:
    lot = part.of if isinstance(part.of, Lot) else _lot_of(batch, part.of, part.mass_g)
    return BatchAdditive(
        batch=batch,
        name=lot.name,
        weighed_g=part.mass_g,
        water_share=_water_share(lot),
        lot=lot.code,
        from_lot=lot,
    )


def _lot_of(batch: Batch, source: Batch, mass_g: float) -> Lot:
    """Bars of a batch, cut up for the pot, become a lot that is used up at once: the tracing goes through lots."""
    lot = Lot(
        id=uuid5(batch.pk, str(source.pk)),
        kind=Lot.Kind.SOAP,
        name=f"Soap of batch {source}",
        code=f"{source} in {batch}",
        received_g=mass_g,
        is_retired=True,
        made_at=batch.poured_at,
        made_by=batch.by,
    )
    known = Lot.objects.filter(pk=lot.pk).first()
    return known or keep_lot(lot, [PartTaken(source, mass_g)])


def _batches_in(lot: Lot) -> list[tuple[Batch, float]]:
    return [(part.batch, part.mass_g) for part in lot.parts.select_related("batch") if part.batch]


def _water_share(lot: Lot) -> float:
    """As it was poured, the most it can lose: how dry it was by now, nobody weighed."""
    batches = _batches_in(lot)
    whole_g = sum(mass_g for _, mass_g in batches)
    return sum(batch.water_share * mass_g for batch, mass_g in batches) / whole_g if whole_g else 0.0


def _superfat(soap: Sequence[PartTaken]) -> float:
    """The mean of what was melted."""
    told = [
        (batch.superfat, mass_g)
        for part in soap
        for batch, mass_g in (_batches_in(part.of) if isinstance(part.of, Lot) else [(part.of, part.mass_g)])
    ]
    whole_g = sum(mass_g for _, mass_g in told)
    return sum(share * mass_g for share, mass_g in told) / whole_g if whole_g else 0.0
