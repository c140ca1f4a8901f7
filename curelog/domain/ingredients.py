"""The ingredient list of a label: INCI names in falling order of mass, as poured or as finished."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from curelog.domain.acids import HYDROGEN, POTASSIUM, SODIUM
from curelog.domain.batch import Batch, FatPortion
from curelog.domain.reaction import react
from curelog.domain.tables import table_rows

# Names of additives by their role in the recipe; from memory. What has no role is named as the maker wrote it.
ADDITIVE_NAMES = {"salt": "Sodium Chloride", "lactate": "Sodium Lactate", "fragrance": "Parfum"}
COLOUR = "clay"

# Below what a kitchen scale shows nothing was weighed in.
LEAST_G = 0.005


@dataclass(frozen=True, slots=True)
class Poured:
    """What went in, as weighed, in g. `additives`: role, the maker's name, mass, share of water.

    `sums` are those of `batch.work_out` for the same masses: they know how much fat stays free. `naoh_share`: sodium
    hydroxide's part of the alkali's moles.
    """

    fats: Sequence[FatPortion]
    naoh_g: float
    koh_g: float
    water_g: float
    additives: Sequence[tuple[str, str, float, float]]
    sums: Batch
    superfat: float
    naoh_share: float


@dataclass(frozen=True, slots=True)
class Ingredient:
    name: str
    mass_g: float
    is_sure: bool = True
    is_colour: bool = False


def as_poured(poured: Poured) -> list[Ingredient]:
    """The raw materials: fats, alkali, water, additives."""
    named = [_fat(portion, portion.mass_g) for portion in poured.fats]
    named += [Ingredient("Sodium Hydroxide", poured.naoh_g), Ingredient("Potassium Hydroxide", poured.koh_g)]
    named.append(Ingredient("Aqua", poured.water_g))
    return in_order(named + additives_named(poured.additives, dry=False))


def as_finished(poured: Poured, left: float) -> list[Ingredient]:
    """What the bar holds when it weighs `left` of its weight at the cut; all that is missing is taken for water.

    Each fat gives its soap (its acids, the metal in the place of a hydrogen) in proportion to the alkali it takes; the
    superfat stays as the fat it was; glycerol is what the split esters set free. Soap names are from memory
    (data/soap_names.csv).
    """
    sums, kept = poured.sums, max(0.0, poured.superfat)
    metal_g_per_mol = poured.naoh_share * SODIUM + (1 - poured.naoh_share) * POTASSIUM - HYDROGEN
    named = []
    for portion in poured.fats:
        alkali_mol = (1 - kept) * portion.alkali_mol
        free_g = kept * portion.mass_g
        acids_g = react([portion.reactant()], alkali_mol).fatty_matter_g - free_g
        named += _soaps(portion, acids_g + alkali_mol * metal_g_per_mol, poured.naoh_share)
        named.append(_fat(portion, free_g))
    water_g = (sums.water_share - (1 - left)) * sums.batch_g
    named += [Ingredient("Glycerin", sums.glycerol_g), Ingredient("Aqua", water_g)]
    return in_order(named + additives_named(poured.additives, dry=True))


def _fat(portion: FatPortion, mass_g: float) -> Ingredient:
    return Ingredient(portion.fat.inci or portion.fat.name, mass_g, is_sure=bool(portion.fat.inci))


def _soaps(portion: FatPortion, soap_g: float, naoh_share: float) -> list[Ingredient]:
    """By the share of moles, which is near enough the share of mass for an order."""
    stem = _stems().get(portion.fat.key, "")
    words = stem or f"Salt of {portion.fat.inci or portion.fat.name}"
    return [
        Ingredient(f"{metal} {words}", soap_g * share, is_sure=bool(stem))
        for metal, share in (("Sodium", naoh_share), ("Potassium", 1 - naoh_share))
    ]


def additives_named(additives: Iterable[tuple[str, str, float, float]], dry: bool) -> list[Ingredient]:
    return [
        Ingredient(
            name=ADDITIVE_NAMES.get(role, name),
            mass_g=mass_g * (1 - water_share * dry),
            is_sure=role in ADDITIVE_NAMES,
            is_colour=role == COLOUR,
        )
        for role, name, mass_g, water_share in additives
    ]


def in_order(named: Sequence[Ingredient]) -> list[Ingredient]:
    """Heaviest first, each name once, nothing that is not there."""
    masses: dict[str, float] = {}
    for each in named:
        masses[each.name] = masses.get(each.name, 0.0) + each.mass_g
    once = {each.name: replace(each, mass_g=masses[each.name]) for each in named}
    return sorted((each for each in once.values() if each.mass_g > LEAST_G), key=lambda each: -each.mass_g)


def scaled_to(named: Sequence[Ingredient], mass_g: float) -> list[Ingredient]:
    """The same list for so much of it: what soap brings along that goes into another pot."""
    whole_g = sum(each.mass_g for each in named)
    return [replace(each, mass_g=each.mass_g * mass_g / whole_g) for each in named]


def listed(named: Sequence[Ingredient], allergens: Iterable[str], colours_last: bool) -> list[str]:
    """Names as a label tells them: by mass, then the allergens declared for the fragrance, colours last if wanted.

    Regulation (EC) 1223/2009, article 19(1)(g), from memory: falling mass; what is under 1 % may follow in any order,
    and keeps its place by mass here; colours may stand behind all others; declared allergens stand in the list.
    """
    colours = [each.name for each in named if each.is_colour and colours_last]
    names = [each.name for each in named if each.name not in colours]
    known = {name.casefold() for name in (*names, *colours)}
    return [*names, *(name for name in allergens if name.casefold() not in known), *colours]


@cache
def _stems() -> Mapping[str, str]:
    return {row["fat"]: row["stem"] for row in table_rows("soap_names.csv")}
