"""What lies on each place now. How much a place holds is nowhere noted, so only an empty one is called free."""

from collections import defaultdict
from dataclasses import dataclass

from curelog.models.outlook import active
from curelog.models.places import Place
from curelog.models.record import Record


@dataclass(frozen=True)
class Rack:
    place: Place
    records: list[Record]

    @property
    def bars(self) -> int:
        """Of the loaves that are cut."""
        return sum(record.cut.bar_count for record in self.records if record.cut)


def racks() -> list[Rack]:
    """In the order of the round, without those given up."""
    lying: dict[object, list[Record]] = defaultdict(list)
    for record in map(Record, active()):
        if record.place:
            lying[record.place.pk].append(record)
    return [Rack(place, lying[place.pk]) for place in Place.objects.filter(is_retired=False)]
