"""Ingredient lists against masses by hand: what goes in comes out, whatever it is called."""

from dataclasses import replace

import pytest

from curelog.domain import batch, fats
from curelog.domain.ingredients import Poured, as_finished, as_poured

PORTIONS = [
    batch.FatPortion(fats.find(name), g) for name, g in (("olive", 500), ("coconut", 300), ("shea", 200))
]
ADDED = [("fragrance", "Lavender 40/42", 30.0, 0.0), ("clay", "Kaolin", 10.0, 0.0)]
EXTRAS = [batch.Additive(name, g, water) for _, name, g, water in ADDED]


def poured(superfat: float = 0.05, koh_share: float = 0.0) -> Poured:
    alkali = batch.Alkali(1 - koh_share, koh_share)
    sums = batch.work_out(PORTIONS, superfat, alkali, batch.Water("lye_concentration", 0.33), EXTRAS)
    return Poured(PORTIONS, sums.naoh_g, sums.koh_g, sums.water_g, ADDED, sums, superfat, 1 - koh_share)


def names(found: list) -> list[str]:
    return [each.name for each in found]


def test_as_poured_in_falling_order() -> None:
    assert names(as_poured(poured())) == [
        "Olea Europaea (Olive) Fruit Oil",
        "Cocos Nucifera (Coconut) Oil",
        "Aqua",
        "Butyrospermum Parkii (Shea) Butter",
        "Sodium Hydroxide",
        "Parfum",
        "Kaolin",
    ]


def test_as_poured_weighs_what_was_poured() -> None:
    for koh_share in (0.0, 0.1):
        what = poured(koh_share=koh_share)
        assert sum(each.mass_g for each in as_poured(what)) == pytest.approx(what.sums.batch_g)


@pytest.mark.parametrize("superfat", [0.0, 0.05, 0.2])
@pytest.mark.parametrize("koh_share", [0.0, 0.3])
@pytest.mark.parametrize("left", [1.0, 0.88])
def test_as_finished_weighs_what_is_left(superfat: float, koh_share: float, left: float) -> None:
    what = poured(superfat, koh_share)
    total_g = sum(each.mass_g for each in as_finished(what, left))
    assert total_g == pytest.approx(left * what.sums.batch_g, rel=1e-6)


def test_soap_of_a_pure_fat_by_hand() -> None:
    """1 kg of lard at 192: 3.4221 mol. Sodium soap = fat + 3.4221 x 39.997 of NaOH - 1.1407 x 92.094 of glycerol."""
    portion = batch.FatPortion(fats.find("lard"), 1000)
    sums = batch.work_out([portion], 0.0, batch.Alkali(), batch.Water("lye_concentration", 0.33))
    what = Poured([portion], sums.naoh_g, 0.0, sums.water_g, (), sums, 0.0, 1.0)
    soap, water, glycerin = as_finished(what, 1.0)
    assert (soap.name, water.name, glycerin.name) == ("Sodium Lardate", "Aqua", "Glycerin")
    assert soap.mass_g == pytest.approx(1000 + 3.4221 * 39.997 - 1.1407 * 92.094, rel=1e-4)


def test_as_finished_names_soaps_and_the_fat_left_free() -> None:
    found = as_finished(poured(), 0.88)
    assert names(found)[:2] == ["Sodium Olivate", "Sodium Cocoate"]
    assert "Olea Europaea (Olive) Fruit Oil" in names(found)
    assert "Sodium Hydroxide" not in names(found)
    assert not any("Potassium" in name for name in names(found))
    assert any(name.startswith("Potassium") for name in names(as_finished(poured(koh_share=0.2), 0.88)))


def test_a_name_that_is_not_in_the_table_says_so() -> None:
    own = fats.own_fat("Bear grease", 195.0)
    portion = batch.FatPortion(own, 100)
    sums = batch.work_out([portion], 0.0, batch.Alkali(), batch.Water("lye_concentration", 0.33))
    what = Poured([portion], sums.naoh_g, 0.0, sums.water_g, (), sums, 0.0, 1.0)
    assert as_poured(what)[0] == replace(as_poured(what)[0], name="Bear grease", is_sure=False)
    assert (as_finished(what, 1.0)[0].name, as_finished(what, 1.0)[0].is_sure) == (
        "Sodium Salt of Bear grease",
        False,
    )
    assert not next(each for each in as_poured(poured()) if each.name == "Kaolin").is_sure
