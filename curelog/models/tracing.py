"""From a lot to every batch with it and to whom its bars went; from a batch back to its lots.

Made for a workshop of thousands of batches: rows are read as plain values, the batches of a lot are a subquery, and
the number of queries depends only on how many times something was made of something.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from curelog.models.fact import Fact
from curelog.models.facts import Cut, Finish
from curelog.models.loaves import Batch, BatchAdditive, BatchFat
from curelog.models.lots import Lot, LotPart
from curelog.models.places import Move
from curelog.models.record import standing
from curelog.models.sale import Leaving, Release

NOBODY = "not noted to whom"
# Of a loaf that was finished with bars of which nobody said where they went.
FINISHED_WAYS = {
    str(Finish.Reason.GONE): "sold, given away or used, not noted which",
    str(Finish.Reason.THROWN): "thrown away",
}


@dataclass(frozen=True, slots=True)
class Left:
    """Bars that went one way on one day."""

    at: datetime
    kind: str
    bar_count: int
    to_whom: str

    @property
    def way(self) -> str:
        return FINISHED_WAYS.get(self.kind) or str(Leaving.Kind(self.kind).label)

    @property
    def is_with_somebody(self) -> bool:
        """What was kept, tested or thrown away went to nobody."""
        return self.kind in (Leaving.Kind.SOLD, Leaving.Kind.GIVEN, Finish.Reason.GONE)


@dataclass(slots=True)
class TracedBatch:
    """`bars` and `here` are None before the cut. Here: for sale or not released; `retained` lie at `kept_at`."""

    key: UUID
    number: str
    name: str
    poured_at: datetime
    bars: int | None = None
    retained: int = 0
    kept_at: dict[str, None] = field(default_factory=dict)
    left: list[Left] = field(default_factory=list)
    here: int | None = None


@dataclass(frozen=True)
class Buyer:
    to_whom: str
    bar_count: int
    numbers: tuple[str, ...]
    last_at: datetime


@dataclass(frozen=True)
class Trace:
    """Batches, newest first, and what else was made of the lot or batch asked about."""

    batches: tuple[TracedBatch, ...]
    made: tuple[Lot, ...]

    @cached_property
    def buyers(self) -> list[Buyer]:
        """Whom to tell, most bars first."""
        bars: dict[str, int] = defaultdict(int)
        numbers: dict[str, dict[str, None]] = defaultdict(dict)
        last: dict[str, datetime] = {}
        for batch in self.batches:
            for left in batch.left:
                if left.is_with_somebody:
                    name = left.to_whom or NOBODY
                    bars[name] += left.bar_count
                    numbers[name][batch.number] = None
                    last[name] = max(left.at, last.get(name, left.at))
        found = [Buyer(name, bars[name], tuple(numbers[name]), last[name]) for name in bars]
        return sorted(found, key=lambda buyer: -buyer.bar_count)

    @property
    def bars_gone(self) -> int:
        return sum(buyer.bar_count for buyer in self.buyers)

    @property
    def bars_here(self) -> int:
        return sum(max(0, batch.here or 0) for batch in self.batches)


def batches_with(lots: Iterable[UUID]) -> Q:
    """Each of the ways a lot goes into a batch as a subquery of its own: one index each, no join over all."""
    keys = list(lots)
    fats = BatchFat.objects.filter(from_lot__in=keys).order_by().values("batch")
    extras = BatchAdditive.objects.filter(from_lot__in=keys).order_by().values("batch")
    return Q(pk__in=fats) | Q(pk__in=extras) | Q(lye_from__in=keys) | Q(koh_from__in=keys)


def trace_lot(lot: Lot) -> Trace:
    return _trace({lot.pk}, Q(pk__in=[]))


def trace_batch(batch: Batch) -> Trace:
    """Forward: the batch itself, and what its soap went into."""
    return _trace(set(), Q(pk=batch.pk))


def _trace(start: set[UUID], own: Q) -> Trace:
    known, reached = set(start), own | batches_with(start)
    while new := _made_of(known, reached) - known:
        known |= new
        reached = own | batches_with(known)
    made = Lot.objects.filter(pk__in=known - start) if known - start else ()
    return Trace(_traced(Batch.objects.filter(reached)), tuple(made))


def _made_of(lots: set[UUID], reached: Q) -> set[UUID]:
    of_batches = Batch.objects.filter(reached).order_by().values("pk")
    parts = LotPart.objects.filter(Q(source__in=lots) | Q(batch__in=of_batches))
    return set(parts.order_by().values_list("lot", flat=True))


def _traced(batches: QuerySet[Batch]) -> tuple[TracedBatch, ...]:
    """Loaves go by number and letter: making keys of thousands of rows would take longer than reading them."""
    columns = batches.order_by("-poured_at").values_list("pk", "number", "name", "poured_at")
    found = {row[1]: TracedBatch(*row) for row in columns}
    keys = batches.order_by().values("pk")
    here: dict[tuple[str, str], int] = defaultdict(int)
    released_at = _add_released(found, keys, here)
    for number, letter, bars in _once(_told(Cut, keys, "bar_count")):
        if (number, letter) not in released_at:
            _add_bars(found[number], bars, 0)
            here[number, letter] = bars
    for number, letter, *told in _told(Leaving, keys, "happened_at", "kind", "bar_count", "to_whom"):
        batch, left = found[number], Left(*told)
        batch.left.append(left)
        # Bars that left before the release, for a test say, are not among those released.
        if batch.here is not None and left.at >= released_at.get((number, letter), left.at):
            batch.here -= left.bar_count
            here[number, letter] -= left.bar_count
    for number, letter, at, reason in _once(_told(Finish, keys, "happened_at", "reason")):
        if (rest := here[number, letter]) > 0:
            found[number].left.append(Left(at, reason, rest, ""))
            found[number].here = (found[number].here or 0) - rest
    return tuple(found.values())


def _add_released(
    found: dict[str, TracedBatch], batches: Any, here: dict[tuple[str, str], int]
) -> dict[tuple[str, str], datetime]:
    columns = ("happened_at", "bar_count", "retained_count", "sample_place__name")
    samples = _told(Move, batches, "place__name").filter(part=Move.Part.SAMPLE)
    moved_to = {(number, letter): place for number, letter, place in samples}
    released_at = {}
    for number, letter, at, bars, retained, place in _once(_told(Release, batches, *columns)):
        batch = found[number]
        _add_bars(batch, bars, retained)
        batch.kept_at.setdefault(moved_to.get((number, letter), place) or "")
        released_at[number, letter], here[number, letter] = at, bars
    return released_at


def _add_bars(batch: TracedBatch, for_sale: int, retained: int) -> None:
    batch.bars = (batch.bars or 0) + for_sale + retained
    batch.here = (batch.here or 0) + for_sale
    batch.retained += retained


def _told(kind: type[Fact], batches: Any, *columns: str) -> QuerySet[Any, tuple[Any, ...]]:
    """Standing facts as plain values, after the loaf they are about."""
    told = standing(kind).filter(loaf__batch__in=batches).order_by("happened_at", "received_at")
    return told.values_list("loaf__batch__number", "loaf__letter", *columns)


def _once(rows: Iterable[tuple[Any, ...]]) -> Iterable[tuple[Any, ...]]:
    """Of what can be only once to a loaf the first counts."""
    first: dict[tuple[str, str], tuple[Any, ...]] = {}
    for row in rows:
        first.setdefault((row[0], row[1]), row)
    return first.values()
