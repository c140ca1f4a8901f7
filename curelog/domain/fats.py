"""Fats and oils with their published values."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fat:
    """One fat or wax.

    `saponification_value` in mg KOH per g is the value the sums use: the low end of the published range, so that a lot
    from the low end does not turn lye-heavy. `fatty_acids` are shares (by mass) of the fatty acids, empty when unknown.
    """

    key: str
    name: str
    inci: str
    is_wax: bool
    saponification_value: float
    saponification_range: tuple[float, float] | None
    iodine_value: float | None
    iodine_range: tuple[float, float] | None
    unsaponifiable: float
    fatty_acids: Mapping[str, float]
    source: str
    is_own: bool = False
