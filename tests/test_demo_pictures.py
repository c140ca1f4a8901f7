"""The demo's pictures: what is asked for shows in the pixels, and the same bar stays the same bar."""

import numpy as np
import pytest
from PIL import Image, ImageChops

from curelog.demo_pictures import cut_face, whole_loaf

SMALL = {"width": 400, "height": 300}
SEEDS = [1, 2, 3, 4]


def pixels(picture: Image.Image) -> np.ndarray:
    return np.asarray(picture, dtype=float)


def core(picture: Image.Image) -> np.ndarray:
    return pixels(picture)[130:170, 170:230].mean(axis=(0, 1))


def rim(picture: Image.Image) -> np.ndarray:
    """Mean of two strips close to the left and the right edge, where the light evens out."""
    strips = np.concatenate([pixels(picture)[120:180, 72:80], pixels(picture)[120:180, 320:328]], axis=1)
    return strips.mean(axis=(0, 1))


def changed(picture: Image.Image, other: Image.Image, least: int = 25) -> np.ndarray:
    """Where two pictures differ by more than the camera's grain."""
    return np.asarray(ImageChops.difference(picture, other)).max(axis=2) > least


@pytest.mark.parametrize("draw", [cut_face, whole_loaf])
def test_the_seed_decides(draw) -> None:
    assert draw(5, **SMALL).tobytes() == draw(5, **SMALL).tobytes()
    assert draw(5, **SMALL).tobytes() != draw(6, **SMALL).tobytes()


@pytest.mark.parametrize("draw", [cut_face, whole_loaf])
@pytest.mark.parametrize("size", [(400, 300), (300, 400), (401, 303)])
def test_size_as_asked(draw, size: tuple[int, int]) -> None:
    picture = draw(1, width=size[0], height=size[1])
    assert (picture.mode, picture.size) == ("RGB", size)


@pytest.mark.parametrize("seed", SEEDS)
def test_gel_darkens_the_core_or_the_whole(seed: int) -> None:
    # Held against the same bar ungelled, so that light and mottling fall out; gel takes most from the blue.
    none, partial, full = (cut_face(seed, ring=ring, **SMALL) for ring in ("none", "partial", "full"))
    assert core(partial)[2] < 0.88 * core(none)[2]
    assert rim(partial)[2] == pytest.approx(rim(none)[2], rel=0.02)
    assert core(full)[2] < 0.88 * core(none)[2]
    assert rim(full)[2] < 0.88 * rim(none)[2]


@pytest.mark.parametrize("seed", SEEDS)
def test_faults_leave_the_rest_of_the_bar_alone(seed: int) -> None:
    sound = cut_face(seed, **SMALL)
    for fault, most in (("specks", 0.04), ("spots", 0.05), ("rivers", 0.3)):
        share = changed(cut_face(seed, **{fault: 1.0}, **SMALL), sound).mean()
        assert 0 < share < most, fault


@pytest.mark.parametrize("seed", SEEDS)
def test_spots_are_orange_and_grow(seed: int) -> None:
    def orange(spots: float) -> np.ndarray:
        red, green, blue = pixels(cut_face(seed, spots=spots, **SMALL))[60:240, 80:320].transpose(2, 0, 1)
        return (red - blue > 80) & (green < 160)

    few, many = orange(0.4), orange(1.0)
    assert not orange(0).any()
    assert 0 < few.sum() < many.sum()
    assert not (few & ~many).any()  # the first spots stay where they were


@pytest.mark.parametrize("seed", SEEDS)
def test_ash_whitens_the_top_most(seed: int) -> None:
    def colour_left(picture: Image.Image, rows: slice) -> float:
        part = pixels(picture)[rows, 100:300]
        return float((part.max(axis=2) - part.min(axis=2)).mean())

    dark = {"base_colour": (190, 150, 110), **SMALL}
    clean, ashy = cut_face(seed, **dark), cut_face(seed, ash=1.0, **dark)
    top, low = slice(60, 80), slice(180, 220)
    assert colour_left(ashy, top) < 0.7 * colour_left(clean, top)
    assert colour_left(ashy, top) < colour_left(ashy, low)


@pytest.mark.parametrize("seed", SEEDS)
def test_crumbs_come_from_the_lower_edge(seed: int) -> None:
    rows = changed(cut_face(seed, crumbled=1.0, **SMALL), cut_face(seed, **SMALL)).sum(axis=1)
    assert rows[220:].sum() > 0.9 * rows.sum() > 0
