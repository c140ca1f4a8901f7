"""Bars of a released loaf: how many left, which way, and how many are still here."""

from collections import Counter
from dataclasses import dataclass

from curelog.models.record import Record
from curelog.models.sale import Leaving, Release


@dataclass(frozen=True)
class Stock:
    """Counts of bars. `here` is negative when more left than were released: somebody miscounted."""

    released: int
    retained: int
    gone: dict[str, int]

    @property
    def here(self) -> int:
        return self.released - sum(self.gone.values())


def stock_of(record: Record) -> Stock | None:
    """None before a release. Bars that left earlier, for a test say, are not among those released."""
    release = record.first(Release)
    if release is None:
        return None
    gone: Counter[str] = Counter()
    for leaving in record.standing(Leaving):
        if leaving.happened_at >= release.happened_at:
            gone[leaving.kind] += leaving.bar_count
    return Stock(release.bar_count, release.retained_count, dict(gone))


def bars_to_release(record: Record) -> int | None:
    """All bars of the cut, less those that left before. None when no cut is known."""
    if record.cut is None:
        return None
    return record.cut.bar_count - sum(leaving.bar_count for leaving in record.standing(Leaving))
