"""Saponification, mole by mole.

With M sodium or potassium: triglyceride + 3 MOH -> glycerol + 3 soap; wax ester + MOH -> alcohol + soap;
free acid + MOH -> water + soap. Free acid reacts first; all esters then share what alkali is left.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from curelog.domain.acids import GLYCEROL_G_PER_MOL, WATER_G_PER_MOL


@dataclass(frozen=True, slots=True)
class Reactant:
    """One fat in the pot: the alkali it can take up in all, and the part of it that its free acid takes."""

    mass_g: float
    alkali_mol: float
    acid_mol: float
    is_wax: bool


@dataclass(frozen=True, slots=True)
class Products:
    """What comes out, in g.

    `fatty_matter_g` is total fatty matter as ISO 685:1975 means it: the fatty acids of the soap (as acids),
    fat that did not react and unsaponifiable matter, among it the alcohols of waxes.
    """

    glycerol_g: float
    water_g: float
    fatty_matter_g: float


def react(fats: Sequence[Reactant], alkali_mol: float) -> Products:
    """Products of `alkali_mol` moles of alkali, at most what the fats can take up."""
    acid_mol = min(sum(fat.acid_mol for fat in fats), alkali_mol)
    ester_mol = sum(fat.alkali_mol - fat.acid_mol for fat in fats)
    reacted = (alkali_mol - acid_mol) / ester_mol if ester_mol > 0 else 0.0
    wax_mol = reacted * sum(fat.alkali_mol - fat.acid_mol for fat in fats if fat.is_wax)
    glycerol_mol = (alkali_mol - acid_mol - wax_mol) / 3
    # Set free as acids, a triglyceride has gained three waters and lost glycerol, a wax ester has gained one.
    gained_g = wax_mol * WATER_G_PER_MOL - glycerol_mol * (GLYCEROL_G_PER_MOL - 3 * WATER_G_PER_MOL)
    return Products(
        glycerol_g=glycerol_mol * GLYCEROL_G_PER_MOL,
        water_g=acid_mol * WATER_G_PER_MOL,
        fatty_matter_g=sum(fat.mass_g for fat in fats) + gained_g,
    )
