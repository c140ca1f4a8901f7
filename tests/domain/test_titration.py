"""Stoichiometry of the titrations, and a published rule of thumb of the soap trade."""

import pytest

from curelog.domain.titration import free_caustic_alkali, total_free_alkali

# Na2O is what two moles of NaOH are without their water: 61.979 / (2 x 39.997), molar masses from memory.
NA2O_PER_NAOH = 61.979 / 79.994


def test_a_pellet_weighed_in_is_found_again() -> None:
    """5 g of soap with 2 mg of NaOH: 0.05 mmol, 0.5 ml of 0.1 mol/l, 0.04 %."""
    assert free_caustic_alkali(0.5, 0, 0.1, 5.0) == pytest.approx(0.04, abs=0.0001)


def test_against_a_published_factor() -> None:
    """Simmons and Appleton, The Handbook of Soap Manufacture (1908), seen in a stored copy: 2 g of soap, tenth-normal
    acid: ml x 0.0031 x 50 = % Na2O."""
    for ml in (0.1, 0.35, 2.0):
        published = ml * 0.0031 * 50
        assert free_caustic_alkali(ml, 0, 0.1, 2.0) * NA2O_PER_NAOH == pytest.approx(published, rel=0.001)


def test_the_blank_is_taken_off_and_protons_count() -> None:
    assert free_caustic_alkali(0.6, 0.1, 0.1, 5) == pytest.approx(free_caustic_alkali(0.5, 0, 0.1, 5))
    one, two = (free_caustic_alkali(1, 0, 0.1, 5, acid) for acid in ("hydrochloric", "sulfuric"))
    assert two == pytest.approx(2 * one)


def test_as_potassium_hydroxide_it_weighs_more() -> None:
    ratio = free_caustic_alkali(1, 0, 0.1, 5, alkali="KOH") / free_caustic_alkali(1, 0, 0.1, 5)
    assert ratio == pytest.approx(56.1053 / 39.9968, rel=1e-5)


def test_back_titration_by_hand() -> None:
    """3 ml of 0.05 mol/l sulfuric acid are 0.3 mmol of protons; 2.8 ml of 0.1 mol/l alkali take 0.28 back."""
    assert total_free_alkali(3, 0.05, 2.8, 0.1, 4) == pytest.approx(0.02 * 39.997 / 1000 / 4 * 100, rel=1e-4)


def test_no_alkali_is_nought_and_less_is_a_slip() -> None:
    assert free_caustic_alkali(0.2, 0.2, 0.1, 5) == 0
    with pytest.raises(ValueError, match="blank took more"):
        free_caustic_alkali(0.1, 0.2, 0.1, 5)
    with pytest.raises(ValueError, match="titrated back"):
        total_free_alkali(3, 0.05, 3.1, 0.1, 4)
