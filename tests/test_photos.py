"""Photos: nothing harmful gets in, nothing private stays, and the picture is upright and true in colour."""

import contextlib
import hashlib
import struct
import threading
import time
import zlib
from collections.abc import Callable
from datetime import datetime
from io import BytesIO
from pathlib import Path
from uuid import UUID

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ExifTags, Image, ImageCms

from curelog import photos
from curelog.photos import PhotoRefused, TakenPhoto, take_in

RED, GREEN, BLUE, YELLOW = (200, 30, 30), (30, 160, 30), (30, 30, 200), (220, 210, 40)
KEY = UUID("6f1c9a52-3d0e-4b7f-9a51-0c2d8e4f7b60")


def quartered(width: int = 320, height: int = 240) -> Image.Image:
    """Four colours, one a quarter, so that a turn or a mirror image shows."""
    picture = Image.new("RGB", (width, height), RED)
    picture.paste(GREEN, (width // 2, 0, width, height // 2))
    picture.paste(BLUE, (0, height // 2, width // 2, height))
    picture.paste(YELLOW, (width // 2, height // 2, width, height))
    return picture


def encoded(picture: Image.Image, kind: str = "JPEG", **options: object) -> bytes:
    out = BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()


def exif(orientation: int = 1) -> Image.Exif:
    tags = Image.Exif()
    tags[ExifTags.Base.Orientation] = orientation
    tags[ExifTags.Base.Make] = "Secretmaker"
    tags.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2024:03:02 17:45:09"
    tags.get_ifd(ExifTags.IFD.GPSInfo).update({1: "N", 2: (48.0, 12.0, 30.5), 3: "E", 4: (16.0, 22.0, 1.0)})
    return tags


def taken(content: bytes) -> TakenPhoto:
    return take_in(BytesIO(content))


def shown(photo: TakenPhoto, rendition: str = "full") -> Image.Image:
    picture = Image.open(BytesIO(photo.renditions[rendition]))
    picture.load()
    return picture


def corners(picture: Image.Image) -> list[np.ndarray]:
    """Colours well inside the quarters: upper left, upper right, lower left, lower right."""
    pixels = np.asarray(picture.convert("RGB"), dtype=int)
    height, width = pixels.shape[:2]
    return [pixels[height * y // 4, width * x // 4] for y in (1, 3) for x in (1, 3)]


def assert_quartered(picture: Image.Image, tolerance: int = 8) -> None:
    # JPEG at quality 82 moves a flat colour by a few steps.
    for found, wanted in zip(corners(picture), (RED, GREEN, BLUE, YELLOW), strict=True):
        assert np.abs(found - wanted).max() <= tolerance, (found, wanted)


def jpeg_segments(content: bytes) -> list[int]:
    """Marker of each segment up to the first scan (ITU-T T.81, annex B)."""
    markers, at = [], 2
    while content[at + 1] != 0xDA:
        markers.append(content[at + 1])
        at += 2 + struct.unpack(">H", content[at + 2 : at + 4])[0]
    return markers


def refused(content: bytes, size_limit: int = photos.SIZE_LIMIT_BYTES) -> str:
    with pytest.raises(PhotoRefused) as refusal:
        take_in(BytesIO(content), size_limit)
    return refusal.value.words


def png_header(width: int, height: int) -> bytes:
    """A PNG that claims its measures and holds next to nothing (W3C PNG, 11.2.2)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    measures = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", measures) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


# What comes out


def test_renditions_are_bounded_and_keep_their_proportions() -> None:
    photo = taken(encoded(quartered(4000, 3000)))
    assert (photo.width, photo.height) == (2048, 1536)
    assert {name: shown(photo, name).size for name in photo.renditions} == {
        "full": (2048, 1536),
        "screen": (960, 720),
        "thumb": (240, 180),
    }
    for name in photo.renditions:
        assert_quartered(shown(photo, name))


def test_small_picture_is_not_blown_up() -> None:
    photo = taken(encoded(quartered(100, 80)))
    assert {shown(photo, name).size for name in photo.renditions} == {(100, 80)}


@pytest.mark.parametrize("size", [(8192, 6144), (5000, 3333), (1001, 999)])
def test_draft_decoding_gives_the_same_measures(size: tuple[int, int]) -> None:
    photo = taken(encoded(quartered(*size)))
    scale = min(1, 2048 / max(size))
    # The decoder's halves are rounded up, so the other side may come out one pixel longer.
    assert max(photo.width, photo.height) == round(max(size) * scale)
    assert min(photo.width, photo.height) == pytest.approx(min(size) * scale, abs=1)
    assert_quartered(shown(photo))


def test_hash_is_of_the_bytes_received() -> None:
    content = encoded(quartered())
    file = BytesIO(content)
    file.read(100)  # whoever looked at the file before must not change the hash
    assert take_in(file).sha256_received == hashlib.sha256(content).hexdigest()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_nothing_private_stays(kind: str) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    content = encoded(quartered(), kind, exif=exif(), icc_profile=profile)
    sent = Image.open(BytesIO(content)).getexif()
    assert sent.get_ifd(ExifTags.IFD.GPSInfo)  # the place did go in
    photo = taken(content)
    for jpeg in photo.renditions.values():
        markers = jpeg_segments(jpeg)
        assert [marker for marker in markers if marker >= 0xE0] == [
            0xE0
        ]  # JFIF alone: no EXIF, profile, comment
        assert 0xC2 in markers  # progressive
        assert b"Secretmaker" not in jpeg
    assert photo.taken_at == datetime(2024, 3, 2, 17, 45, 9)


def test_comment_does_not_stay() -> None:
    content = encoded(quartered(), comment=b"our address")
    assert b"our address" in content
    assert not any(b"our address" in jpeg for jpeg in taken(content).renditions.values())


# EXIF 2.32, 4.6.4 A says where row 0 and column 0 belong; so stored is the upright picture turned back.
STORED_AS: dict[int, Callable[[Image.Image], Image.Image]] = {
    1: lambda p: p,
    2: lambda p: p.transpose(Image.Transpose.FLIP_LEFT_RIGHT),
    3: lambda p: p.transpose(Image.Transpose.ROTATE_180),
    4: lambda p: p.transpose(Image.Transpose.FLIP_TOP_BOTTOM),
    5: lambda p: p.transpose(Image.Transpose.TRANSPOSE),
    6: lambda p: p.transpose(Image.Transpose.ROTATE_90),
    7: lambda p: p.transpose(Image.Transpose.TRANSVERSE),
    8: lambda p: p.transpose(Image.Transpose.ROTATE_270),
}


@pytest.mark.parametrize("orientation", STORED_AS)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_turned_upright(orientation: int, kind: str) -> None:
    stored = STORED_AS[orientation](quartered())
    photo = taken(encoded(stored, kind, exif=exif(orientation)))
    assert (photo.width, photo.height) == (320, 240)
    assert_quartered(shown(photo), tolerance=12)  # encoded twice, WebP coarser than JPEG


def swapped_profile() -> bytes:
    """An sRGB profile whose red and blue primaries have changed places (ICC.1:2010, 9.2)."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    count = struct.unpack(">I", profile[128:132])[0]
    table = profile[132 : 132 + 12 * count]
    swap = {b"rXYZ": b"bXYZ", b"bXYZ": b"rXYZ"}
    entries = [table[i : i + 12] for i in range(0, len(table), 12)]
    return (
        profile[:132]
        + b"".join(swap.get(e[:4], e[:4]) + e[4:] for e in entries)
        + profile[132 + 12 * count :]
    )


def test_embedded_profile_is_honoured() -> None:
    found = corners(shown(taken(encoded(quartered(), icc_profile=swapped_profile()))))
    for colour, wanted in zip(found, (RED, GREEN, BLUE, YELLOW), strict=True):
        assert np.abs(colour - wanted[::-1]).max() <= 10


@pytest.mark.parametrize("profile", [b"no profile at all", b"", bytes(200)])
def test_broken_profile_does_not_fail_the_picture(profile: bytes) -> None:
    assert_quartered(shown(taken(encoded(quartered(), icc_profile=profile))))


def test_profile_for_other_channels_is_left_aside() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    grey = shown(taken(encoded(Image.new("L", (64, 64), 100), icc_profile=profile)))
    assert np.abs(np.asarray(grey, dtype=int) - 100).max() <= 2


@pytest.mark.filterwarnings("ignore::UserWarning:PIL")  # Pillow also says so itself; that is what is meant
@pytest.mark.parametrize("cut_to", [8, 12, 20, 60, 100])
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_broken_exif_does_not_fail_the_picture(cut_to: int, kind: str) -> None:
    broken = exif(1).tobytes()[: 6 + cut_to]
    assert_quartered(shown(taken(encoded(quartered(), kind, exif=broken))), tolerance=12)


def test_date_that_is_no_date_is_not_known() -> None:
    tags = exif()
    tags.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "0000:00:00 00:00:00"
    assert taken(encoded(quartered(), exif=tags)).taken_at is None


# Kinds of pixels


def test_cmyk() -> None:
    assert_quartered(shown(taken(encoded(quartered().convert("CMYK")))), tolerance=12)


def test_palette() -> None:
    assert_quartered(shown(taken(encoded(quartered().quantize(8), "PNG"))))


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_alpha_is_laid_on_white(kind: str) -> None:
    picture = quartered().convert("RGBA")
    picture.paste((0, 0, 0, 0), (0, 0, 160, 120))
    upper_left, upper_right, *_ = corners(shown(taken(encoded(picture, kind, lossless=True))))
    assert upper_left.min() >= 250
    assert np.abs(upper_right - GREEN).max() <= 8


def test_transparent_palette_entry_is_laid_on_white() -> None:
    picture = quartered().quantize(8)
    entry = picture.getpixel((10, 10))
    upper_left, *_ = corners(shown(taken(encoded(picture, "PNG", transparency=entry))))
    assert upper_left.min() >= 250


def test_grey_with_alpha_is_laid_on_white() -> None:
    assert np.asarray(shown(taken(encoded(Image.new("LA", (40, 40), (0, 0)), "PNG")))).min() >= 250


def test_sixteen_bits_are_scaled_not_clipped() -> None:
    deep = Image.fromarray(np.full((60, 60), 0x6432, dtype=np.uint16))
    grey = np.asarray(shown(taken(encoded(deep, "PNG"))), dtype=int)
    assert np.abs(grey - 0x64).max() <= 2


def test_one_bit() -> None:
    assert np.asarray(shown(taken(encoded(Image.new("1", (40, 40), 1), "PNG")))).min() >= 250


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_moving_picture_gives_its_first_frame(kind: str) -> None:
    frames = {"save_all": True, "append_images": [Image.new("RGB", (320, 240), "black")], "duration": 100}
    assert_quartered(shown(taken(encoded(quartered(), kind, **frames))), tolerance=12)


# What is refused


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"Dear diary, today I made soap.\n" * 40, "not a photo"),
        (b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"/>', "(SVG)"),
        (encoded(quartered(), "GIF"), "not a photo"),
        (encoded(quartered(), "TIFF"), "not a photo"),
        (png_header(20_000, 20_000), "64 megapixels"),
        (png_header(3_000, 200), "narrow strip"),
        (png_header(400, 300), "damaged"),
        (b"\xff\xd8\xff" + bytes(500), "damaged"),
        (b"RIFF\x00\x10\x00\x00WEBPVP8 " + bytes(500), "damaged"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_refused_in_words(content: bytes, words: str) -> None:
    assert words in refused(content)


def test_large_webp_is_refused_by_its_header() -> None:
    # VP8X chunk: canvas measures less one, three bytes each (RFC 9649, 2.7).
    measures = (16_382).to_bytes(3, "little") * 2
    body = b"WEBPVP8X" + struct.pack("<I", 10) + bytes(4) + measures
    assert "64 megapixels" in refused(b"RIFF" + struct.pack("<I", len(body)) + body)


def test_large_picture_is_refused_before_decoding(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos.PngImageFile, "load", lambda image: pytest.fail("decoded"))
    refused(png_header(20_000, 20_000))


@pytest.mark.parametrize("share", [0.02, 0.1, 0.5, 0.9, 0.99])
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_truncated(share: float, kind: str) -> None:
    noise = Image.fromarray(np.random.default_rng(1).integers(0, 255, (200, 300, 3), dtype=np.uint8))
    content = encoded(noise, kind)
    assert "damaged" in refused(content[: int(len(content) * share)])


class Endless(BytesIO):
    """A file of 60 MB that counts what is asked of it."""

    served_bytes = 0

    def read(self, size: int | None = -1) -> bytes:
        assert size is not None
        assert 0 < size <= 1_000_000  # in chunks, never all of it
        count = min(size, 60_000_000 - self.served_bytes)
        self.served_bytes += count
        return bytes(count)


def test_reading_stops_at_the_limit() -> None:
    file = Endless()
    with pytest.raises(PhotoRefused, match="larger than 40 MB"):
        take_in(file)
    assert file.served_bytes < 41_000_000


def test_size_limit_itself_is_allowed() -> None:
    content = encoded(quartered())
    assert take_in(BytesIO(content), len(content)).width == 320
    assert "larger" in refused(content, len(content) - 1)


def test_heif_is_taken_where_the_extra_is_there() -> None:
    heif = pytest.importorskip("pillow_heif", reason="the heic extra is not installed")
    out = BytesIO()
    heif.from_pillow(quartered()).save(out)
    assert_quartered(shown(taken(out.getvalue())), tolerance=20)


def test_heif_is_refused_in_words_where_it_is_not(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pillow_heif", None)
    assert "HEIC" in refused(b"\x00\x00\x00\x18ftypheic" + bytes(100))


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(["JPEG", "PNG", "WEBP"]), st.integers(0, 5000), st.binary(min_size=1, max_size=40))
@pytest.mark.filterwarnings("ignore::UserWarning:PIL")
def test_damage_anywhere_gives_a_clean_picture_or_words(kind: str, at: int, damage: bytes) -> None:
    content = bytearray(encoded(quartered(64, 48), kind, exif=exif(6)))
    at %= len(content)
    content[at : at + len(damage)] = damage
    with contextlib.suppress(PhotoRefused):
        photo = taken(bytes(content))
        assert all(0xE1 not in jpeg_segments(jpeg) for jpeg in photo.renditions.values())


def test_two_are_worked_on_at_once_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    inside, most, lock = 0, 0, threading.Lock()

    def slow(file: object, received_hash: str) -> None:
        nonlocal inside, most
        with lock:
            inside += 1
            most = max(most, inside)
        time.sleep(0.03)
        with lock:
            inside -= 1

    monkeypatch.setattr(photos, "_render", slow)
    threads = [threading.Thread(target=take_in, args=(BytesIO(b"x"),)) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most == 2


# Keeping


def test_store_and_erase(tmp_path: Path) -> None:
    photo = taken(encoded(quartered()))
    photos.store(tmp_path, KEY, photo)
    photos.store(tmp_path, KEY, photo)  # a repeat from the phone is harmless
    for rendition, jpeg in photo.renditions.items():
        assert photos.path(tmp_path, KEY, rendition).read_bytes() == jpeg
    files = [file.relative_to(tmp_path) for file in tmp_path.rglob("*") if file.is_file()]
    assert sorted(map(str, files)) == [f"6f/1c/{KEY.hex}-{name}.jpg" for name in ("full", "screen", "thumb")]
    photos.erase(tmp_path, KEY)
    assert not [file for file in tmp_path.rglob("*") if file.is_file()]


def test_erase_leaves_the_neighbours_and_forgives_what_is_gone(tmp_path: Path) -> None:
    photo = taken(encoded(quartered()))
    neighbour = UUID(int=KEY.int + 1)
    photos.store(tmp_path, neighbour, photo)
    photos.erase(tmp_path, KEY)
    photos.erase(tmp_path / "nowhere", KEY)
    assert photos.path(tmp_path, neighbour, "full").exists()


def test_disk_full_leaves_nothing_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    photo = taken(encoded(quartered()))
    monkeypatch.setattr(photos.os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        photos.store(tmp_path, KEY, photo)
    assert not [file for file in tmp_path.rglob("*") if file.is_file()]


def test_power_cut_before_the_rename_leaves_the_old_picture_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cut(draft: Path, target: Path) -> None:
        raise OSError("power cut")

    first, second = taken(encoded(quartered())), taken(encoded(quartered(200, 150)))
    photos.store(tmp_path, KEY, first)
    monkeypatch.setattr(Path, "replace", cut)
    with pytest.raises(OSError, match="power cut"):
        photos.store(tmp_path, KEY, second)
    for rendition, jpeg in first.renditions.items():
        assert photos.path(tmp_path, KEY, rendition).read_bytes() == jpeg


def test_path_knows_the_renditions_only(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="rendition"):
        photos.path(tmp_path, KEY, "../../secret")
