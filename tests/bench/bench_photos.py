"""Time of taking in a 12-megapixel photo against bare Pillow: python tests/bench/bench_photos.py [rounds]

Bare Pillow decodes, turns, shrinks and saves the same three sizes and does nothing else: no hash, no checks,
no colour profile. It is timed in two orders, as the words say them and at its leanest (shrunk first, each
size from the one before); the aim, at most 1.3 times, is held against the leanest. Exit status 1: missed.
"""

import statistics
import sys
import time
from collections.abc import Callable
from io import BytesIO

import numpy as np
from PIL import ExifTags, Image, ImageCms, ImageOps

from curelog.photos import LONG_SIDE_PX, take_in

AIM = 1.3


def phone_photo(with_profile: bool) -> bytes:
    """4032 x 3024 px, lying on its side as phones store it, with the grain and weight of a photo."""
    rng = np.random.default_rng(12)
    soft = Image.fromarray(rng.integers(40, 220, (24, 32, 3), dtype=np.uint8)).resize((4032, 3024), 3)
    grain = rng.normal(0, 6, (3024, 4032, 1))
    picture = Image.fromarray(np.clip(np.asarray(soft) + grain, 0, 255).astype(np.uint8))
    tags = Image.Exif()
    tags[ExifTags.Base.Orientation] = 6
    options = {"icc_profile": ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()}
    out = BytesIO()
    picture.save(out, "JPEG", quality=92, exif=tags, **(options if with_profile else {}))
    return out.getvalue()


def save(picture: Image.Image) -> None:
    picture.save(BytesIO(), "JPEG", quality=82, progressive=True)


def bare_as_told(content: bytes) -> None:
    upright = ImageOps.exif_transpose(Image.open(BytesIO(content)))
    for long_side_px in LONG_SIDE_PX.values():
        smaller = upright.copy()
        smaller.thumbnail((long_side_px, long_side_px), Image.Resampling.LANCZOS)
        save(smaller)


def bare_leanest(content: bytes) -> None:
    picture = Image.open(BytesIO(content))
    turned = False
    for long_side_px in LONG_SIDE_PX.values():
        picture.thumbnail((long_side_px, long_side_px), Image.Resampling.LANCZOS)
        picture = picture if turned else ImageOps.exif_transpose(picture)
        turned = True
        save(picture)


def ours(content: bytes) -> None:
    take_in(BytesIO(content))


def medians_ms(content: bytes, rounds: int) -> dict[str, float]:
    """Taken in turn, so that a busy machine slows all of them alike; processor time, not waiting."""
    ways: dict[str, Callable[[bytes], None]] = {
        "bare, as told": bare_as_told,
        "bare, leanest": bare_leanest,
        "take_in": ours,
    }
    times_ms: dict[str, list[float]] = {name: [] for name in ways}
    for _ in range(rounds):
        for name, way in ways.items():
            start = time.process_time()
            way(content)
            times_ms[name].append(1000 * (time.process_time() - start))
    return {name: statistics.median(times) for name, times in times_ms.items()}


def main(rounds: int) -> int:
    worst = 0.0
    for with_profile in (False, True):
        content = phone_photo(with_profile)
        found = medians_ms(content, rounds)
        print(f"{len(content) / 1e6:.1f} MB, {'with' if with_profile else 'without'} colour profile")
        for name, time_ms in found.items():
            print(f"  {name:15} {time_ms:6.0f} ms   {time_ms / found['bare, leanest']:.2f} x leanest")
        worst = max(worst, found["take_in"] / found["bare, leanest"])
    print(f"worst {worst:.2f}, aim {AIM}")
    return int(worst > AIM)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 15))
