"""Places to cure in, and putting a loaf on one."""

from django.db import transaction
from django.db.models import Max

from curelog.actions.keeping import Told, keep
from curelog.models import Loaf, Move, Place


def add_place(name: str) -> Place:
    """Behind all others. Two phones that name the same new place mean the same one."""
    known = Place.objects.filter(name__iexact=name).first()
    if known:
        if known.is_retired:
            retire_place(known, False)
        return known
    last = Place.objects.aggregate(last=Max("order"))["last"]
    return Place.objects.create(name=name, order=0 if last is None else last + 1)


def rename_place(place: Place, name: str) -> None:
    place.name = name
    place.save(update_fields=["name"])


def retire_place(place: Place, is_retired: bool) -> None:
    """It is offered no more; what lies there stays until it is moved."""
    place.is_retired = is_retired
    place.save(update_fields=["is_retired"])


@transaction.atomic
def shift_place(place: Place, by: int) -> None:
    """Up (-1) or down (1) in the order of the round."""
    places = list(Place.objects.select_for_update().filter(is_retired=False))
    here = places.index(place)
    there = min(max(here + by, 0), len(places) - 1)
    places.insert(there, places.pop(here))
    for order, each in enumerate(places):
        each.order = order
    Place.objects.bulk_update(places, ["order"])


def move(loaf: Loaf, told: Told, place: Place, part: str = Move.Part.BARS) -> Move:
    # A sample outlives its loaf: like a note it may come at any time.
    act = "note" if part == Move.Part.SAMPLE else "move"
    return keep(Move(loaf=loaf, place=place, part=part, **told.fields), act)
