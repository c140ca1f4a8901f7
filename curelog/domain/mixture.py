"""A recipe's ingredients held together, and what follows from them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from curelog.domain import batch
from curelog.domain.acids import KOH_G_PER_MOL, NAOH_G_PER_MOL

# Enough water for any alkali: it only has to pass the sums, which do not ask it anything else.
PLENTY_OF_WATER = batch.Water("water_to_lye", 2.0)


@dataclass(frozen=True, slots=True)
class Mixture:
    fats: Sequence[batch.FatPortion]
    superfat: float
    alkali: batch.Alkali
    water: batch.Water
    additives: Sequence[batch.Additive] = ()

    def work_out(self) -> batch.Batch:
        """Raises batch.BatchError."""
        return batch.work_out(self.fats, self.superfat, self.alkali, self.water, self.additives)

    def factor_to_mass(self, batch_g: float) -> float:
        return batch.scale_to_mass(self.fats, self.superfat, self.alkali, self.water, self.additives, batch_g)

    def mass_for_volume(self, volume_ml: float) -> batch.Estimate:
        return batch.mass_for_volume(
            self.fats, self.superfat, self.alkali, self.water, self.additives, volume_ml
        )


@dataclass(frozen=True, slots=True)
class Superfat:
    """Share of the fats that this alkali leaves free: by the values the sums use, and if all lots lay at the
    low, at the high end of their published range. Below 0 free alkali is left instead."""

    share: float
    in_lots: tuple[float, float]


def superfat_as_weighed(
    fats: Sequence[batch.FatPortion], naoh_g: float, koh_g: float, alkali: batch.Alkali
) -> Superfat:
    """What the alkali really weighed in (g, 0 or more, with the purities of `alkali`) leaves of these fats.

    1 - moles weighed / moles that saponify the fats wholly, by the definition of the saponification value
    (mg KOH per g; ISO 3657). Raises batch.BatchError for fats that weigh nothing.
    """
    naoh_mol = naoh_g * alkali.naoh_purity / NAOH_G_PER_MOL
    koh_mol = koh_g * alkali.koh_purity / KOH_G_PER_MOL
    wholly = batch.work_out(fats, 0.0, replace(alkali, naoh_share=0.0, koh_share=1.0), PLENTY_OF_WATER)
    weighed = (naoh_mol + koh_mol) / (wholly.koh_g * alkali.koh_purity / KOH_G_PER_MOL)
    low, high = (1 - weighed * (1 - end) for end in wholly.superfat_range)
    return Superfat(1 - weighed, (low, high))
