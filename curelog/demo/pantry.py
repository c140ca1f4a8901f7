"""What stands on the demo's shelf: bought from invented suppliers, and made here."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID, uuid5

from curelog.actions.lots import PartTaken, keep_lot
from curelog.domain import fats
from curelog.models import Lot, Person
from curelog.models.lots import ALKALI_NAMES

NAMESPACE = UUID("6f1f0b0e-3c58-4c0f-9f53-0f3f1d6a9c12")
TARN_END, HOBBLE, GREYFOLD, MARROW = (
    "Tarn End Oils",
    "Hobble Lane Mill",
    "Greyfold Chemists",
    "Marrow & Thistle",
)


@dataclass(frozen=True, slots=True)
class Delivery:
    """`what`: a fat's key, naoh or koh, or an additive's name. `keeps_days` after it came."""

    what: str
    supplier: str
    code: str
    days_ago: int
    kg: float
    price: float
    keeps_days: int | None = None
    saponification_value: float | None = None
    peroxide_value: float | None = None
    is_opened: bool = True
    is_used_up: bool = False


DELIVERIES = (
    Delivery("lard", HOBBLE, "HL-2207", 320, 5, 21.0, 400, 193.4, is_used_up=True),
    Delivery("lard", HOBBLE, "HL-2291", 165, 8, 34.5, 400, 194.1),
    Delivery("olive", TARN_END, "TE-88103", 310, 5, 47.0, 540, 185.9, 9.0),
    Delivery("olive", TARN_END, "TE-88877", 168, 10, 96.0, 540, 186.3, 7.5),
    Delivery("coconut", TARN_END, "TE-85540", 310, 10, 42.0, 540, 249.2),
    Delivery("castor", TARN_END, "TE-86012", 310, 2, 17.0, 340, 177.8),
    Delivery("tallow", HOBBLE, "HL-2210", 300, 5, 19.5, 420),
    Delivery("shea", MARROW, "MT-0419", 250, 1, 14.0, 700),
    Delivery("cocoa_butter", MARROW, "MT-0402", 300, 2, 31.0, 700),
    Delivery("sunflower_high_oleic", TARN_END, "TE-86630", 290, 5, 18.0, 330, peroxide_value=11.5),
    Delivery("sunflower_high_oleic", TARN_END, "TE-89415", 12, 5, 19.0, 365, is_opened=False),
    Delivery("naoh", GREYFOLD, "GC-51-0077", 320, 10, 38.0),
    Delivery("koh", GREYFOLD, "GC-52-0013", 320, 1, 9.5),
    Delivery("Lavender and cedar", MARROW, "MT-F-1180", 305, 0.4, 52.0, 330),
    Delivery("Fine sea salt", HOBBLE, "S-14", 305, 5, 6.0),
    Delivery("Green clay", MARROW, "MT-0377", 305, 0.5, 7.0),
)


class Pantry:
    """Lots by what they are, newest first."""

    def __init__(self, today: date, by: Person) -> None:
        self.today, self.by = today, by
        self.by_what: Mapping[str, list[tuple[int, Lot]]] = defaultdict(list)
        for told in sorted(DELIVERIES, key=lambda told: told.days_ago):
            self.by_what[told.what].append((told.days_ago, self._lot(told)))
        Lot.objects.bulk_create(lot for lots in self.by_what.values() for _, lot in lots)

    def on_shelf(self, what: str, days_ago: float) -> Lot | None:
        """The latest that had come by then."""
        return next((lot for came, lot in self.by_what.get(what, ()) if came >= days_ago), None)

    def keep_soap(self, name: str, code: str, days_ago: float, parts: list[PartTaken]) -> Lot:
        soap = Lot(
            id=uuid5(NAMESPACE, code),
            kind=Lot.Kind.SOAP,
            name=name,
            code=code,
            received_g=sum(part.mass_g for part in parts),
            received_on=self.today - timedelta(days=days_ago),
            made_by=self.by,
            is_retired=True,
        )
        return keep_lot(soap, parts)

    def _lot(self, told: Delivery) -> Lot:
        came = self.today - timedelta(days=told.days_ago)
        kind, key, name = _named(told.what)
        return Lot(
            id=uuid5(NAMESPACE, told.code),
            kind=kind,
            key=key,
            name=name,
            supplier=told.supplier,
            code=told.code,
            received_on=came,
            opened_on=came + timedelta(days=4) if told.is_opened else None,
            best_before=came + timedelta(days=told.keeps_days) if told.keeps_days else None,
            received_g=told.kg * 1000,
            price=told.price,
            saponification_value=told.saponification_value,
            peroxide_value=told.peroxide_value,
            is_retired=told.is_used_up,
            made_by=self.by,
        )


def _named(what: str) -> tuple[str, str, str]:
    if what in ALKALI_NAMES:
        return Lot.Kind.ALKALI, what, ALKALI_NAMES[what]
    if what[0].isupper():
        return Lot.Kind.ADDITIVE, "", what
    return Lot.Kind.FAT, what, fats.find(what).name
