"""How a batch fits a mould, and how many bars come of it."""

from dataclasses import dataclass

from curelog.domain.batch import Batch, Estimate, bars_expected
from curelog.domain.mixture import Mixture
from curelog.models.workshop import Mould

# Densities are known to a few per cent only: within that a mould is simply full.
BRIM = 1.04


@dataclass(frozen=True)
class MouldFit:
    mould: Mould
    holds: Estimate
    filled: float
    bars: int

    @property
    def overflows(self) -> bool:
        return self.filled > BRIM


def mould_fit(mould: Mould, mixture: Mixture, sums: Batch, bar_thickness_mm: float) -> MouldFit:
    """`mixture` and its `sums`. Soap in single cavities is a bar each, as many as the batch fills."""
    holds = mixture.mass_for_volume(mould.volume_ml)
    filled = sums.batch_g / holds.likely_g
    bars = bars_expected(mould.length_mm, bar_thickness_mm)
    if mould.cavities:
        bars = min(mould.cavities, int(mould.cavities * filled * BRIM))
    return MouldFit(mould, holds, filled, bars)
