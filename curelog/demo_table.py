"""The table by the window on which the demo's pictures are laid: ground, light and camera, in millimetres."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Field = NDArray[np.floating[Any]]  # one plane; a picture is three of them, red, green, blue from 0 to 1
Colour = tuple[int, int, int]


@dataclass(frozen=True)
class Table:
    """The ground a picture is drawn on: x to the right and y down, both in mm from the middle."""

    seed: int
    rng: np.random.Generator
    x: Field
    y: Field
    px_per_mm: float

    @classmethod
    def laid(cls, seed: int, wide_mm: float, width: int, height: int) -> "Table":
        px_per_mm = width / wide_mm
        y, x = np.mgrid[0:height, 0:width].astype(np.float32)
        rng = np.random.default_rng(seed)
        return cls(seed, rng, (x - width / 2) / px_per_mm, (y - height / 2) / px_per_mm, px_per_mm)

    def own(self, part: str) -> "Table":
        """The same table with this part's own chance, so that no part moves when another is left out."""
        return replace(self, rng=np.random.default_rng([self.seed, *part.encode()]))

    def coarse(self) -> "Table":
        return replace(self, x=self.x[::2, ::2], y=self.y[::2, ::2], px_per_mm=self.px_per_mm / 2)

    def inside(self, distance_mm: Field) -> Field:
        """Cover of what lies at negative distance, its edge as sharp as the lens."""
        return step(0.9 / self.px_per_mm, -0.9 / self.px_per_mm, distance_mm)

    def noise(self, wide_mm: float, high_mm: float | None = None) -> Field:
        """Soft random field of mean 0 and spread near 1 whose bumps have about this size."""
        high, wide = self.x.shape
        sizes = ((high, high_mm or wide_mm), (wide, wide_mm))
        cells = [max(3, int(side / self.px_per_mm / size_mm) + 2) for side, size_mm in sizes]
        coarse = Image.fromarray(self.rng.standard_normal(cells, dtype=np.float32))
        # Smoothing between the cells takes away about a quarter of the spread.
        return np.asarray(coarse.resize((wide, high), Image.Resampling.BICUBIC)) * np.float32(1.3)

    def fractal(self, wide_mm: float, octaves: int = 4) -> Field:
        field = self.noise(wide_mm)
        for octave in range(1, octaves):
            field += self.noise(wide_mm / 2**octave) / np.float32(2**octave)
        return field

    def turned(self, degrees: float) -> tuple[Field, Field]:
        cos, sin = np.float32(np.cos(np.radians(degrees))), np.float32(np.sin(np.radians(degrees)))
        return self.x * cos + self.y * sin, self.y * cos - self.x * sin


def step(start: float, end: float, value: Field) -> Field:
    """0 at start, 1 at end, smooth between (either may be the greater)."""
    share: Field = np.clip((value - np.float32(start)) * np.float32(1 / (end - start)), 0, 1)
    return share * share * (3 - 2 * share)


def box(u: Field, v: Field, half_wide_mm: float, half_high_mm: float, round_mm: float) -> Field:
    """Signed distance in mm to a box with round corners; negative inside."""
    across, down = np.abs(u) - (half_wide_mm - round_mm), np.abs(v) - (half_high_mm - round_mm)
    outside: Field = np.sqrt(np.maximum(across, 0) ** 2 + np.maximum(down, 0) ** 2)
    return outside + np.minimum(np.maximum(across, down), 0) - np.float32(round_mm)


def colour(rgb: Colour) -> Field:
    return np.asarray(rgb, dtype=np.float32)[:, None, None] / np.float32(255)


def lay(picture: Field, paint: Field, cover: Field) -> None:
    picture += (paint - picture) * cover


def shade(picture: Field, depth: Field) -> None:
    # Shade by a window keeps some of the sky's blue.
    picture *= 1 - depth * colour((255, 245, 230))


def lit(relief_mm: Field, px_per_mm: float) -> Field:
    """Brightness of a matt surface in light that falls flat from the upper left."""
    down, across = np.gradient(relief_mm * np.float32(px_per_mm))
    brightness: Field = np.clip(1 + 0.9 * across + 0.7 * down, 0.6, 1.3)
    return brightness


def board(table: Table) -> Field:
    """Oak-like board: growth rings far stretched along the grain, pores, the joint of two planks."""
    warp = table.noise(55, 16)
    rings = table.y * 0.9 + warp * 3.0 + table.noise(140, 7) * 1.5
    tone = 0.5 + 0.16 * np.sin(rings) * np.sin(rings * 0.37 + 1) + 0.07 * table.noise(60, 0.6) + 0.1 * warp
    dark, light = colour((126, 90, 58)), colour((176, 136, 96))
    picture: Field = dark + (light - dark) * tone
    pores = step(1.3, 2.6, table.noise(3.5, 0.25)) * step(-1, 1, np.sin(rings))
    lay(picture, colour((74, 48, 30)), 0.5 * pores)
    joint = np.abs(table.y - np.float32(table.rng.uniform(-36, 36)))
    lay(picture, colour((44, 27, 17)), 0.75 * step(0.5, 0.1, joint))
    return picture


def linen(table: Table) -> Field:
    """Plain weave: threads of uneven thickness and tone, a few soft folds."""
    u, v = table.turned(table.rng.uniform(-14, 14))
    u, v = u + 0.3 * table.noise(7), v + 0.3 * table.noise(7)
    over = np.sin(u * 6.4) * np.sin(v * 6.4)
    slubs: Field = table.noise(14, 0.5) + table.noise(0.5, 14)
    tone: Field = 0.9 + 0.05 * over + 0.035 * slubs + 0.02 * table.noise(0.4) + 0.05 * table.noise(38, 60)
    return colour((206, 199, 186)) * tone


def ground(table: Table, degrees: float, half_wide_mm: float, half_high_mm: float, front_mm: float) -> Field:
    """Board or linen with the shade of a body of this size, whose front is seen so far below it."""
    # It lies out of focus, so half the pixels do.
    coarse = table.own("ground").coarse()
    picture = (board if coarse.rng.random() < 0.6 else linen)(coarse)
    u, v = coarse.turned(degrees)
    lean_mm = 5 + front_mm
    shade(picture, 0.36 * step(13, -9, box(u - lean_mm, v - 1.3 * lean_mm, half_wide_mm, half_high_mm, 8)))
    touching = box(u - 0.9, v - 2 - front_mm / 2, half_wide_mm, half_high_mm + front_mm / 2 - 1, 3)
    shade(picture, 0.45 * step(3.0, -1.0, touching))
    return enlarged(picture, table.x.shape)


def photographed(table: Table, picture: Field) -> Image.Image:
    """What window and camera add: fall of light, vignette, grain."""
    x, y = table.x / np.abs(table.x).max(), table.y / np.abs(table.x).max()
    picture *= 1.03 - 0.13 * (x + 0.8 * y) - 0.1 * (x * x + y * y)
    picture += table.own("grain").rng.standard_normal(table.x.shape, dtype=np.float32) * np.float32(0.010)
    return developed(picture)


def developed(picture: Field) -> Image.Image:
    planes = (np.clip(picture, 0, 1) * 255 + 0.5).astype(np.uint8)
    return Image.merge("RGB", [Image.fromarray(plane) for plane in planes])


def enlarged(picture: Field, shape: tuple[int, ...]) -> Field:
    high, wide = shape
    large = np.asarray(developed(picture).resize((wide, high), Image.Resampling.BICUBIC))
    return np.ascontiguousarray(large.transpose(2, 0, 1), dtype=np.float32) / np.float32(255)
