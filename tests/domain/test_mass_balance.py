"""Invented numbers; the usual loss is common practice, no source."""

from curelog.domain.mass_balance import balance


def test_twelve_missing_grams_are_fine_and_three_hundred_are_asked() -> None:
    fine = balance(1500.0, 10, [], all_g=1488.0, trimmings_g=None)
    odd = balance(1500.0, 10, [], all_g=1200.0, trimmings_g=None)
    assert fine
    assert (fine.missing_g, fine.is_odd) == (12.0, False)
    assert odd
    assert (odd.missing_g, odd.is_odd) == (300.0, True)


def test_test_bars_stand_for_the_others_and_trimmings_count() -> None:
    found = balance(1500.0, 10, [140.0, 142.0], all_g=None, trimmings_g=60.0)
    assert found
    assert found.found_g == 1470.0


def test_more_soap_than_was_poured_is_asked() -> None:
    found = balance(1500.0, 10, [160.0], all_g=None, trimmings_g=None)
    assert found
    assert found.is_odd


def test_nothing_weighed_nothing_said() -> None:
    assert balance(1500.0, 10, [], all_g=None, trimmings_g=None) is None
