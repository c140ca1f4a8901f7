"""The maker's units at the edge; grams, millimetres and Celsius inside."""

from collections.abc import Callable

GRAMS_PER_OUNCE = 28.349523125  # avoirdupois, exact since 1959 (NIST Handbook 44, appendix C)
MILLIMETRES_PER_INCH = 25.4  # exact, same source


def grams(value: float, unit: str) -> float:
    return value * GRAMS_PER_OUNCE if unit == "oz" else value


def from_grams(value_g: float, unit: str) -> float:
    return value_g / GRAMS_PER_OUNCE if unit == "oz" else value_g


def millimetres(value: float, unit: str) -> float:
    return value * MILLIMETRES_PER_INCH if unit == "in" else value


def from_millimetres(value_mm: float, unit: str) -> float:
    return value_mm / MILLIMETRES_PER_INCH if unit == "in" else value_mm


def celsius(value: float, unit: str) -> float:
    return (value - 32) / 1.8 if unit == "F" else value


def from_celsius(value_c: float, unit: str) -> float:
    return value_c * 1.8 + 32 if unit == "F" else value_c


def plain(value: float, digits: int) -> str:
    """At most so many decimals, none that say nothing."""
    return f"{value:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{value:.0f}"


def mass_words(value_g: float, unit: str, digits: int) -> str:
    """A mass in the maker's unit, named."""
    return f"{plain(from_grams(value_g, unit), digits)} {unit}"


def written(unit: str) -> Callable[[float], str]:
    """How a scale's step is written for people who weigh in `unit`."""
    return lambda step_g: mass_words(step_g, unit, 3)
