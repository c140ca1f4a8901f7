"""The fatty acids of fats: names, molar masses, and the values that follow from a composition."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

# IUPAC/CIAAW 2021. Na and K as seen at ciaaw.org; H, C and O are single values from memory that lie inside
# the intervals seen there.
HYDROGEN = 1.008
CARBON = 12.011
OXYGEN = 15.999
SODIUM = 22.98976928
POTASSIUM = 39.0983

KOH_G_PER_MOL = POTASSIUM + OXYGEN + HYDROGEN
NAOH_G_PER_MOL = SODIUM + OXYGEN + HYDROGEN
WATER_G_PER_MOL = 2 * HYDROGEN + OXYGEN
GLYCEROL_G_PER_MOL = 3 * CARBON + 8 * HYDROGEN + 3 * OXYGEN

Saturation = Literal["saturated", "monounsaturated", "polyunsaturated"]


@dataclass(frozen=True, slots=True)
class Acid:
    """A fatty acid with `hydroxyls` on its chain; `iodine_factor` is AOCS Cd 1c-85's for triglycerides."""

    name: str
    carbons: int
    double_bonds: int = 0
    hydroxyls: int = 0
    iodine_factor: float = 0.0

    @property
    def molar_mass(self) -> float:
        hydrogens = 2 * self.carbons - 2 * self.double_bonds
        return self.carbons * CARBON + hydrogens * HYDROGEN + (2 + self.hydroxyls) * OXYGEN

    @property
    def saturation(self) -> Saturation:
        if self.double_bonds == 0:
            return "saturated"
        return "monounsaturated" if self.double_bonds == 1 else "polyunsaturated"


# Iodine factors: AOCS Recommended Practice Cd 1c-85 (reapproved 2009). It has none for heptadecenoic and
# ricinoleic acid: theirs are stoichiometric, one I2 per double bond over a third of the triglyceride's mass.
ACIDS = {
    acid.name: acid
    for acid in (
        Acid("caproic", 6),
        Acid("caprylic", 8),
        Acid("capric", 10),
        Acid("lauric", 12),
        Acid("myristic", 14),
        Acid("palmitic", 16),
        Acid("palmitoleic", 16, 1, iodine_factor=0.950),
        Acid("margaric", 17),
        Acid("heptadecenoic", 17, 1, iodine_factor=0.903),
        Acid("stearic", 18),
        Acid("oleic", 18, 1, iodine_factor=0.860),
        Acid("ricinoleic", 18, 1, 1, iodine_factor=0.816),
        Acid("linoleic", 18, 2, iodine_factor=1.732),
        Acid("linolenic", 18, 3, iodine_factor=2.616),
        Acid("arachidic", 20),
        Acid("gadoleic", 20, 1, iodine_factor=0.785),
        Acid("behenic", 22),
        Acid("erucic", 22, 1, iodine_factor=0.723),
        Acid("lignoceric", 24),
    )
}


def mean_molar_mass(shares: Mapping[str, float]) -> float:
    """Mean molar mass in g/mol of a mixture of acids given by mass.

    The harmonic mean, because moles add: the arithmetic one is 7 g/mol too high for lauric and oleic acid in
    equal masses.
    """
    moles = sum(share / ACIDS[name].molar_mass for name, share in shares.items())
    return sum(shares.values()) / moles


def iodine_value_of(shares: Mapping[str, float]) -> float:
    """Iodine value in g I2 per 100 g of the triglycerides of these acids (shares by mass, adding to 1).

    AOCS Recommended Practice Cd 1c-85 (reapproved 2009), which reads low above 0.5 % unsaponifiable matter.
    Not for waxes; the practice does not cover ricinoleic acid.
    """
    return 100 * sum(share * ACIDS[name].iodine_factor for name, share in shares.items())


def by_saturation(shares: Mapping[str, float]) -> dict[Saturation, float]:
    """Shares of saturated, mono- and polyunsaturated acids."""
    groups: dict[Saturation, float] = {"saturated": 0.0, "monounsaturated": 0.0, "polyunsaturated": 0.0}
    for name, share in shares.items():
        groups[ACIDS[name].saturation] += share
    return groups
