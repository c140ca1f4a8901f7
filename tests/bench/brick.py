"""A brick of drying soap by finite volumes: diffusion in three directions, solved axis by axis, implicitly.

Moisture is g per g dry soap. The diffusivity falls as the soap dries, rises with temperature and is throttled by a
crust in dry cells; the faces exchange vapour with the room in proportion to the difference of water activity, the
underside less. Not the forecast's own model: that one has five compartments and no space.
"""

from dataclasses import dataclass

import numpy as np

# From a face to the middle, shares of half the length: thin cells where the moisture is steep.
HALF = np.array([0.03, 0.07, 0.15, 0.30, 0.45])
FULL = np.concatenate([HALF, HALF[::-1]]) / 2
ODDS_AT_60 = 1.5
CRUST_WIDTH = 0.015


@dataclass
class Soap:
    """One value per bar: diffusivity mm2/day at 0.25 g/g and 20 C, its log slope per g/g, surface exchange mm/day,
    moisture in balance with 60 % RH, its power of the odds, crust (0 none), underside's share of the exchange."""

    diffusivity: np.ndarray
    slope: np.ndarray
    exchange: np.ndarray
    balance: np.ndarray
    power: np.ndarray
    crust: np.ndarray
    underside: np.ndarray

    def conductivity(self, moisture, temp_c):
        dry = np.exp(-(moisture - 1.1 * _wide(self.balance)) / CRUST_WIDTH)
        slowing = np.exp(np.clip(_wide(self.slope) * (moisture - 0.25), -4, 3))
        warmth = np.exp(0.03 * (_wide(temp_c) - 20))
        return _wide(self.diffusivity) * slowing * warmth / (1 + _wide(self.crust) * dry)

    def at_balance(self, activity):
        return self.balance * (activity / (1 - activity) / ODDS_AT_60) ** self.power

    def activity(self, moisture):
        odds = ODDS_AT_60 * (np.maximum(moisture, 1e-4) / _wide(self.balance, 2)) ** (
            1 / _wide(self.power, 2)
        )
        return odds / (1 + odds)


def _wide(values, axes=3):
    return np.reshape(values, (-1,) + (1,) * axes)


def _tridiagonal(low, diagonal, high, right):
    """Thomas' algorithm along the last axis."""
    cells = right.shape[-1]
    factor, part, found = (np.empty_like(right) for _ in range(3))
    factor[..., 0], part[..., 0] = high[..., 0] / diagonal[..., 0], right[..., 0] / diagonal[..., 0]
    for cell in range(1, cells):
        pivot = diagonal[..., cell] - low[..., cell] * factor[..., cell - 1]
        factor[..., cell] = high[..., cell] / pivot
        part[..., cell] = (right[..., cell] - low[..., cell] * part[..., cell - 1]) / pivot
    found[..., -1] = part[..., -1]
    for cell in range(cells - 2, -1, -1):
        found[..., cell] = part[..., cell] - factor[..., cell] * found[..., cell + 1]
    return found


def _sweep(moisture, axis, widths, soap, days, activity, temp_c, faces):
    """One step along an axis. `faces`: exchange factor at the first and last cell; None for a plane of symmetry."""
    along = np.moveaxis(moisture, axis, -1)
    conductivity = soap.conductivity(along, temp_c)
    wide = widths[:, None, None, :]
    link = 2 / (wide[..., :-1] / conductivity[..., :-1] + wide[..., 1:] / conductivity[..., 1:])
    low, high, right = np.zeros_like(along), np.zeros_like(along), along.copy()
    high[..., :-1], low[..., 1:] = -days * link / wide[..., :-1], -days * link / wide[..., 1:]
    diagonal = 1 - high - low
    balance, air = _wide(soap.at_balance(activity), 2), _wide(activity, 2)
    for cell, face in zip((0, -1), faces, strict=True):
        if face is None:
            continue
        gap = along[..., cell] - balance
        gap = np.where(np.abs(gap) < 1e-5, 1e-5, gap)
        steep = np.maximum((soap.activity(balance + gap) - air) / gap, 1e-9)
        surface = _wide(soap.exchange * face * np.exp(0.06 * (temp_c - 20)), 2) * steep
        through = 1 / (1 / surface + wide[..., cell] / 2 / conductivity[..., cell])
        diagonal[..., cell] += days * through / wide[..., cell]
        right[..., cell] += days * through / wide[..., cell] * balance
    return np.moveaxis(_tridiagonal(low, diagonal, high, right), -1, axis)


def dry(soap, size_mm, moisture_at_cut, rh, temp_c, until=200):
    """Mean moisture: times in days, and one row per bar. `rh` (per cent) and `temp_c`: a row per bar, daily."""
    length, width = (HALF * size_mm[:, side, None] / 2 for side in (0, 1))
    thickness = FULL * size_mm[:, 2, None]
    volume = HALF[:, None, None] * HALF[None, :, None] * FULL[None, None, :]
    moisture = np.tile(_wide(moisture_at_cut), (1, len(HALF), len(HALF), len(FULL)))
    times, means = [0.0], [moisture_at_cut]
    while times[-1] < until - 1e-9:
        now = times[-1] + 1e-6
        days = 0.05 if now < 1 else 0.125 if now < 7 else 0.25 if now < 28 else 0.5
        air = np.clip(rh[:, int(now)] / 100, 0.05, 0.97)
        for axis, widths, faces in (
            (1, length, (1.0, None)),
            (2, width, (1.0, None)),
            (3, thickness, (soap.underside, 1.0)),
        ):
            moisture = _sweep(moisture, axis, widths, soap, days, air, temp_c[:, int(now)], faces)
        times.append(times[-1] + days)
        means.append((moisture * volume).sum((1, 2, 3)) / volume.sum())
    return np.array(times), np.array(means).T
