"""How the demo's bars dry: a wet core feeds a skin that follows the room. Numbers invented, so that bars lose as
much as real ones do (about 12 to 15 % in eight weeks); nothing is fitted to it and it is no model of the domain.
"""

import numpy as np
from numpy.typing import NDArray

USUAL_THICKNESS_MM = 25.0
SKIN_PER_DAY, CORE_PER_DAY = 0.16, 0.055
STEPS_A_DAY = 4


def course(water_share: float, thickness_mm: float, air: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of the cut weight left at the start of each day of `air` (humidity in per cent), from the cut on."""
    poured = water_share / (1 - water_share)  # g of water per g of dry soap
    skin, core, slow = 0.94 * poured, 0.97 * poured, (USUAL_THICKNESS_MM / thickness_mm) ** 1.5
    left = np.empty(len(air))
    start = 1 + (skin + core) / 2
    for day, humidity in enumerate(air):
        left[day] = (1 + (skin + core) / 2) / start
        held = poured * (0.22 + 0.42 * (humidity / 100) ** 2)
        for _ in range(STEPS_A_DAY):
            # Water moves the slower the drier the core is.
            inward = CORE_PER_DAY * slow * (core - skin) * (core / poured)
            skin += (inward - SKIN_PER_DAY * slow * (skin - held)) / STEPS_A_DAY
            core -= inward / STEPS_A_DAY
    return left


def on_scale(weight_g: float, step_g: float) -> float:
    return round(round(weight_g / step_g) * step_g, 3)
