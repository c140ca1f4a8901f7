"""What the lots chosen for a pour say: alkali by their certificates, stock lye, how they were kept, what is left."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from curelog import units
from curelog.actions.pour import Weighed, portions_of
from curelog.domain.shelf_life import concerns
from curelog.forms.pour import PourForm
from curelog.models import Lot, Workshop
from curelog.models.shelf import lye_taken_g


@dataclass(frozen=True)
class AlkaliForLots:
    """What the recipe would have weighed out for these fats by their certificates."""

    naoh_g: float
    koh_g: float
    water_g: float


def alkali_for_lots(form: PourForm) -> AlkaliForLots | None:
    """None where no chosen lot has a value of its own, or the weights make no sense yet."""
    choices = [part.choice for part in form.recipe.fats.all()]
    told = zip(form.weighed.fat_from, choices, strict=True)
    if form.superfat is None or not any(lot and lot.certificate_of(choice) for lot, choice in told):
        return None
    sums = form.recipe.mixture_of(portions_of(form.recipe, form.weighed)).work_out()
    return AlkaliForLots(sums.naoh_g, sums.koh_g, sums.water_g)


@dataclass(frozen=True)
class StockLye:
    """How much of a stock lye holds the alkali; `water_g` is then still to be added, below 0 when it holds too much."""

    lot: Lot
    mass_g: float
    water_g: float

    @property
    def excess_g(self) -> float:
        return max(0.0, -self.water_g)


def stock_lye(form: PourForm) -> StockLye | None:
    weighed = form.weighed
    taken = [(lot, mass_g) for lot, mass_g in _lye(weighed) if lot.strength]
    if not taken:
        return None
    water_g = sum(mass_g * (1 - (lot.strength or 0.0)) for lot, mass_g in taken)
    return StockLye(taken[0][0], taken[0][1], weighed.water_g - water_g)


def _lye(weighed: Weighed) -> Iterator[tuple[Lot, float]]:
    for lot in (weighed.lye_from, weighed.koh_from):
        if lot:
            yield lot, lye_taken_g(lot, weighed.naoh_g, weighed.koh_g)


def remarks(form: PourForm, workshop: Workshop) -> list[str]:
    """Each chosen lot's concerns, and whether enough of it is there."""
    lots, taken_g = taken(form.weighed)
    left_g = {each.lot.pk: each.left_g for each in form.shelf}
    words = []
    for key, lot in lots.items():
        words += [f"{lot}: {said}" for said in concerns(lot.keeping, workshop.local(form.now).date())]
        if lot.is_retired:
            words.append(f"{lot} is noted as used up.")
        elif taken_g[key] > left_g.get(key, 0.0) + 0.5:
            shown = units.mass_words(max(0.0, left_g.get(key, 0.0)), workshop.mass_unit, 1)
            words.append(f"Of {lot} only {shown} are left by the pours noted so far.")
    return words


def taken(weighed: Weighed) -> tuple[dict[UUID, Lot], Counter[UUID]]:
    """The lots chosen, and in g what this pour takes from each."""
    told = [
        *zip(weighed.fat_from, weighed.fats_g, strict=True),
        *zip(weighed.additive_from, weighed.additives_g, strict=True),
        *_lye(weighed),
    ]
    lots: dict[UUID, Lot] = {}
    taken_g: Counter[UUID] = Counter()
    for lot, mass_g in told:
        if lot:
            lots[lot.pk] = lot
            taken_g[lot.pk] += mass_g  # type: ignore[assignment]
    return lots, taken_g
