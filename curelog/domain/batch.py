"""A recipe worked out: what to weigh in, and what the poured batch is made of."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from curelog.domain.acids import ACIDS, HYDROGEN, KOH_G_PER_MOL, NAOH_G_PER_MOL, POTASSIUM, SODIUM
from curelog.domain.cautions import Caution, about_additives, about_superfat, about_water
from curelog.domain.density import BATTER_DOUBT, batter_ml
from curelog.domain.reaction import react
from curelog.domain.recipe import (
    HEAVIEST_G,
    Additive,
    Alkali,
    BatchError,
    FatPortion,
    Water,
    WaterMode,
    check_recipe,
    require,
)

__all__ = [
    "Additive",
    "Alkali",
    "Batch",
    "BatchError",
    "Caution",
    "Estimate",
    "FatPortion",
    "Water",
    "WaterMode",
    "bars_expected",
    "mass_for_volume",
    "scale_to_mass",
    "work_out",
]


@dataclass(frozen=True, slots=True)
class Batch:
    """What to weigh in and what the batter becomes; masses in g, shares of mass as fractions.

    `water_share` counts all water: poured, in additives, in the alkali's impurity (mostly moisture; counted
    in full, so that no loss is called impossible) and formed from free acids. `fatty_matter_g` is total
    fatty matter as ISO 685 means it, `dry_g` all that is no water. `superfat_range` is the free part of the
    fats if all lots lie at the low, at the high end of their published range. `fatty_acids` add to less
    than 1 where those of a fat are not known.
    """

    naoh_g: float
    koh_g: float
    water_g: float
    batch_g: float
    fats_g: float
    water_share: float
    lye_concentration: float
    glycerol_g: float
    fatty_matter_g: float
    dry_g: float
    fatty_acids: dict[str, float]
    saponification_value: float
    iodine_value: float | None
    superfat_range: tuple[float, float]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mass with its doubt, in g."""

    likely_g: float
    low_g: float
    high_g: float


def work_out(
    fats: Sequence[FatPortion],
    superfat: float,
    alkali: Alkali,
    water: Water,
    additives: Sequence[Additive] = (),
) -> Batch:
    """The whole sum; `superfat` is the share of the alkali left out, 0 to 0.4. BatchError says why not."""
    check_recipe(fats, superfat, alkali, additives)
    fats_g = sum(portion.mass_g for portion in fats)
    alkali_mol = (1 - superfat) * sum(portion.alkali_mol for portion in fats)
    naoh_g = alkali_mol * alkali.naoh_share * NAOH_G_PER_MOL / alkali.naoh_purity
    koh_g = alkali_mol * alkali.koh_share * KOH_G_PER_MOL / alkali.koh_purity
    lye_g = naoh_g + koh_g
    water_g = _water_g(water, lye_g, fats_g)
    additive_water_g = sum(additive.mass_g * additive.water_share for additive in additives)
    _check_water(water_g + additive_water_g, lye_g)

    made = react([portion.reactant() for portion in fats], alkali_mol)
    impurity_g = naoh_g * (1 - alkali.naoh_purity) + koh_g * (1 - alkali.koh_purity)
    all_water_g = water_g + additive_water_g + impurity_g + made.water_g
    # In soap the metal stands where the acid's hydrogen was.
    metal_g = alkali_mol * (alkali.naoh_share * SODIUM + alkali.koh_share * POTASSIUM - HYDROGEN)
    additives_g = sum(additive.mass_g for additive in additives)
    batch_g = fats_g + lye_g + water_g + additives_g
    in_lots = _superfat_in_lots(fats, alkali_mol)
    lye_concentration = lye_g / (lye_g + water_g)
    return Batch(
        naoh_g=naoh_g,
        koh_g=koh_g,
        water_g=water_g,
        batch_g=batch_g,
        fats_g=fats_g,
        water_share=all_water_g / batch_g,
        lye_concentration=lye_concentration,
        glycerol_g=made.glycerol_g,
        fatty_matter_g=made.fatty_matter_g,
        dry_g=made.fatty_matter_g + metal_g + made.glycerol_g + additives_g - additive_water_g,
        fatty_acids=_fatty_acids(fats, fats_g),
        saponification_value=sum(p.mass_g * p.fat.saponification_value for p in fats) / fats_g,
        iodine_value=_iodine_value(fats, fats_g),
        superfat_range=in_lots,
        cautions=(
            *about_superfat(superfat, in_lots),
            *about_water(lye_concentration, water_g, lye_g),
            *about_additives(additive.name for additive in additives),
        ),
    )


def scale_to_mass(
    fats: Sequence[FatPortion],
    superfat: float,
    alkali: Alkali,
    water: Water,
    additives: Sequence[Additive],
    batch_g: float,
) -> float:
    """Factor on every mass (fats, additives, water given in g) that makes the batch weigh `batch_g`."""
    require(0 < batch_g < math.inf, "batch_g", "the wanted batch mass must be above 0 g")
    return batch_g / work_out(fats, superfat, alkali, water, additives).batch_g


def mass_for_volume(
    fats: Sequence[FatPortion],
    superfat: float,
    alkali: Alkali,
    water: Water,
    additives: Sequence[Additive],
    volume_ml: float,
) -> Estimate:
    """Mass of this batter that fills `volume_ml`; densities, their sources and doubt: density.py."""
    require(0 < volume_ml < math.inf, "volume_ml", "the mould's volume must be above 0 ml")
    batch = work_out(fats, superfat, alkali, water, additives)
    parts = [(additive.name, additive.mass_g) for additive in additives]
    lye_g = batch.naoh_g + batch.koh_g + batch.water_g
    likely_g = batch.batch_g * volume_ml / batter_ml(batch.fats_g, lye_g, batch.lye_concentration, parts)
    return Estimate(likely_g, likely_g * (1 - BATTER_DOUBT), likely_g * (1 + BATTER_DOUBT))


def bars_expected(length_mm: float, bar_thickness_mm: float) -> int:
    """Whole bars of this thickness from a loaf of this length."""
    # 250 / 25 must give 10 also when 24.999999 was stored.
    return int(length_mm / bar_thickness_mm + 1e-6)


def _water_g(water: Water, lye_g: float, fats_g: float) -> float:
    value = water.value
    require(0 <= value < math.inf, "water", "must be a number of 0 or more")
    if water.mode == "lye_concentration":
        require(0 < value < 1, "water", "a lye concentration lies between 0 and 1")
        return lye_g * (1 / value - 1)
    if water.mode == "water_to_lye":
        return lye_g * value
    return value if water.mode == "g" else fats_g * value / 100


def _check_water(water_g: float, lye_g: float) -> None:
    require(water_g <= HEAVIEST_G, "water", "more than any batch holds")
    # Sodium hydroxide needs about its own mass of water to dissolve (1.1 g per g at 20 C, from memory).
    words = f"{water_g:.1f} g of water is less than the alkali's own {lye_g:.1f} g and would not dissolve it"
    require(water_g >= lye_g * (1 - 1e-9), "water", words)


def _superfat_in_lots(fats: Sequence[FatPortion], alkali_mol: float) -> tuple[float, float]:
    """Superfat of this alkali if every lot lies at the low, at the high end of its published range."""
    ends = [p.fat.saponification_range or (p.fat.saponification_value,) * 2 for p in fats]
    low_mol, high_mol = (
        sum(portion.mass_g * value for portion, value in zip(fats, values, strict=True))
        / 1000
        / KOH_G_PER_MOL
        for values in zip(*ends, strict=True)
    )
    return 1 - alkali_mol / low_mol, 1 - alkali_mol / high_mol


def _fatty_acids(fats: Sequence[FatPortion], fats_g: float) -> dict[str, float]:
    return {
        name: sum(portion.mass_g * portion.fat.fatty_acids.get(name, 0.0) for portion in fats) / fats_g
        for name in ACIDS
    }


def _iodine_value(fats: Sequence[FatPortion], fats_g: float) -> float | None:
    total = 0.0
    for portion in fats:
        if portion.fat.iodine_value is None:
            return None
        total += portion.mass_g * portion.fat.iodine_value
    return total / fats_g
