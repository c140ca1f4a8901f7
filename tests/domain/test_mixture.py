"""What the weighed alkali leaves, against the sums that weighed it out and against the definition."""

import pytest

from curelog.domain import fats
from curelog.domain.acids import KOH_G_PER_MOL, NAOH_G_PER_MOL
from curelog.domain.batch import Alkali, BatchError, FatPortion, Water
from curelog.domain.mixture import Mixture, superfat_as_weighed

FATS = (FatPortion(fats.find("lard"), 700.0), FatPortion(fats.find("coconut"), 300.0))
WATER = Water("lye_concentration", 0.33)


@pytest.mark.parametrize("alkali", [Alkali(), Alkali(0.6, 0.4, 0.98, 0.9), Alkali(0.0, 1.0, 1.0, 0.85)])
@pytest.mark.parametrize("superfat", [0.0, 0.05, 0.2])
def test_the_alkali_of_the_sums_leaves_the_superfat_of_the_recipe(alkali, superfat):
    sums = Mixture(FATS, superfat, alkali, WATER).work_out()
    found = superfat_as_weighed(FATS, sums.naoh_g, sums.koh_g, alkali)
    assert found.share == pytest.approx(superfat, abs=1e-12)
    assert found.in_lots == pytest.approx(sums.superfat_range, abs=1e-12)


def test_by_the_definition_of_the_saponification_value():
    """1000 g of a fat of 200 mg KOH/g take 200 g KOH, or 200 x 39.997 / 56.105 = 142.58 g NaOH."""
    own = (FatPortion(fats.own_fat("Test", 200.0), 1000.0),)
    assert superfat_as_weighed(own, 0.0, 200.0, Alkali(0.0, 1.0)).share == pytest.approx(0, abs=1e-12)
    wholly_g = 200 * NAOH_G_PER_MOL / KOH_G_PER_MOL
    assert wholly_g == pytest.approx(142.58, abs=0.01)
    assert superfat_as_weighed(own, 1.1 * wholly_g, 0.0, Alkali()).share == pytest.approx(-0.1)
    assert superfat_as_weighed(own, 0.0, 0.0, Alkali()).share == 1


def test_fats_that_weigh_nothing_are_refused():
    with pytest.raises(BatchError):
        superfat_as_weighed((FatPortion(fats.find("lard"), 0.0),), 10.0, 0.0, Alkali())
