"""What a pour form begins with: the recipe's amounts, and the moulds and heat of its last pour."""

import uuid
from collections.abc import Sequence
from typing import Any

from django.utils import timezone

from curelog.actions.pour import next_number
from curelog.models import Batch, Heat, Lot, Mould, Recipe
from curelog.models.shelf import ShelfLot, fits_fat, in_use, mixture_with


def usual(recipe: Recipe, last: Batch | None, shelf: Sequence[ShelfLot]) -> dict[str, Any]:
    """To a tenth of a gram. The alkali goes by the lots that are open."""
    fats, additives = list(recipe.fats.all()), list(recipe.additives.all())
    sums = mixture_with(recipe, lots_in_use(recipe, shelf)).work_out()
    initial: dict[str, Any] = {
        "key": uuid.uuid4(),
        "number": next_number(timezone.localtime()),
        "naoh_g": round(sums.naoh_g, 1),
        "koh_g": round(sums.koh_g, 1),
        "water_g": round(sums.water_g, 1),
        "heat": last.heat if last else Heat.NONE,
    }
    initial |= {f"fat_{row}": round(part.mass_g, 1) for row, part in enumerate(fats, start=1)}
    initial |= {f"additive_{row}": round(part.mass_g, 1) for row, part in enumerate(additives, start=1)}
    return initial | {f"mould_{row}": mould for row, mould in enumerate(usual_moulds(last), start=1)}


def lots_in_use(recipe: Recipe, shelf: Sequence[ShelfLot]) -> list[Lot | None]:
    """Of each fat the lot that is open, when there is just one."""
    fits = [fits_fat(part.choice) for part in recipe.fats.all()]
    return [in_use([each for each in shelf if fits_one(each.lot)]) for fits_one in fits]


def usual_moulds(last: Batch | None) -> list[Mould]:
    loaves = last.loaves.all() if last else []
    moulds = [loaf.mould for loaf in loaves if loaf.mould and not loaf.mould.is_retired]
    return moulds or list(Mould.objects.filter(is_retired=False)[:1])
