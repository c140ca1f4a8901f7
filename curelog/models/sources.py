"""What a batch was made of, back through premixes, stock lye and trimmings to what was delivered."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from curelog.models.loaves import Batch
from curelog.models.lots import ALKALI_NAMES, Lot, LotPart
from curelog.models.shelf import lye_taken_g, with_parts


@dataclass(frozen=True)
class Source:
    """`depth` 0 went into the pot itself, 1 into what went into it, and so on. A code without a lot was only written
    down; a batch is that of trimmings."""

    depth: int
    name: str
    mass_g: float
    code: str = ""
    lot: Lot | None = None
    batch: Batch | None = None


def sources_of(batch: Batch) -> list[Source]:
    """In the order of the pot, what made a lot right after it."""
    return [source for first in _in_the_pot(batch) for source in (first, *_parts_of(first, frozenset()))]


def _in_the_pot(batch: Batch) -> Iterator[Source]:
    for fat in batch.fats.select_related("from_lot").all():
        yield Source(0, fat.facts["name"], fat.weighed_g, fat.lot, fat.from_lot)
    yield from _alkali(batch)
    for extra in batch.additives.select_related("from_lot").all():
        yield Source(0, extra.name, extra.weighed_g, extra.lot, extra.from_lot)


def _alkali(batch: Batch) -> Iterator[Source]:
    """One code where there is one alkali; of two the second has its own."""
    codes = [(batch.lye_lot, batch.lye_from), (batch.koh_lot, batch.koh_from)]
    keys = [key for key in ALKALI_NAMES if getattr(batch, f"{key}_g")]
    for key, (code, lot) in zip(keys, codes, strict=False):
        mass_g = getattr(batch, f"{key}_g")
        yield Source(
            0, ALKALI_NAMES[key], lye_taken_g(lot, batch.naoh_g, batch.koh_g) if lot else mass_g, code, lot
        )


def _parts_of(source: Source, seen: frozenset[Lot | Batch]) -> Iterator[Source]:
    """Down to the deliveries, in the masses that went into this batch. Nothing is told as a part of itself, should two
    lots have been entered in a ring."""
    whole = source.lot or source.batch
    if whole is None or whole in seen:
        return
    for made in _of_lot(source) if source.lot else _of_batch(source):
        yield made
        yield from _parts_of(made, seen | {whole})


def _of_lot(source: Source) -> Iterator[Source]:
    assert source.lot
    lot = with_parts(Lot.objects.filter(pk=source.lot.pk)).get()
    for part, mass_g in _shares(lot, source):
        name = part.source.name if part.source else f"Soap of batch {part.batch}"
        code = part.source.code if part.source else ""
        yield Source(source.depth + 1, name, mass_g, code, part.source, part.batch)


def _of_batch(source: Source) -> Iterator[Source]:
    """What went into that pot, in the share of it that this soap is."""
    assert source.batch
    for inside in _in_the_pot(source.batch):
        share = source.mass_g / source.batch.poured_g
        yield replace(inside, depth=source.depth + 1, mass_g=inside.mass_g * share)


def _shares(lot: Lot, taken: Source) -> Iterator[tuple[LotPart, float]]:
    """Of premixed fats only what is the fat that was taken; of anything else each part in its proportion."""
    parts, is_mix = list(lot.parts.all()), lot.kind == Lot.Kind.MIX
    same = [part for part in parts if is_mix and part.source and part.source.name == taken.name]
    whole_g = sum(part.mass_g for part in same) or lot.received_g
    for part in same or parts:
        yield part, taken.mass_g * part.mass_g / whole_g
