"""What a phone without a network needs to ask about the weights of a pour by itself (static/js/superfat.js)."""

from collections.abc import Mapping, Sequence

from django import forms

from curelog.domain.acids import KOH_G_PER_MOL, NAOH_G_PER_MOL
from curelog.forms.pour_usual import lots_in_use
from curelog.models import Recipe
from curelog.models.shelf import ShelfLot, portions_from


def tell_phone(fields: Mapping[str, forms.Field], recipe: Recipe, shelf: Sequence[ShelfLot]) -> None:
    """Moles of alkali that a gram of each fat takes up, by the lots that are open, and that a gram of each alkali
    gives: data attributes of their fields."""
    portions = portions_from(recipe, lots_in_use(recipe, shelf))
    for row, portion in enumerate(portions, start=1):
        fields[f"fat_{row}"].widget.attrs["data-fat-mol-per-g"] = portion.alkali_mol / portion.mass_g
    given = {
        "naoh_g": recipe.naoh_purity / NAOH_G_PER_MOL,
        "koh_g": recipe.koh_purity / KOH_G_PER_MOL,
    }
    for name in given.keys() & fields.keys():
        fields[name].widget.attrs["data-alkali-mol-per-g"] = given[name]
