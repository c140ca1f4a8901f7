"""Batches against stoichiometry worked by hand, and the laws that hold for every recipe."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curelog.domain.batch import (
    Additive,
    Alkali,
    Batch,
    BatchError,
    FatPortion,
    Water,
    WaterMode,
    bars_expected,
    mass_for_volume,
    scale_to_mass,
    work_out,
)
from curelog.domain.fats import all_fats, find, own_fat

NAOH, KOH, GLYCEROL, WATER = 39.9968, 56.1053, 92.0940, 18.0150  # tests/data/molar_masses.csv
LYE_33 = Water("lye_concentration", 0.33)
LARD = FatPortion(find("lard"), 500)
TRIOLEIN = own_fat("triolein", 3 * KOH * 1000 / 885.453, fatty_acids={"oleic": 1.0})


def codes(batch: Batch) -> set[str]:
    return {caution.code for caution in batch.cautions}


Recipe = tuple[list[FatPortion], float, Alkali, Water, list[Additive]]


@st.composite
def recipes(draw: st.DrawFn) -> Recipe:
    fats = draw(st.lists(st.sampled_from(all_fats()), min_size=1, max_size=6, unique_by=lambda fat: fat.key))
    masses, shares = st.floats(10, 5e4), st.floats(0, 1)
    naoh = draw(shares)
    purities = st.floats(0.8, 1)
    additives = st.lists(
        st.builds(Additive, st.sampled_from(["salt", "milk", "clay"]), masses, shares), max_size=3
    )
    return (
        [FatPortion(fat, draw(masses), draw(shares)) for fat in fats],
        draw(st.floats(0, 0.4)),
        Alkali(naoh, 1 - naoh, draw(purities), draw(purities)),
        Water("lye_concentration", draw(st.floats(0.15, 0.5))),
        draw(additives),
    )


@given(recipes())
def test_mass_is_conserved(recipe: Recipe) -> None:
    fats, _, _, _, additives = recipe
    batch = work_out(*recipe)
    poured = [portion.mass_g for portion in fats] + [additive.mass_g for additive in additives]
    assert batch.batch_g == pytest.approx(sum(poured) + batch.naoh_g + batch.koh_g + batch.water_g, rel=1e-12)
    assert batch.dry_g + batch.water_share * batch.batch_g == pytest.approx(batch.batch_g, rel=1e-9)


@given(recipes())
def test_shares_and_products_stay_possible(
    recipe: Recipe,
) -> None:
    _, superfat, _, water, _ = recipe
    batch = work_out(*recipe)
    assert 0 < batch.water_share < 1
    assert batch.lye_concentration == pytest.approx(water.value)
    assert 0 <= batch.glycerol_g <= 0.2 * batch.fats_g
    # A triglyceride loses at most 6 % as glycerol, a wax gains at most 4 % as water.
    assert 0.92 <= batch.fatty_matter_g / batch.fats_g <= 1.04
    assert sum(batch.fatty_acids.values()) <= 1 + 1e-9
    assert batch.superfat_range[0] == pytest.approx(superfat, abs=1e-9)
    assert batch.superfat_range[0] <= batch.superfat_range[1] + 1e-12


@given(recipes(), st.floats(100, 1e5))
def test_scaling_reaches_the_wanted_mass(recipe: Recipe, batch_g: float) -> None:
    fats, superfat, alkali, water, additives = recipe
    factor = scale_to_mass(fats, superfat, alkali, water, additives, batch_g)
    scaled = [replace(portion, mass_g=portion.mass_g * factor) for portion in fats]
    more = [replace(additive, mass_g=additive.mass_g * factor) for additive in additives]
    assert work_out(scaled, superfat, alkali, water, more).batch_g == pytest.approx(batch_g)


def test_pure_triolein_follows_the_equation() -> None:
    """One mole, 885.453 g, takes three of sodium hydroxide and holds 3 x 282.468 g of oleic acid."""
    batch = work_out([FatPortion(TRIOLEIN, 885.453)], 0, Alkali(), Water("g", 240))
    assert batch.naoh_g == pytest.approx(3 * NAOH, rel=1e-6)
    assert batch.glycerol_g == pytest.approx(GLYCEROL, rel=1e-6)
    assert batch.fatty_matter_g == pytest.approx(3 * 282.468, rel=1e-6)
    # Three moles of sodium oleate (304.450) and one of glycerol.
    assert batch.dry_g == pytest.approx(3 * 304.450 + GLYCEROL, rel=1e-5)


def test_superfat_leaves_triolein_unreacted() -> None:
    batch = work_out([FatPortion(TRIOLEIN, 885.453)], 0.1, Alkali(), Water("g", 240))
    assert batch.naoh_g == pytest.approx(2.7 * NAOH, rel=1e-6)
    assert batch.fatty_matter_g == pytest.approx(0.1 * 885.453 + 2.7 * 282.468, rel=1e-6)


def test_free_acid_gives_water_and_no_glycerol() -> None:
    pure = FatPortion(own_fat("oleic acid", KOH * 1000 / 282.468, fatty_acids={"oleic": 1.0}), 282.468, 1.0)
    batch = work_out([pure], 0, Alkali(), Water("g", 80))
    assert batch.glycerol_g == pytest.approx(0, abs=1e-4)
    assert batch.fatty_matter_g == pytest.approx(282.468, rel=1e-6)
    assert batch.water_share * batch.batch_g == pytest.approx(80 + WATER, rel=1e-5)
    assert work_out([FatPortion(find("stearic_acid"), 100)], 0, Alkali(), LYE_33).glycerol_g == 0


def test_free_acid_reacts_before_the_superfat_is_left() -> None:
    """5 % oleic acid in triolein, 10 % superfat: all acid is neutralised first."""
    batch = work_out([FatPortion(TRIOLEIN, 885.453, 0.05)], 0.1, Alkali(), Water("g", 240))
    acid_mol = 0.05 * 885.453 / 282.468
    assert batch.glycerol_g == pytest.approx((2.7 - acid_mol) / 3 * GLYCEROL, rel=1e-5)


@pytest.mark.parametrize("wax", [fat.key for fat in all_fats() if fat.is_wax])
def test_a_wax_gives_no_glycerol(wax: str) -> None:
    assert work_out([FatPortion(find(wax), 50)], 0.05, Alkali(), LYE_33).glycerol_g == 0


def test_lard_takes_the_low_end_of_its_range() -> None:
    """192 mg KOH per g (range 192 to 203): 500 g at 5 % superfat take 65.0 g of sodium hydroxide."""
    batch = work_out([LARD], 0.05, Alkali(), LYE_33)
    assert batch.naoh_g == pytest.approx(500 * 0.192 / KOH * NAOH * 0.95, rel=1e-6)
    assert batch.saponification_value == pytest.approx(192)
    assert batch.iodine_value == pytest.approx(60)


def test_mixed_alkali_goes_by_moles_and_purity() -> None:
    batch = work_out([LARD], 0, Alkali(0.6, 0.4, 0.97, 0.90), LYE_33)
    needed_mol = 500 * 0.192 / KOH
    assert batch.naoh_g == pytest.approx(0.6 * needed_mol * NAOH / 0.97, rel=1e-6)
    assert batch.koh_g == pytest.approx(0.4 * needed_mol * KOH / 0.90, rel=1e-6)


def test_all_water_counts_additives_and_impurity() -> None:
    milk = Additive("milk", 100, 0.87)
    batch = work_out([LARD], 0.05, Alkali(naoh_purity=0.98), LYE_33, [milk])
    water_g = batch.water_g + 87 + 0.02 * batch.naoh_g
    assert batch.water_share == pytest.approx(water_g / (500 + batch.naoh_g + batch.water_g + 100))


@pytest.mark.parametrize(
    ("mode", "value"),
    [
        ("lye_concentration", 1 / 3),
        ("water_to_lye", 2.0),
        ("g", 2 * 65.01534),
        ("percent_of_fats", 2 * 65.01534 / 5),
    ],
)
def test_the_ways_of_stating_water_agree(mode: WaterMode, value: float) -> None:
    assert work_out([LARD], 0.05, Alkali(), Water(mode, value)).water_g == pytest.approx(130.0307, abs=1e-3)


def test_acids_blend_by_mass_and_a_wax_leaves_them_open() -> None:
    batch = work_out(
        [FatPortion(find("lard"), 90), FatPortion(find("carnauba wax"), 10)], 0, Alkali(), LYE_33
    )
    assert batch.fatty_acids["oleic"] == pytest.approx(0.9 * find("lard").fatty_acids["oleic"])
    assert sum(batch.fatty_acids.values()) == pytest.approx(0.9)
    assert batch.iodine_value is None


@pytest.mark.parametrize(
    ("superfat", "value", "expected"),
    [
        (0.05, 192, {"lye_heavy_range"}),  # the range spreads 5.4 %
        (0.06, 192, set()),
        (0.0, 192, {"lye_heavy_range", "superfat_small"}),
        (0.02, 197.5, {"lye_heavy"}),  # the middle eats 2.8 %
        (0.03, 197.5, {"lye_heavy_range"}),
        (0.25, 192, {"superfat_large"}),
    ],
)
def test_cautions_on_superfat(superfat: float, value: float, expected: set[str]) -> None:
    lot = replace(find("lard"), saponification_value=value)
    assert codes(work_out([FatPortion(lot, 500)], superfat, Alkali(), LYE_33)) == expected


@pytest.mark.parametrize(
    ("concentration", "code"), [(0.24, "water_high"), (0.30, None), (0.41, "water_low"), (0.50, "water_low")]
)
def test_cautions_on_water(concentration: float, code: str | None) -> None:
    batch = work_out([LARD], 0.06, Alkali(), Water("lye_concentration", concentration))
    assert codes(batch) == ({code} if code else set())


def test_milk_for_water_is_worked_out_with_a_caution() -> None:
    batch = work_out([LARD], 0.06, Alkali(), Water("g", 0), [Additive("Goat milk", 160, 0.87)])
    assert codes(batch) == {"water_from_additives", "overheats"}


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("superfat", {"superfat": -0.01}),
        ("superfat", {"superfat": 0.6}),
        ("superfat", {"superfat": math.nan}),
        ("fats", {"fats": []}),
        ("fats", {"fats": [FatPortion(find("lard"), 0)]}),
        ("fats", {"fats": [FatPortion(find("lard"), math.inf)]}),
        ("fats", {"fats": [FatPortion(find("lard"), -5), FatPortion(find("olive"), 10)]}),
        ("fats", {"fats": [LARD, LARD]}),
        ("fats", {"fats": [FatPortion(find("lard"), 500, 1.2)]}),
        ("alkali", {"alkali": Alkali(0.5, 0.4)}),
        ("alkali", {"alkali": Alkali(1.5, -0.5)}),
        ("alkali", {"alkali": Alkali(naoh_purity=0)}),
        ("water", {"water": Water("g", 60)}),
        ("water", {"water": Water("lye_concentration", 0.51)}),
        ("water", {"water": Water("lye_concentration", 0)}),
        ("water", {"water": Water("water_to_lye", math.nan)}),
        ("water", {"water": Water("percent_of_fats", 1e300)}),
        ("additives", {"additives": [Additive("salt", -1)]}),
        ("additives", {"additives": [Additive("milk", 10, 1.5)]}),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(field: str, changed: dict[str, object]) -> None:
    recipe = {"fats": [LARD], "superfat": 0.05, "alkali": Alkali(), "water": LYE_33}
    with pytest.raises(BatchError) as caught:
        work_out(**(recipe | changed))  # type: ignore[arg-type]
    assert caught.value.field == field
    assert caught.value.words


def test_batter_fills_a_mould_at_about_its_volume_in_grams() -> None:
    """Poured batter is within a few per cent of 1 g/ml (common practice, no source)."""
    mass = mass_for_volume([LARD], 0.05, Alkali(), LYE_33, [], 1200)
    assert mass.low_g < 1200 < mass.high_g
    assert mass.low_g < mass.likely_g < mass.high_g
    salted = mass_for_volume([LARD], 0.05, Alkali(), LYE_33, [Additive("sea salt", 250)], 1200)
    assert salted.likely_g > 1.1 * mass.likely_g


def test_whole_bars_only() -> None:
    assert [bars_expected(length_mm, 25) for length_mm in (250, 249.9, 24, 24.9999999)] == [10, 9, 0, 1]
