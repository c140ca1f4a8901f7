"""What lies on each place now. How much a place holds is nowhere noted, so only an empty one is called free."""

from collections import defaultdict
from dataclasses import dataclass

from curelog.models.outlook import active
from curelog.models.places import Place
from curelog.models.record import Record
from curelog.models.sale import Release
from curelog.models.stock import bars_to_release, stock_of


@dataclass(frozen=True)
class Rack:
    place: Place
    records: list[Record]
    samples: int

    @property
    def bars(self) -> int:
        """Of the loaves that are cut, less what left."""
        return sum(bars_of(record) for record in self.records)


def bars_of(record: Record) -> int:
    stock = stock_of(record)
    return max(0, stock.here if stock else bars_to_release(record) or 0)


def racks() -> list[Rack]:
    """In the order of the round, without those given up."""
    lying: dict[object, list[Record]] = defaultdict(list)
    samples: dict[object, int] = defaultdict(int)
    for record in map(Record, active()):
        if record.place:
            lying[record.place.pk].append(record)
        if record.sample_place and (release := record.first(Release)):
            samples[record.sample_place.pk] += release.retained_count
    places = Place.objects.filter(is_retired=False)
    return [Rack(place, lying[place.pk], samples[place.pk]) for place in places]
