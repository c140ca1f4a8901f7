"""What a millilitre of fat, lye and batter weighs."""

from collections.abc import Iterable, Mapping

# Fats, melted, at pouring warmth (about 40 C). Relative densities to water at 20 C: sunflower 0.916 to
# 0.923 (Codex CXS 210, 2022 amendments, seen); coconut 0.908 to 0.921, palm 0.891 to 0.899, lard 0.896 to
# 0.904 (CXS 210 and 211, from memory), each at its own temperature. One value serves: the spread is well
# inside the doubt below.
FAT_G_PER_ML = 0.905

# Density of lye over its mass share of alkali at 40 C, as a line: 1.2001 g/ml at 6 mol sodium hydroxide per
# kg of water, that is 19.4 % (advancedthermo.com, seen), about 1.42 at 40 % (handbook tables, from memory).
# Potassium hydroxide at 18 C, 1.290 at 30 % and 1.400 at 40 % (fizyka.pk.edu.pl, seen), is close enough to
# share it.
WATER_G_PER_ML = 0.992
LYE_SLOPE_G_PER_ML = 1.07

# Handbook densities, from memory; anything else is taken as watery.
ADDITIVE_G_PER_ML: Mapping[str, float] = {"salt": 2.16, "sugar": 1.59, "honey": 1.42, "clay": 2.6}
OTHER_ADDITIVE_G_PER_ML = 1.0

# Adding volumes leaves out the contraction of the reacting batter, air stirred in and the fats' own spread.
# Poured batter is within a few per cent of 1 g/ml (common practice, no source): so this is the doubt,
# either way.
BATTER_DOUBT = 0.04


def lye_g_per_ml(concentration: float) -> float:
    """Density of lye in g/ml at about 40 C; `concentration` as mass share of alkali, 0 to 0.5."""
    return WATER_G_PER_ML + LYE_SLOPE_G_PER_ML * concentration


def additive_g_per_ml(name: str) -> float:
    words = name.lower()
    return next(
        (value for word, value in ADDITIVE_G_PER_ML.items() if word in words), OTHER_ADDITIVE_G_PER_ML
    )


def batter_ml(
    fats_g: float, lye_g: float, lye_concentration: float, additives: Iterable[tuple[str, float]]
) -> float:
    """Volume in ml of fats, lye and additives (name, mass in g) at about 40 C, taken to add up."""
    additives_ml = sum(mass_g / additive_g_per_ml(name) for name, mass_g in additives)
    return fats_g / FAT_G_PER_ML + lye_g / lye_g_per_ml(lye_concentration) + additives_ml
