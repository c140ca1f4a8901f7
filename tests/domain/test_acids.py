"""Molar masses and the AOCS practices against published factors and worked examples (tests/data)."""

import json
from collections.abc import Mapping

import pytest

from curelog.domain.acids import (
    ACIDS,
    GLYCEROL_G_PER_MOL,
    KOH_G_PER_MOL,
    NAOH_G_PER_MOL,
    WATER_G_PER_MOL,
    by_saturation,
    iodine_value_of,
    mean_molar_mass,
)
from curelog.domain.fats import Fat, all_fats
from tests.tables import rows

FORMULA = {
    "C6:0": "caproic",
    "C8:0": "caprylic",
    "C10:0": "capric",
    "C12:0": "lauric",
    "C14:0": "myristic",
    "C16:0": "palmitic",
    "C16:1": "palmitoleic",
    "C17:0": "margaric",
    "C17:1": "heptadecenoic",
    "C18:0": "stearic",
    "C18:1": "oleic",
    "C18:2": "linoleic",
    "C18:3": "linolenic",
    "C18:1-OH": "ricinoleic",
    "C20:0": "arachidic",
    "C20:1": "gadoleic",
    "C22:0": "behenic",
    "C22:1": "erucic",
    "C24:0": "lignoceric",
}
MOLAR = {row["formula_or_shorthand"]: row for row in rows("molar_masses.csv")}
EXAMPLES = rows("calculated_sv_iv_examples.csv")
# The practices are for triglycerides. Stearic acid and waxes are none; castor oil is ricinoleic acid, which
# Cd 1c-85 has no factor for; hydrogenated castor is a hydroxy acid without a published profile.
COVERED = [
    fat
    for fat in all_fats()
    if fat.fatty_acids and not fat.is_wax and not fat.acid_share and "ricinoleic" not in fat.fatty_acids
]


def test_molar_masses_of_the_small_molecules() -> None:
    masses = {
        "KOH": KOH_G_PER_MOL,
        "NaOH": NAOH_G_PER_MOL,
        "C3H8O3": GLYCEROL_G_PER_MOL,
        "H2O": WATER_G_PER_MOL,
    }
    for formula, mass in masses.items():
        assert mass == pytest.approx(float(MOLAR[formula]["molar_mass_g_mol"]), abs=1e-4)


def saponification_value_of(shares: Mapping[str, float]) -> float:
    """Saponification value in mg KOH per g of the triglycerides of these acids (shares by mass).

    AOCS Recommended Practice Cd 3a-94 (form from memory): 3 x 56.1 x 1000 / (3 M + 92.09 - 3 x 18), here with
    exact molar masses. Not for waxes; takes the fat to be free of unsaponifiable matter. It holds the table's acids
    against its saponification values, which the sums use.
    """
    triglyceride = 3 * mean_molar_mass(shares) + GLYCEROL_G_PER_MOL - 3 * WATER_G_PER_MOL
    return 3 * KOH_G_PER_MOL * 1000 / triglyceride


@pytest.mark.parametrize(("formula", "name"), FORMULA.items())
def test_each_acid_and_its_triglyceride(formula: str, name: str) -> None:
    row = MOLAR[formula]
    assert ACIDS[name].molar_mass == pytest.approx(float(row["molar_mass_g_mol"]), abs=1e-3)
    pure = float(row["saponification_value_of_pure_triglyceride_mgKOH_g"])
    assert saponification_value_of({name: 1}) == pytest.approx(pure, abs=2e-3)
    # Cd 1c-85 rounds its factors to three decimals: up to 0.05 in the iodine value.
    stoichiometric = float(row["iodine_value_of_pure_triglyceride_g_per_100g"])
    assert iodine_value_of({name: 1}) == pytest.approx(stoichiometric, abs=0.06)


@pytest.mark.parametrize("row", rows("aocs_cd1c85_iodine_factors.csv"), ids=lambda row: row["fatty_acid"])
def test_iodine_factors_are_those_of_the_practice(row: dict[str, str]) -> None:
    assert ACIDS[FORMULA[row["fatty_acid"]]].iodine_factor == float(row["factor_triglyceride"])


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["example"])
def test_worked_examples(row: dict[str, str]) -> None:
    shares = {FORMULA[k]: v / 100 for k, v in json.loads(row["fatty_acids_pct_mass"]).items()}
    assert mean_molar_mass(shares) == pytest.approx(float(row["mean_M_harmonic"]), abs=1e-3)
    assert saponification_value_of(shares) == pytest.approx(float(row["SV_exact_atomic_weights"]), abs=2e-3)
    # The example of castor oil takes the stoichiometric 0.8157 for ricinoleic acid, here it is rounded.
    assert iodine_value_of(shares) == pytest.approx(float(row["IV_Cd1c85"]), abs=0.03)


@pytest.mark.parametrize("fat", COVERED, ids=lambda fat: fat.key)
def test_calculated_values_agree_with_the_published_ranges(fat: Fat) -> None:
    assert fat.saponification_range is not None
    low, high = fat.saponification_range
    assert low <= saponification_value_of(fat.fatty_acids) <= high
    if fat.iodine_range:
        assert fat.iodine_range[0] <= iodine_value_of(fat.fatty_acids) <= fat.iodine_range[1]


def test_the_practices_cover_nearly_all_fats() -> None:
    left_out = {fat.key for fat in all_fats()} - {fat.key for fat in COVERED}
    waxes = {"beeswax", "candelilla_wax", "carnauba_wax", "jojoba", "lanolin"}
    assert left_out == waxes | {"castor", "hydrogenated_castor", "stearic_acid"}


def test_grouping_by_saturation() -> None:
    groups = by_saturation({"stearic": 0.2, "ricinoleic": 0.3, "oleic": 0.1, "linoleic": 0.4})
    assert groups == pytest.approx({"saturated": 0.2, "monounsaturated": 0.4, "polyunsaturated": 0.4})
