"""The air of the curing room: how much more water it could hold."""

import math

# No curing room lies outside; a value that does is another unit or a slip.
TEMPERATURE_LIMITS_C = (-40.0, 60.0)


def saturation_vapour_pressure_kpa(temp_c: float) -> float:
    """Pressure of water vapour over water, in kPa, that saturates air of `temp_c` (degrees C, -40 to 60).

    Buck (1996), 0.61121 exp((18.678 - t / 234.5) t / (257.14 + t)), coefficients from memory. Within 0.03 % of
    the CRC Handbook's table (1992-93) from 0 to 40 C; the Magnus form of WMO No. 8 is 0.28 % off it.
    """
    low, high = TEMPERATURE_LIMITS_C
    if not low <= temp_c <= high:
        raise ValueError(f"a temperature must lie between {low:g} and {high:g} C, not {temp_c:g}")
    return 0.61121 * math.exp((18.678 - temp_c / 234.5) * temp_c / (257.14 + temp_c))


def vapour_deficit_kpa(rh: float, temp_c: float) -> float:
    """Pressure in kPa that vapour lacks to saturation; `rh` in per cent (0 to 100), `temp_c` in degrees C."""
    if not 0 <= rh <= 100:
        raise ValueError(f"relative humidity must lie between 0 and 100 %, not {rh:g}")
    return (1 - rh / 100) * saturation_vapour_pressure_kpa(temp_c)
