"""The drying course of a bar in a changing room: a handful of relaxing compartments.

Diffusion out of a brick relaxes as a sum of exponentials whose rates are far apart. Five compartments with rates
1, 4, 16, 64 and 256 (in units of 1 / tau) stand for them; their weights fall as rate ** -shape. A slab without
surface resistance has shape 1/2 (Crank, The Mathematics of Diffusion, ch. 4: terms 8 / (pi n)**2 at rates n**2,
n odd, so that the weight per step of log rate goes as rate ** -1/2; from memory); surface resistance and a crust
take weight from the fast compartments, a larger shape. Each compartment moves towards the moisture in balance
with the room, so that humid weeks give gains, first in the fast (outer) ones.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Rows of the parameter matrix.
LOG_TAU, SHAPE, SLOPE, LOG_BALANCE, HUMIDITY, LOG_BEFORE_CUT = range(6)
PARAMETERS = 6

COMPARTMENTS = 5
RATE_RATIO = 4
REFERENCE_MOISTURE = 0.2
REFERENCE_RH = 60.0
REFERENCE_C = 20.0
# Diffusion in a moist solid and the vapour pressure both rise with temperature; 3 % per kelvin lies between
# liquid viscosity (2 %) and saturation vapour pressure (6 %).
SPEED_PER_K = 0.03
# A thin bar is limited by its surface (time ~ size), a thick one by diffusion (time ~ size squared).
SIZE_POWER = 1.6
REFERENCE_SIZE_MM = 8.0


def effective_size_mm(length_mm: float, width_mm: float, thickness_mm: float) -> float:
    """Volume over breathing surface, mm; the underside on a rack counts 60 % of its area (assumed)."""
    return 1.0 / (2.0 / length_mm + 2.0 / width_mm + 1.6 / thickness_mm)


def log_odds(rh: Array) -> Array:
    """ln(a / (1 - a)) of the room's water activity a, against that at 60 % RH.

    By Raoult's law the water held by glycerol goes as a / (1 - a). `rh` in per cent, kept within 5 to 97.
    """
    activity = np.clip(rh, 5.0, 97.0) / 100.0
    reference = REFERENCE_RH / 100.0
    return np.asarray(np.log(activity / (1.0 - activity)) - np.log(reference / (1.0 - reference)))


def moisture_at_cut(water_share: Array, log_before_cut: Array) -> Array:
    """g water per g dry soap at the cut, of a mix poured with `water_share` that lost exp(log_before_cut) before."""
    lost = np.minimum(np.exp(log_before_cut), 0.5 * water_share)
    share = (water_share - lost) / (1.0 - lost)
    return np.asarray(share / (1.0 - share))


def compartment_weights(shape: Array) -> Array:
    """Share of each compartment (rows), adding to 1, for each shape (columns)."""
    weights = float(RATE_RATIO) ** -np.outer(np.arange(COMPARTMENTS), shape)
    return np.asarray(weights / weights.sum(axis=0))


def weight_course(
    parameters: Array, water_share: Array, size_mm: Array, days: Array, rh: Array, temp_c: Array
) -> Array:
    """W(t) / W(0) on `days` (rows; the first is 0) for each column of `parameters`.

    `rh` (per cent) and `temp_c` hold one row per step between days, one column per course or a single one.
    Water held, g per g dry: balance = exp(LOG_BALANCE) * odds(rh) ** HUMIDITY; speed of all compartments
    exp(SLOPE * (mean - 0.2) + 0.03 * (temp_c - 20)): diffusion slows as soap dries.
    """
    start = moisture_at_cut(water_share, parameters[LOG_BEFORE_CUT])
    weights = compartment_weights(parameters[SHAPE])
    balance = np.exp(parameters[LOG_BALANCE] + parameters[HUMIDITY] * log_odds(rh))
    steps = np.diff(days)[:, None]
    slowest = steps * np.exp(SPEED_PER_K * (temp_c - REFERENCE_C) - parameters[LOG_TAU])
    slowest = slowest * (size_mm / REFERENCE_SIZE_MM) ** -SIZE_POWER
    moisture = np.tile(start, (COMPARTMENTS, 1))
    means = np.empty((len(days), len(start)))
    means[0] = mean = middle = start
    kept = np.empty_like(moisture)
    for step in range(len(steps)):
        # Bare ufuncs: np.clip costs as much as the rest of the loop.
        slowing = np.maximum(np.minimum(parameters[SLOPE] * (middle - REFERENCE_MOISTURE), 2.0), -4.0)
        speed = np.exp(slowing)
        kept[0] = np.exp(-slowest[step] * speed)
        for faster in range(1, COMPARTMENTS):
            np.square(kept[faster - 1], out=kept[faster])
            np.square(kept[faster], out=kept[faster])
        moisture -= balance[step]
        moisture *= kept
        moisture += balance[step]
        before, mean = mean, np.einsum("kn,kn->n", weights, moisture)
        means[step + 1] = mean
        # The next step's own middle, carried on from this one: wide steps then agree with narrow ones.
        ahead = 0.5 * steps[min(step + 1, len(steps) - 1)] / steps[step]
        middle = mean + ahead * (mean - before)
    return np.asarray((1.0 + means) / (1.0 + start))
