"""Bars for sale that are still here, by the place they lie on."""

from collections import defaultdict
from dataclasses import dataclass
from uuid import UUID

from curelog.models.facts import Finish
from curelog.models.loaves import Loaf
from curelog.models.places import Place
from curelog.models.record import Record, standing, with_facts
from curelog.models.sale import Release
from curelog.models.stock import Stock, stock_of

MOST_SAMPLES = 60


@dataclass(frozen=True)
class BarsOfLoaf:
    loaf: Loaf
    stock: Stock


@dataclass(frozen=True)
class Kept:
    """Samples kept back of a loaf, also of one that is long gone."""

    loaf: Loaf
    count: int
    place: Place | None


@dataclass(frozen=True)
class PlaceStock:
    """`place` is None for loaves of which nobody said where they lie."""

    place: Place | None
    loaves: list[BarsOfLoaf]

    @property
    def bars(self) -> int:
        return sum(each.stock.here for each in self.loaves)


def bars_by_place() -> list[PlaceStock]:
    """In the order of the round, what lies nowhere last. A loaf with none left is not told."""
    released = Loaf.objects.filter(pk__in=standing(Release).values("loaf"))
    lying: dict[UUID | None, list[BarsOfLoaf]] = defaultdict(list)
    places: dict[UUID | None, Place | None] = {}
    for loaf in with_facts(released.exclude(pk__in=standing(Finish).values("loaf"))):
        record = Record(loaf)
        stock, place = stock_of(record), record.place
        if stock and stock.here > 0:
            key = place.pk if place else None
            places[key] = place
            lying[key].append(BarsOfLoaf(loaf, stock))
    found = [PlaceStock(places[key], loaves) for key, loaves in lying.items()]
    return sorted(found, key=lambda each: (each.place is None, each.place.order if each.place else 0))


def samples_kept() -> list[Kept]:
    """The latest released first."""
    told = standing(Release).filter(retained_count__gt=0).order_by("-happened_at")
    latest = list(dict.fromkeys(told.values_list("loaf", flat=True)))[:MOST_SAMPLES]
    loaves = {loaf.pk: Record(loaf) for loaf in with_facts(Loaf.objects.filter(pk__in=latest))}
    found = [(loaves[key], loaves[key].first(Release)) for key in latest]
    return [
        Kept(record.loaf, release.retained_count, record.sample_place) for record, release in found if release
    ]
