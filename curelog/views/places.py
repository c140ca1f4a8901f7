"""Racks and places: what lies where, and the list of places in the order of the round."""

from collections import defaultdict
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from curelog.actions.place import add_place, rename_place, retire_place, shift_place
from curelog.forms.place import PlaceForm
from curelog.marks import LoafMark, mark
from curelog.models import Place
from curelog.models.outlook import Outlook, active, outlooks
from curelog.views.access import Request

UP, DOWN = "up", "down"


def racks(request: Request) -> HttpResponse:
    """Every place in use with its loaves, and the loaves of which nobody said where they lie."""
    lying: dict[UUID | None, list[tuple[Outlook, LoafMark]]] = defaultdict(list)
    for seen in outlooks(active(), request.workshop, timezone.now()):
        lying[seen.record.place.pk if seen.record.place else None].append((seen, mark(seen)))
    shown = [place for place in Place.objects.all() if not place.is_retired or lying[place.pk]]
    context = {"racks": [(place, lying[place.pk]) for place in shown], "nowhere": lying[None]}
    return render(request, "places/racks.html", context)


def places(request: Request) -> HttpResponse:
    form = PlaceForm(request.POST or None, workshop=request.workshop)
    if form.is_valid():
        place = add_place(form.cleaned_data["name"])
        messages.success(request, f"{place} is added.", extra_tags="good")
        return redirect("places")
    context = {"form": form, "shelves": Place.objects.order_by("is_retired", "order", "name")}
    return render(request, "places/index.html", context, status=422 if form.is_bound else 200)


def place(request: Request, key: UUID) -> HttpResponse:
    known = get_object_or_404(Place, pk=key)
    form = PlaceForm(request.POST or None, workshop=request.workshop, place=known)
    if form.is_valid():
        rename_place(known, form.cleaned_data["name"])
        messages.success(request, f"{known} is kept.", extra_tags="good")
        return redirect("places")
    context = {"form": form, "place": known}
    return render(request, "places/place.html", context, status=422 if form.is_bound else 200)


@require_POST
def shift(request: Request, key: UUID) -> HttpResponse:
    known = get_object_or_404(Place, pk=key, is_retired=False)
    shift_place(known, -1 if request.POST.get("to") == UP else 1)
    return redirect("places")


@require_POST
def retire(request: Request, key: UUID) -> HttpResponse:
    known = get_object_or_404(Place, pk=key)
    retire_place(known, not known.is_retired)
    return redirect("places")
