"""A loaf's pictures sorted for comparing: each bar, seen from the same side, over time."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from curelog.models.facts import Bar, Photo

SUBJECTS = [value for value, _ in Photo.Subject.choices]


@dataclass(frozen=True)
class Strip:
    """Pictures of the same thing, oldest first. Without a bar: of the loaf, or of a bar that nobody named."""

    bar: Bar | None
    subject: str
    photos: tuple[Photo, ...]

    @property
    def title(self) -> str:
        words = self.photos[0].get_subject_display()
        return f"{words}, {self.bar}" if self.bar else words


@dataclass(frozen=True)
class Pair:
    first: Photo
    second: Photo | None


def strips(photos: Iterable[Photo]) -> list[Strip]:
    """Those without a bar first, then by the bar's number. Within a strip the order of `photos` is kept."""
    found = groupby(sorted(photos, key=_place), key=_place)
    members = (tuple(group) for _, group in found)
    return [Strip(group[0].bar, group[0].subject, group) for group in members]


def _place(photo: Photo) -> tuple[int, int]:
    return photo.bar.number if photo.bar else 0, SUBJECTS.index(photo.subject)


def pair(known: list[Strip], first: str, second: str) -> Pair | None:
    """The two that were asked for by key. Where one is missing, the other end of the same strip stands in for it."""
    by_key = {str(photo.pk): (strip, photo) for strip in known for photo in strip.photos}
    if first in by_key and second in by_key and first != second:
        return Pair(by_key[first][1], by_key[second][1])
    asked = by_key.get(first) or by_key.get(second)
    if asked:
        return _with_its_like(*asked)
    fullest = max(known, key=lambda strip: len(strip.photos), default=None)
    return _with_its_like(fullest, fullest.photos[0]) if fullest else None


def _with_its_like(strip: Strip, photo: Photo) -> Pair:
    oldest, newest = strip.photos[0], strip.photos[-1]
    if len(strip.photos) == 1:
        return Pair(photo, None)
    return Pair(oldest, photo) if photo == newest else Pair(photo, newest)
