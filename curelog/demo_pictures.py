"""Pictures for the invented workshop of the demo: soap as if photographed by a window.

The same seed gives the same picture. Sizes and looks of loaves, rings, rivers and spots are common practice,
no source.
"""

from collections.abc import Iterator
from typing import Literal

import numpy as np
from PIL import Image

from curelog.demo_table import (
    Colour,
    Field,
    Table,
    box,
    colour,
    ground,
    lay,
    lit,
    photographed,
    shade,
    step,
)

Ring = Literal["none", "partial", "full"]
Window = tuple[slice, slice]

CREAM: Colour = (226, 212, 184)
_ASH_WHITE: Colour = (241, 241, 239)
_HALF_WIDE_MM, _HALF_HIGH_MM = 40.0, 30.0  # of the cut face
_SIDE_MM = 4.0  # of the bar's front, seen because nobody holds a phone quite level


def cut_face(
    seed: int,
    *,
    base_colour: Colour = CREAM,
    swirl: Colour | None = None,
    ring: Ring = "none",
    specks: float = 0.0,
    rivers: float = 0.0,
    crumbled: float = 0.0,
    ash: float = 0.0,
    spots: float = 0.0,
    width: int = 1600,
    height: int = 1200,
) -> Image.Image:
    """A bar's cut face on a board or on linen. What can go wrong is given as 0 (nothing) to 1 (much).

    With the same seed it is the same bar on the same table, whatever has happened to it since.
    """
    table = Table.laid(seed, 112, width, height)
    degrees = table.own("turn").rng.uniform(-5, 5)
    picture = ground(table, degrees, _HALF_WIDE_MM, _HALF_HIGH_MM, _SIDE_MM)
    u, v = table.turned(degrees)
    soap = colour(base_colour)
    if crumbled:
        _strew_crumbs(table.own("crumbs"), picture, soap, u, v, crumbled)
    edge = _lay_body(table, picture, _gelled(soap) if ring == "full" else soap, u, v, crumbled)
    face = _face(table, u, v, soap, swirl, ring, rivers)
    relief_mm = _wire_marks(table.own("wire")) + 0.05 * step(0.1, -0.55, edge)
    _strew_faults(table, face, relief_mm, specks, spots)
    if ash:
        lay(face, colour(_ASH_WHITE), ash * _ash(table.own("ash"), v))
    lay(picture, face * lit(relief_mm, table.px_per_mm), table.inside(edge))
    return photographed(table, picture)


def whole_loaf(
    seed: int,
    *,
    base_colour: Colour = CREAM,
    swirl: Colour | None = None,
    ash: float = 0.0,
    width: int = 1600,
    height: int = 1200,
) -> Image.Image:
    """The unmoulded loaf from above, its top drawn into waves with a spoon."""
    table = Table.laid(seed, 310, width, height)
    degrees = table.own("turn").rng.uniform(-9, 9)
    picture = ground(table, degrees, 125, 40, 14)
    u, v = table.turned(degrees)
    soap = colour(base_colour)
    lay(picture, _front(table.own("front"), soap, (v - 40) / 4, 0), table.inside(box(u, v - 7, 125, 47, 4)))
    edge = box(u, v, 125, 40, 4) + 0.3 * table.own("edge").noise(12)
    waves = np.sin(u * 0.16 + 1.3 * table.own("waves").noise(45, 30) + 0.5 * np.sin(v * 0.12))
    top = soap * (1 + 0.03 * waves)
    if swirl:
        lay(top, colour(swirl), 0.8 * _swirl(table.own("swirl"), 60))
    if ash:
        lay(top, colour(_ASH_WHITE), 0.7 * ash * step(-0.4, 1.4, table.own("ash").fractal(22) + waves))
    rough = table.own("rough")
    relief_mm = 1.1 * waves + 0.16 * rough.noise(8) + 0.012 * rough.noise(1.5) + 0.5 * step(0.2, -2.5, edge)
    lay(picture, top * lit(relief_mm, table.px_per_mm), table.inside(edge))
    return photographed(table, picture)


def _lay_body(table: Table, picture: Field, skin: Field, u: Field, v: Field, crumbled: float) -> Field:
    """Lay the bar without its face; the face's edge as signed distance in mm."""
    v_poured = v - _poured_top(table.own("top"), v)
    body = box(u, v_poured - _SIDE_MM / 2, _HALF_WIDE_MM, _HALF_HIGH_MM + _SIDE_MM / 2, 2.4)
    lay(picture, _front(table.own("front"), skin, v - _HALF_HIGH_MM, crumbled), table.inside(body))
    edge = box(u, v_poured, _HALF_WIDE_MM, _HALF_HIGH_MM, 1.8) + 0.03 * table.own("edge").noise(3)
    return edge + crumbled * _bites(table.own("bites"), v) if crumbled else edge


def _face(
    table: Table, u: Field, v: Field, soap: Field, swirl: Colour | None, ring: Ring, rivers: float
) -> Field:
    face = soap * (1 + 0.012 * table.own("mottle").fractal(20, 3))
    if swirl:
        lay(face, colour(swirl), 0.8 * _swirl(table.own("swirl"), 34))
    if ring != "none":
        _gel(table.own("gel"), face, u, v, ring)
    if rivers:
        lay(face, _gelled(_gelled(soap)), rivers * 0.55 * _veins(table.own("veins")))
    return face


def _poured_top(table: Table, v: Field) -> Field:
    """How much (mm) lower than the mould's rim the poured top lies; nothing further down."""
    swing = table.rng.uniform(0.2, 1.0)
    wave = 1.6 + swing * (0.9 * table.noise(19, 300) + 0.3 * table.noise(5, 300))
    return wave * step(-_HALF_HIGH_MM + 16, -_HALF_HIGH_MM + 2, v)


def _bites(table: Table, v: Field) -> Field:
    """Depth (mm) of what broke away from the lower edge."""
    along = table.noise(10, 300) + 0.6 * table.noise(3.5, 300)
    ragged = 0.3 * table.noise(1.6) + 0.2 * table.noise(0.6)
    depth_mm: Field = (
        np.maximum(along + ragged + 0.2, 0) * 2.0 * step(_HALF_HIGH_MM - 10, _HALF_HIGH_MM - 3, v)
    )
    return depth_mm


def _front(table: Table, skin: Field, below_mm: Field, crumbled: float) -> Field:
    """The side that is turned from the light, smooth from the mould or broken."""
    fall: Field = 0.90 - 0.04 * np.clip(below_mm, -3, 6) + 0.008 * table.noise(6, 2)
    if crumbled:
        fall *= lit(crumbled * 0.05 * table.fractal(1.8, 4), table.px_per_mm)
    return skin**1.15 * fall


def _gelled(soap: Field) -> Field:
    """Gelled soap is a little translucent: deeper and warmer than the same soap ungelled."""
    return soap * np.sqrt(soap) * colour((250, 245, 236))


def _gel(table: Table, face: Field, u: Field, v: Field, ring: Ring) -> None:
    reach: Field = np.sqrt((u / 31) ** 2 + (v / 22) ** 2) + 0.04 * table.noise(22) + 0.010 * table.noise(4)
    if ring == "full":
        reach = reach * np.float32(0.62)  # all but the coolest corners
    lay(face, _gelled(face), 0.9 * step(1.08, 0.9, reach))
    lay(face, _gelled(face), 0.35 * np.exp(-(((reach - 0.96) / 0.05) ** 2)))


def _swirl(table: Table, turns_mm: float) -> Field:
    """Cover of the second colour where two batters were poured together and stirred once."""
    bands = table.y * 5 / turns_mm + 2.6 * table.fractal(turns_mm, 3)
    strength: Field = np.clip(0.75 + 0.25 * table.noise(turns_mm), 0, 1)
    return step(0.1, 0.9, np.sin(bands)) * strength


def _veins(table: Table) -> Field:
    """Cover of glycerin rivers: branching lines where two slow fields cross zero, in patches."""
    bend = 0.3 * table.fractal(3, 2)
    width = np.maximum(0.16 + 0.08 * table.noise(6), 0.05)
    veins = [np.clip(1 - np.abs(table.noise(size_mm) + bend) / width, 0, 1) for size_mm in (11, 6)]
    cover: Field = np.maximum(*veins) * step(-0.9, 0.6, table.noise(24))
    return cover


def _ash(table: Table, v: Field) -> Field:
    """Soda ash: a white powder, thickest at the top, where the air came to it."""
    patches = table.fractal(7) + 3.2 * step(-_HALF_HIGH_MM + 24, -_HALF_HIGH_MM, v)
    return step(1.1, 3.4, patches) * (0.72 + 0.06 * table.noise(0.3))


def _wire_marks(table: Table) -> Field:
    """Relief (mm) of the cut: faint lines along the wire's way, a grain hardly felt."""
    lines = 0.0016 * table.noise(0.5, 90) + 0.006 * table.noise(2.4, 120)
    relief_mm: Field = lines + 0.0009 * table.noise(0.3) + 0.012 * table.noise(5)
    return relief_mm


def _strew_faults(table: Table, face: Field, relief_mm: Field, specks: float, spots: float) -> None:
    for window, r in _dots(table.own("bubbles"), 60, 0.08, 0.5):  # bubbles: no bar is without
        relief_mm[window] -= 0.12 * step(1.2, 0.4, r)
        face[:, *window] *= 1 - 0.3 * step(1.1, 0.2, r)
    for window, r in _dots(table.own("specks"), int(220 * specks), 0.1, 0.55):
        lay(face[:, *window], colour((246, 242, 232)), 0.75 * step(1.5, 0.4, r))
    for window, r in _dots(table.own("spots"), int(9 * spots), 0.6, 3.2):
        lay(face[:, *window], colour((204, 132, 56)), 0.75 * step(2.1, 0.1, r))
        lay(face[:, *window], colour((150, 80, 28)), 0.6 * step(0.9, 0.1, r))


def _strew_crumbs(table: Table, picture: Field, soap: Field, u: Field, v: Field, crumbled: float) -> None:
    below = step(_HALF_HIGH_MM + 15, _HALF_HIGH_MM + 4, v) * step(0, 5, v)
    near = below * step(_HALF_WIDE_MM + 3, _HALF_WIDE_MM - 6, np.abs(u))
    heap = table.fractal(1.7, 3) - 4.0 + 2.2 * crumbled * near
    shift_px = int(0.3 * table.px_per_mm)
    shade(picture, 0.5 * np.roll(step(-0.5, 0.3, heap), (shift_px, shift_px), (0, 1)))
    lay(picture, soap * np.float32(0.86), step(0, 0.15, heap))
    picture *= lit(0.12 * np.clip(heap, 0, 2), table.px_per_mm)


def _dots(table: Table, count: int, small_mm: float, large_mm: float) -> Iterator[tuple[Window, Field]]:
    """Dots strewn over the face: each one's window of pixels, and there the distance from it in radii."""
    high, wide = table.x.shape
    for _ in range(count):
        x, y = (
            table.rng.uniform(-_HALF_WIDE_MM, _HALF_WIDE_MM),
            table.rng.uniform(-_HALF_HIGH_MM, _HALF_HIGH_MM),
        )
        radius_mm = small_mm * (large_mm / small_mm) ** (table.rng.random() ** 2)
        column, row = int(x * table.px_per_mm + wide / 2), int(y * table.px_per_mm + high / 2)
        reach = int(2.5 * radius_mm * table.px_per_mm) + 2
        window = (slice(max(0, row - reach), row + reach), slice(max(0, column - reach), column + reach))
        squash = table.rng.uniform(0.75, 1.3)
        if min(table.x[window].shape) < 2:  # beside the picture
            continue
        across, down = (table.x[window] - x) * squash, (table.y[window] - y) / squash
        yield window, np.hypot(across, down) / np.float32(radius_mm)
