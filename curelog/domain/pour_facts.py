"""What is known of a pour and its loaf's firmness. Hours are hours after the pour, shares are fractions."""

from dataclasses import dataclass
from math import isfinite
from typing import Literal

from curelog.domain.fats import Fat

Gel = Literal["none", "partial", "full"]
Heat = Literal["none", "insulated", "oven"]
Feel = Literal["sticky", "dents", "firm", "hard"]
CutResult = Literal["too_soft", "clean", "too_hard"]

SENSIBLE = {  # wide on purpose: outside lies a slip of the pen, not an unusual soap
    "lye_concentration": (0.1, 0.7),
    "superfat": (-0.3, 0.6),
    "salt_on_fats": (0.0, 3.0),
    "sodium_lactate_on_fats": (0.0, 0.2),
    "room_c": (-20.0, 60.0),
    "loaf_g": (1.0, 1e6),
}


@dataclass(frozen=True, slots=True)
class PourFacts:
    """A pour as far as it is known; None means not known (salt and lactate: none told, so none used)."""

    fats: tuple[tuple[Fat, float], ...]
    lye_concentration: float | None = None
    superfat: float | None = None
    salt_on_fats: float | None = None
    sodium_lactate_on_fats: float | None = None
    gel: Gel | None = None
    heat: Heat | None = None
    room_c: float | None = None
    loaf_g: float | None = None

    def __post_init__(self) -> None:
        shares = [share for _, share in self.fats]
        if not all(0 <= share <= 1 for share in shares) or abs(sum(shares) - 1) > 0.01:
            raise ValueError("the fats' shares must each lie between 0 and 1 and add to 1")
        for name, (least, most) in SENSIBLE.items():
            value = getattr(self, name)
            if value is not None and not least <= value <= most:
                raise ValueError(f"{name} must lie between {least:g} and {most:g}, not {value}")


def _check_hours(hours: float) -> None:
    if not (isfinite(hours) and hours > 0):
        raise ValueError(f"hours after the pour must be above 0, not {hours}")


@dataclass(frozen=True, slots=True)
class FirmnessCheck:
    """A finger on the loaf: sticky and dents come before a clean cut, firm within, hard near its end."""

    hours: float
    feel: Feel

    def __post_init__(self) -> None:
        _check_hours(self.hours)


@dataclass(frozen=True, slots=True)
class PastCut:
    """One cut loaf of this workshop, and what its wire said."""

    facts: PourFacts
    cut_hours: float
    result: CutResult
    checks: tuple[FirmnessCheck, ...] = ()

    def __post_init__(self) -> None:
        _check_hours(self.cut_hours)
