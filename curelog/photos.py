"""Taking in photos from a phone: checked, turned upright, stripped of what travels with them, bounded, kept.

A picture is never kept as sent. It is decoded and drawn anew as JPEG in sRGB, so place, camera, thumbnail and
comment stay behind; only the hash of the bytes received and the hour it was taken remain.
"""

import contextlib
import hashlib
import os
import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from pathlib import Path
from threading import BoundedSemaphore
from typing import IO
from uuid import UUID

from PIL import ExifTags, Image, ImageCms
from PIL.Image import Transpose
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.WebPImagePlugin import WebPImageFile

LONG_SIDE_PX: Mapping[str, int] = {"full": 2048, "screen": 960, "thumb": 240}
SIZE_LIMIT_BYTES = 40_000_000
MOST_PIXELS = 64_000_000  # below Pillow's own limit, so that its process-wide warning is never reached
MOST_ELONGATED = 12  # long side : short side; a panorama has about 5

_CHUNK_BYTES = 256 * 1024
_JPEG_QUALITY = 82
_HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1")
_TURNS = {
    2: Transpose.FLIP_LEFT_RIGHT,
    3: Transpose.ROTATE_180,
    4: Transpose.FLIP_TOP_BOTTOM,
    5: Transpose.TRANSPOSE,
    6: Transpose.ROTATE_270,
    7: Transpose.TRANSVERSE,
    8: Transpose.ROTATE_90,
}
# At the limits a JPEG takes some 200 MB of memory, a WebP nearly 1 GB: more at once would win no time.
_two_at_once = BoundedSemaphore(2)


class PhotoRefused(ValueError):
    """A file that is not kept; `words` tells the maker why and what to do."""

    def __init__(self, words: str) -> None:
        super().__init__(words)
        self.words = words


@dataclass(frozen=True, slots=True)
class TakenPhoto:
    """`width`, `height`: px of the full rendition, upright. `taken_at`: by the camera's clock, no zone."""

    sha256_received: str
    width: int
    height: int
    renditions: Mapping[str, bytes]
    taken_at: datetime | None


def take_in(file: IO[bytes], size_limit: int = SIZE_LIMIT_BYTES) -> TakenPhoto:
    """Make the renditions of a seekable file, or raise PhotoRefused. Of a moving picture: the first frame."""
    received_hash = _hash_within(file, size_limit)
    with _two_at_once:
        try:
            return _render(file, received_hash)
        except PhotoRefused:
            raise
        except Image.DecompressionBombError as error:
            raise _too_many_pixels() from error
        except (
            Exception
        ) as error:  # decoders fail in many ways on hostile bytes; none may become a server error
            raise PhotoRefused(
                "The picture is damaged or incomplete. Please take or send it again."
            ) from error


def _hash_within(file: IO[bytes], size_limit: int) -> str:
    digest, received_bytes = hashlib.sha256(), 0
    file.seek(0)
    while chunk := file.read(_CHUNK_BYTES):
        received_bytes += len(chunk)
        if received_bytes > size_limit:
            raise PhotoRefused(
                f"The file is larger than {size_limit / 1e6:.0f} MB. Please send a smaller picture."
            )
        digest.update(chunk)
    if not received_bytes:
        raise PhotoRefused("The file is empty. Please choose the photo again.")
    return digest.hexdigest()


def _render(file: IO[bytes], received_hash: str) -> TakenPhoto:
    file.seek(0)
    opener = _opener(file.read(512))
    file.seek(0)
    with opener(file) as image:
        _check_measures(*image.size)
        image.draft(None, _bounded_size(image.size, LONG_SIDE_PX["full"]))
        image.load()
        taken_at = _taken_at(image)
        picture = _upright_in_srgb(image)
    renditions = {}
    width, height = picture.size
    for name, long_side_px in LONG_SIDE_PX.items():
        picture = _bounded(picture, long_side_px)
        renditions[name] = _as_jpeg(picture)
    return TakenPhoto(received_hash, width, height, renditions, taken_at)


def _opener(head: bytes) -> Callable[[IO[bytes]], Image.Image]:
    """The one decoder that these first bytes call for.

    Decoders are named, not found by Image.open: that would take a phone's JPEG with a depth map for several
    pictures, and warn of large ones through a filter that all threads share.
    """
    if head.startswith(b"\xff\xd8\xff"):
        return JpegImageFile
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return PngImageFile
    if head.startswith(b"RIFF") and head[8:12] == b"WEBP":
        return WebPImageFile
    if head[4:8] == b"ftyp" and head[8:12] in _HEIF_BRANDS:
        return _heif_opener()
    if b"<svg" in head.lower():
        raise PhotoRefused("This is a drawing (SVG), not a photo. Please send a JPEG, PNG or WebP picture.")
    raise PhotoRefused(
        "This file is not a photo that can be read here. Please send a JPEG, PNG or WebP picture."
    )


def _heif_opener() -> Callable[[IO[bytes]], Image.Image]:
    try:
        from pillow_heif import HeifImageFile
    except ImportError:
        raise PhotoRefused("HEIC photos cannot be read here. Please send the photo as JPEG.") from None
    opener: Callable[[IO[bytes]], Image.Image] = HeifImageFile
    return opener


def _check_measures(width: int, height: int) -> None:
    """Judged by the header alone, before a pixel is decoded."""
    if width * height > MOST_PIXELS:
        raise _too_many_pixels()
    if max(width, height) > MOST_ELONGATED * min(width, height):
        raise PhotoRefused(
            "The picture is a very narrow strip. Please send one with more ordinary proportions."
        )


def _too_many_pixels() -> PhotoRefused:
    return PhotoRefused(
        f"The picture has more than {MOST_PIXELS / 1e6:.0f} megapixels. Please send it in a smaller size."
    )


def _taken_at(image: Image.Image) -> datetime | None:
    try:
        words = image.getexif().get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal]
        return datetime.strptime(words.strip("\0 "), "%Y:%m:%d %H:%M:%S")
    except Exception:  # broken EXIF raises nearly anything; the picture is good without its hour
        return None


def _turn(image: Image.Image) -> Transpose | None:
    try:
        return _TURNS.get(image.getexif().get(ExifTags.Base.Orientation, 1))
    except Exception:  # as above
        return None


def _upright_in_srgb(image: Image.Image) -> Image.Image:
    # Shrunk first: turning and colour cost by the pixel.
    picture = _bounded(_in_eight_bits(image), LONG_SIDE_PX["full"])
    turn = _turn(image)
    if turn is not None:  # the first of Pillow's turns counts as false
        picture = picture.transpose(turn)
    if picture.mode == "RGBA":
        picture = _on_white(picture)
    return _in_srgb(picture, image.info.get("icc_profile"))


def _in_eight_bits(image: Image.Image) -> Image.Image:
    """As L, RGB, RGBA or CMYK, the modes that shrink without harm."""
    if image.mode.startswith("I"):
        # Pillow would clip 16-bit greys at 255 instead of scaling them.
        return image.convert("I").point(lambda grey: grey * (1 / 257) + 0.5).convert("L")
    if image.has_transparency_data and image.mode != "RGBA":
        return image.convert("RGBA")
    return image if image.mode in ("L", "RGB", "RGBA", "CMYK") else image.convert("RGB")


def _on_white(picture: Image.Image) -> Image.Image:
    return Image.alpha_composite(Image.new("RGBA", picture.size, "white"), picture).convert("RGB")


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    if profile:
        # A profile that is broken, or made for other channels, is worth less than the picture.
        with contextlib.suppress(ImageCms.PyCMSError, OSError, ValueError, TypeError):
            source = ImageCms.ImageCmsProfile(BytesIO(profile))
            target = ImageCms.createProfile("sRGB")
            transform = ImageCms.buildTransform(source, target, picture.mode, "RGB")
            picture = ImageCms.applyTransform(picture, transform) or picture
    return picture.convert("RGB")


def _bounded_size(size: tuple[int, int], long_side_px: int) -> tuple[int, int]:
    scale = min(1.0, long_side_px / max(size))
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


def _bounded(picture: Image.Image, long_side_px: int) -> Image.Image:
    size = _bounded_size(picture.size, long_side_px)
    return (
        picture if size == picture.size else picture.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)
    )


def _as_jpeg(picture: Image.Image) -> bytes:
    picture.info.clear()  # Pillow would write a comment found there
    out = BytesIO()
    picture.save(out, "JPEG", quality=_JPEG_QUALITY, progressive=True)
    return out.getvalue()


def path(root: Path, key: UUID, rendition: str) -> Path:
    """Where a rendition lies: named by the key alone, nothing of what the user called the file."""
    if rendition not in LONG_SIDE_PX:
        raise ValueError(f"no such rendition: {rendition}")
    return root / key.hex[:2] / key.hex[2:4] / f"{key.hex}-{rendition}.jpg"


def store(root: Path, key: UUID, photo: TakenPhoto) -> None:
    """Keep all renditions, each whole or not at all; doing it again with the same key is harmless."""
    for rendition, jpeg in photo.renditions.items():
        _write_whole(path(root, key, rendition), jpeg)


def erase(root: Path, key: UUID) -> None:
    """Remove every rendition, and what a broken store may have left; one that is not there is no fault."""
    folder = path(root, key, "full").parent
    for left in folder.glob(f"{key.hex}-*"):
        left.unlink(missing_ok=True)
    if folder.is_dir():
        _sync_folder(folder)


def _write_whole(target: Path, content: bytes) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    draft = target.with_name(f"{target.name}.{secrets.token_hex(4)}.part")
    try:
        with draft.open("xb") as out:
            out.write(content)
            out.flush()
            # The phone drops its own copy on our word, so the bytes must be on the disk, not on their way.
            os.fsync(out.fileno())
        draft.replace(target)
    finally:
        draft.unlink(missing_ok=True)
    for folder in (target.parent, target.parent.parent, target.parent.parent.parent):
        _sync_folder(folder)


def _sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
