"""Bars of a released loaf: how many left, which way, and how many are still here."""

from collections import Counter
from dataclasses import dataclass

from curelog.models.record import Record
from curelog.models.sale import Leaving, Release


@dataclass(frozen=True)
class Stock:
    """`leavings`, oldest first, of what was released."""

    release: Release
    leavings: tuple[Leaving, ...]

    @property
    def gone(self) -> list[tuple[str, int]]:
        """Which way, and how many bars."""
        counts: Counter[str] = Counter()
        for leaving in self.leavings:
            counts[leaving.get_kind_display()] += leaving.bar_count
        return counts.most_common()

    @property
    def here(self) -> int:
        """Negative when more left than were released: somebody miscounted."""
        return self.release.bar_count - sum(leaving.bar_count for leaving in self.leavings)


def stock_of(record: Record) -> Stock | None:
    """None before a release. Bars that left earlier, for a test say, are not among those released."""
    release = record.first(Release)
    if release is None:
        return None
    gone = (fact for fact in record.standing(Leaving) if fact.happened_at >= release.happened_at)
    return Stock(release, tuple(gone))


def bars_to_release(record: Record) -> int | None:
    """All bars of the cut, less those that left before. None when no cut is known."""
    if record.cut is None:
        return None
    return record.cut.bar_count - sum(leaving.bar_count for leaving in record.standing(Leaving))
