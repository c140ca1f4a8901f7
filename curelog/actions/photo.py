"""A photo: cleaned, stored outside the web root, then told as a fact."""

from typing import BinaryIO

from django.conf import settings

from curelog import photos
from curelog.actions.keeping import OtherBody, Told, keep
from curelog.models import Bar, Loaf, Photo


def photograph(
    loaf: Loaf, told: Told, taken: photos.TakenPhoto, subject: str, bar: Bar | None = None
) -> Photo:
    """The files are written first: a fact never points at a picture that is not on the disk."""
    known = Photo.objects.filter(pk=told.key).first()
    if known and known.sha256_received != taken.sha256_received:
        raise OtherBody
    photos.store(settings.PHOTO_DIR, told.key, taken)
    fact = Photo(
        loaf=loaf,
        subject=subject,
        bar=bar,
        sha256_received=taken.sha256_received,
        width=taken.width,
        height=taken.height,
        **told.fields,
    )
    return keep(fact, "photo")


def take_in(file: BinaryIO) -> photos.TakenPhoto:
    """Raises photos.PhotoRefused with words for the person."""
    return photos.take_in(file, size_limit=settings.PHOTO_LIMIT_BYTES)
