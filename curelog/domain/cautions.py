"""What a maker should be told about a recipe before pouring it. Thresholds are common practice, no source."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

SMALL_SUPERFAT = 0.02
LARGE_SUPERFAT = 0.20
STRONG_LYE = 0.40
WEAK_LYE = 0.25
HEATING_ADDITIVES = ("sugar", "honey", "milk", "syrup", "molasses", "puree", "juice", "beer", "wine")


@dataclass(frozen=True, slots=True)
class Caution:
    """`code` for programs, `words` for the maker."""

    code: str
    words: str


def about_superfat(superfat: float, in_lots: tuple[float, float]) -> Iterator[Caution]:
    """On free alkali and free fat; `in_lots` is the superfat if all lots lie at the low, at the high end."""
    low, high = in_lots
    # The rounding of a sum must not cry wolf at a superfat of exactly 0.
    if low < -1e-9:
        yield Caution(
            "lye_heavy",
            f"Could be lye-heavy: lots at the low end of the published range get {-low:.1%} more alkali than "
            "they can take. Use the low end, or be sure that the value is this lot's.",
        )
    elif superfat < (high - low) / (1 - low):
        yield Caution(
            "lye_heavy_range",
            f"The fats' published ranges spread more than the superfat of {superfat:.1%}: worked out from "
            "their top the batch could be lye-heavy. It is worked out from the low end, so expect "
            f"{low:.1%} to {high:.1%} free fat; add no alkali without the lots' certificates.",
        )
    if superfat < SMALL_SUPERFAT:
        yield Caution(
            "superfat_small",
            f"A superfat of {superfat:.1%} leaves little room for weighing errors: it may be lye-heavy.",
        )
    if superfat > LARGE_SUPERFAT:
        words = f"A superfat of {superfat:.1%} makes a soft bar that turns rancid sooner."
        yield Caution("superfat_large", words)


def about_water(lye_concentration: float, water_g: float, alkali_g: float) -> Iterator[Caution]:
    if water_g < alkali_g * (1 - 1e-9):
        yield Caution(
            "water_from_additives",
            "The water alone cannot dissolve the alkali, it needs the water of the additives as well: "
            "dissolve it in both, cold and in small portions.",
        )
    elif lye_concentration > STRONG_LYE:
        words = f"Lye of {lye_concentration:.0%} is strong: it traces and heats fast and is cut early."
        yield Caution("water_low", words)
    elif lye_concentration < WEAK_LYE:
        words = f"Lye of {lye_concentration:.0%} is weak: the loaf stays soft for long and shrinks in drying."
        yield Caution("water_high", words)


def about_additives(names: Iterable[str]) -> Iterator[Caution]:
    heating = [name for name in names if any(word in name.lower() for word in HEATING_ADDITIVES)]
    if heating:
        words = f"{', '.join(heating)}: heats the lye and the loaf; keep it cool and stay with it."
        yield Caution("overheats", words)
