"""What a batch's label lists: its own ingredients, and those that soap melted or stirred into it brought along."""

import re
from dataclasses import replace

from curelog.domain.ingredients import (
    Ingredient,
    additives_named,
    as_finished,
    as_poured,
    in_order,
    scaled_to,
)
from curelog.models.loaves import Batch, BatchAdditive
from curelog.models.lots import DEEPEST, Lot
from curelog.models.poured import poured_of
from curelog.models.recipes import RecipeAdditive


def ingredients_of(batch: Batch, left: float | None = None, depth: int = 0) -> list[Ingredient]:
    """As poured; with `left`, the share left of the weight at the cut, as finished. Soap in it is told as it was
    poured: how dry it was when it went in, nobody weighed."""
    extras = list(batch.additives.select_related("from_lot"))
    soap = [extra for extra in extras if extra.from_lot and extra.from_lot.kind == Lot.Kind.SOAP]
    named = _own(batch, [extra for extra in extras if extra not in soap], left)
    for extra in soap if depth < DEEPEST else ():
        named += _of_soap(extra, depth)
    return in_order(named)


def allergens_of(batch: Batch) -> list[str]:
    """Each once, as the suppliers of what went in declare them, that of soap stirred in too."""
    names = [name for extra in declared_in(batch) for name in re.split(r"[,;\n]", extra.allergens)]
    return list({name.strip().casefold(): name.strip() for name in names if name.strip()}.values())


def declared_in(batch: Batch, depth: int = 0) -> list[RecipeAdditive]:
    """What suppliers say of the additives of a batch, by its recipe's version. Each once, though several batches of one
    recipe were melted together."""
    told = list(batch.recipe.additives.all()) if batch.recipe else []
    soap = batch.additives.filter(from_lot__kind=Lot.Kind.SOAP).select_related("from_lot")
    for part in (part for extra in soap if extra.from_lot for part in extra.from_lot.parts.all()):
        if part.batch and depth < DEEPEST:
            told += declared_in(part.batch, depth + 1)
    return list(dict.fromkeys(told))


def _own(batch: Batch, extras: list[BatchAdditive], left: float | None) -> list[Ingredient]:
    told = [(str(extra.role), extra.name, extra.weighed_g, extra.water_share) for extra in extras]
    poured = poured_of(batch)
    if poured is None:
        return [Ingredient("Aqua", batch.water_g), *additives_named(told, dry=False)]
    poured = replace(poured, additives=told)
    return as_poured(poured) if left is None else as_finished(poured, left)


def _of_soap(extra: BatchAdditive, depth: int) -> list[Ingredient]:
    assert extra.from_lot
    named: list[Ingredient] = []
    for part in extra.from_lot.parts.select_related("batch", "source"):
        if part.batch:
            named += scaled_to(ingredients_of(part.batch, None, depth + 1), part.mass_g)
        elif part.source:
            fat = part.source.fat
            known = fat.inci if fat else ""
            named.append(Ingredient(known or part.source.name, part.mass_g, is_sure=bool(known)))
    return scaled_to(named, extra.weighed_g) if named else additives_named([_told(extra)], dry=False)


def _told(extra: BatchAdditive) -> tuple[str, str, float, float]:
    return str(extra.role), extra.name, extra.weighed_g, extra.water_share
