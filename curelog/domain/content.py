"""What a bar consists of as it dries: total fatty matter, and moisture and volatile matter."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curelog.domain.batch import Batch
from curelog.domain.quantiles import Quantiles

CHANCES = (0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95)


@dataclass(frozen=True, slots=True)
class Content:
    """Shares of the bar's mass on one day."""

    fatty_matter: Quantiles
    moisture: Quantiles


def content(batch: Batch, left: NDArray[np.float64], volatile_g: float = 0.0) -> Content:
    """Content of bars that weigh `left` of what they weighed at the cut.

    `batch`: the sums of what was weighed in. `left`: draws of weight over weight at the cut, above 0. `volatile_g` of
    the batch: fragrance, which the oven drives off too. Total fatty matter as ISO 685:1975 defines it: all fatty
    material insoluble in water that mineral acid sets free, unsaponifiable matter and free fat included. Moisture and
    volatile matter as ISO 672 means it: what leaves in an oven (that it is meant so: from memory; 105 C in ASTM D460).
    Water already lost between pour and cut is not known: the truth lies at more fatty matter and less moisture. Part
    of the glycerol that an oven may drive off is not counted.
    """
    fatty = batch.fatty_matter_g / batch.batch_g / left
    dry = (batch.dry_g - volatile_g) / batch.batch_g / left
    return Content(_quantiles(fatty), _quantiles(np.maximum(1 - dry, 0.0)))


def _quantiles(draws: NDArray[np.float64]) -> Quantiles:
    return Quantiles(*(float(value) for value in np.quantile(draws, CHANCES)))
