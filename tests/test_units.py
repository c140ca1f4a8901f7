import pytest

from curelog import units


def test_the_ounce_and_the_inch_are_exact() -> None:
    """NIST Handbook 44, appendix C (international avoirdupois pound 0.453 592 37 kg; inch 25.4 mm): from memory."""
    pound_g = 16 * units.GRAMS_PER_OUNCE
    assert pound_g == pytest.approx(453.59237, abs=1e-9)
    assert units.millimetres(12, "in") == pytest.approx(304.8)


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(0, 32), (100, 212), (-40, -40)])
def test_fixed_points_of_the_thermometers(celsius: float, fahrenheit: float) -> None:
    assert units.from_celsius(celsius, "F") == pytest.approx(fahrenheit)
    assert units.celsius(fahrenheit, "F") == pytest.approx(celsius)


def test_no_decimals_that_say_nothing() -> None:
    assert [units.plain(v, d) for v, d in ((12.0, 2), (12.34, 1), (100, 0), (0.5, 2))] == [
        "12",
        "12.3",
        "100",
        "0.5",
    ]
