"""What a recipe is made of, and what a recipe cannot be."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from curelog.domain.acids import KOH_G_PER_MOL, mean_molar_mass
from curelog.domain.fats import Fat
from curelog.domain.reaction import Reactant

WaterMode = Literal["lye_concentration", "water_to_lye", "percent_of_fats", "g"]

# More free fat than any soap carries; what lies above is a slip such as 60 for 6 %.
HIGHEST_SUPERFAT = 0.4
# Sold lye is 85 % and better; below half it is another product, or a per cent sign forgotten.
LOWEST_PURITY = 0.5
SHARE_TOLERANCE = 1e-6
# A tonne: no batch of this craft comes near, and sums stay far from overflow.
HEAVIEST_G = 1e6
LIGHTEST_FATS_G = 1e-6
_MASS_WORDS = "the mass must lie between 0 g and a tonne"


@dataclass(frozen=True, slots=True)
class FatPortion:
    """A fat weighed in; `free_fatty_acids` as a share of its mass, from the lot's certificate."""

    fat: Fat
    mass_g: float
    free_fatty_acids: float = 0.0

    @property
    def alkali_mol(self) -> float:
        """Moles of alkali that saponify it wholly."""
        return self.mass_g * self.fat.saponification_value / 1000 / KOH_G_PER_MOL

    @property
    def acid_mol(self) -> float:
        """Moles of alkali that its free acid takes, by nature (stearic acid, beeswax) or by certificate."""
        told = self.mass_g * self.free_fatty_acids / self._acid_g_per_mol()
        return min(self.alkali_mol * self.fat.acid_share + told, self.alkali_mol)

    def _acid_g_per_mol(self) -> float:
        if self.fat.fatty_acids:
            return mean_molar_mass(self.fat.fatty_acids)
        return KOH_G_PER_MOL * 1000 / self.fat.saponification_value

    def reactant(self) -> Reactant:
        return Reactant(self.mass_g, self.alkali_mol, self.acid_mol, self.fat.is_wax)


@dataclass(frozen=True, slots=True)
class Alkali:
    """Which alkali, in shares of moles, and its purity by mass. What is not pure is counted as water."""

    naoh_share: float = 1.0
    koh_share: float = 0.0
    naoh_purity: float = 1.0
    koh_purity: float = 1.0


@dataclass(frozen=True, slots=True)
class Water:
    """Water in one of the ways makers state it: by `mode`, `value` is a share, a ratio, a per cent or g."""

    mode: WaterMode
    value: float


@dataclass(frozen=True, slots=True)
class Additive:
    """Anything else poured in: milk, salt, honey, fragrance; `water_share` of its mass is water."""

    name: str
    mass_g: float
    water_share: float = 0.0


class BatchError(ValueError):
    """A recipe that cannot be worked out: `words` belong beside the input `field`."""

    def __init__(self, field: str, words: str) -> None:
        super().__init__(f"{field}: {words}")
        self.field = field
        self.words = words


def check_recipe(
    fats: Sequence[FatPortion], superfat: float, alkali: Alkali, additives: Sequence[Additive]
) -> None:
    """BatchError for what makes no sense before any sum; written so that NaN fails every comparison."""
    _check_fats(fats)
    words = f"a superfat lies between 0 % and {HIGHEST_SUPERFAT:.0%}"
    require(0 <= superfat <= HIGHEST_SUPERFAT, "superfat", words)
    _check_alkali(alkali)
    _check_additives(additives)


def require(holds: bool, field: str, words: str) -> None:
    if not holds:
        raise BatchError(field, words)


def _check_fats(fats: Sequence[FatPortion]) -> None:
    require(bool(fats), "fats", "at least one fat is needed")
    for place, portion in enumerate(fats):
        name = portion.fat.name
        require(0 <= portion.mass_g <= HEAVIEST_G, "fats", f"{name}: {_MASS_WORDS}")
        words = f"{name}: free fatty acids are a share from 0 to 1"
        require(0 <= portion.free_fatty_acids <= 1, "fats", words)
        earlier = [other.fat for other in fats[:place]]
        require(portion.fat not in earlier, "fats", f"{name} is named twice: put its masses together")
    require(sum(portion.mass_g for portion in fats) >= LIGHTEST_FATS_G, "fats", "the fats weigh nothing")


def _check_alkali(alkali: Alkali) -> None:
    shares = alkali.naoh_share, alkali.koh_share
    require(all(0 <= share <= 1 for share in shares), "alkali", "shares lie between 0 and 1")
    words = f"the shares must add to 1, not {sum(shares):g}"
    require(abs(sum(shares) - 1) <= SHARE_TOLERANCE, "alkali", words)
    purities = alkali.naoh_purity, alkali.koh_purity
    words = f"a purity lies between {LOWEST_PURITY:.0%} and 100 %"
    require(all(LOWEST_PURITY <= purity <= 1 for purity in purities), "alkali", words)


def _check_additives(additives: Sequence[Additive]) -> None:
    for additive in additives:
        name = additive.name
        require(0 <= additive.mass_g <= HEAVIEST_G, "additives", f"{name}: {_MASS_WORDS}")
        require(0 <= additive.water_share <= 1, "additives", f"{name}: the water share lies between 0 and 1")
