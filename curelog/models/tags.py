"""Short codes for tags: the first 40 bits of a key in base32 (RFC 4648). Nothing is stored; two keys that begin alike
share a code, and whoever reads it is asked which one is meant."""

import base64
import binascii
from uuid import UUID

from django.db.models import QuerySet

from curelog.models.loaves import Loaf
from curelog.models.places import Place

CODE_BYTES = 5


def code_of(key: UUID) -> str:
    return base64.b32encode(key.bytes[:CODE_BYTES]).decode().lower()


def key_range(code: str) -> tuple[UUID, UUID] | None:
    """The keys that have this code; None for what is no code."""
    try:
        start = base64.b32decode(code, casefold=True)
    except (binascii.Error, ValueError):
        return None
    if len(start) != CODE_BYTES:
        return None
    rest = 16 - CODE_BYTES
    return UUID(bytes=start + b"\x00" * rest), UUID(bytes=start + b"\xff" * rest)


def tagged(code: str) -> "tuple[QuerySet[Loaf], QuerySet[Place]]":
    """What carries the code: usually one thing, hardly ever more."""
    between = key_range(code)
    if between is None:
        return Loaf.objects.none(), Place.objects.none()
    return Loaf.objects.filter(pk__range=between), Place.objects.filter(pk__range=between)
