"""Cut faces of a loaf: as strips over time, and two of them against each other."""

from dataclasses import dataclass
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from curelog.models import Loaf, Photo
from curelog.models.faces import Pair, pair, strips
from curelog.models.record import Record, with_facts
from curelog.views.access import Request


@dataclass(frozen=True)
class Shown:
    """A photo of a strip, with the links that put it on either side. Empty: it is there already."""

    photo: Photo
    day: int | None
    as_first: str
    as_second: str


@dataclass(frozen=True)
class Side:
    name: str
    photo: Photo
    day: int | None


def faces(request: Request, key: UUID) -> HttpResponse:
    loaf = get_object_or_404(with_facts(Loaf.objects.all()), pk=key)
    record = Record(loaf)
    known = strips(record.standing(Photo))
    chosen = pair(known, request.GET.get("a", ""), request.GET.get("b", ""))
    context = {
        "loaf": loaf,
        "sides": sides(record, chosen) if chosen else [],
        "strips": [
            (strip.title, [shown(record, photo, chosen) for photo in strip.photos]) for strip in known
        ],
    }
    return render(request, "loaves/faces.html", context)


def sides(record: Record, chosen: Pair) -> list[Side]:
    photos = (("1st", chosen.first), ("2nd", chosen.second))
    return [Side(name, photo, cure_day(record, photo)) for name, photo in photos if photo]


def shown(record: Record, photo: Photo, chosen: Pair | None) -> Shown:
    assert chosen  # where there is a photo, there is one to look at
    first, second = chosen.first, chosen.second
    # Put on the side opposite to its own, a photo changes places with the other.
    as_first = "" if photo == first else link(photo, first if photo == second else second)
    as_second = "" if photo == second else link(second if photo == first else first, photo)
    return Shown(photo, cure_day(record, photo), as_first, as_second)


def link(first: Photo | None, second: Photo | None) -> str:
    keys = {side: str(photo.pk) for side, photo in (("a", first), ("b", second)) if photo}
    return f"?{urlencode(keys)}#compare"


def cure_day(record: Record, photo: Photo) -> int | None:
    """Whole days from the cut. None before it."""
    if not record.cut or photo.happened_at < record.cut_at:
        return None
    return (photo.happened_at - record.cut_at).days
