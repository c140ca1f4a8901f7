"""Ingredient lots: the shelf, one of them, and the form."""

from uuid import UUID

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from curelog.actions.lots import count_stock, keep_lot, retire_lot
from curelog.forms.lots import LotForm, StockCountForm
from curelog.forms.mistakes import mistakes
from curelog.models import Batch, Lot
from curelog.models.shelf import on_shelf, open_lots, with_parts
from curelog.models.tracing import batches_with
from curelog.views.access import Request

USES_SHOWN = 20


def lots(request: Request) -> HttpResponse:
    shelf = open_lots(timezone.localdate())
    context = {
        "wanting": [each for each in shelf if each.concerns],
        "others": sorted((each for each in shelf if not each.concerns), key=lambda each: str(each.lot)),
        "used_up": Lot.objects.filter(is_retired=True).order_by("-made_at")[:USES_SHOWN],
    }
    return render(request, "lots/index.html", context)


def lot_of(key: UUID) -> Lot:
    return get_object_or_404(with_parts(Lot.objects.all()), pk=key)


def lot(request: Request, key: UUID) -> HttpResponse:
    """What is known of it and what is left. POST keeps a count."""
    known = lot_of(key)
    form = StockCountForm(request.POST if request.method == "POST" else None, workshop=request.workshop)
    if form.is_valid():
        data = form.cleaned_data
        count_stock(known, data["key"], data["counted_at"], request.user, data["counted_g"], data["note"])
        messages.success(request, "The count is kept.", extra_tags="good")
        return redirect("lot", key)
    poured = batches_of(known)
    context = {
        "each": on_shelf([known], timezone.localdate())[0],
        "lot": known,
        "form": form,
        "counts": known.counts.select_related("by").order_by("-counted_at"),
        "batches": poured[:USES_SHOWN],
        "more": max(0, poured.count() - USES_SHOWN),
        "made": [part.lot for part in known.uses.select_related("lot")],
    }
    return render(request, "lots/lot.html", context, status=422 if form.is_bound else 200)


def batches_of(lot: Lot) -> QuerySet[Batch]:
    return Batch.objects.filter(batches_with([lot.pk])).order_by("-poured_at")


def lot_new(request: Request) -> HttpResponse:
    return _form_page(request, None)


def lot_edit(request: Request, key: UUID) -> HttpResponse:
    return _form_page(request, lot_of(key))


def _form_page(request: Request, lot: Lot | None) -> HttpResponse:
    """GET shows the form. POST keeps the lot, or with another button adds rows."""
    keeps = request.method == "POST" and "more_part" not in request.POST
    is_used = lot is not None and (batches_of(lot).exists() or lot.uses.exists())
    typed = request.POST if request.method == "POST" else None
    form = LotForm(typed, workshop=request.workshop, lot=lot, is_used=is_used)
    if keeps and form.is_valid():
        kept = keep_lot(*form.made(request.user))
        messages.success(request, f"Kept: {kept}.", extra_tags="good")
        return redirect("lot", kept.pk)
    context = {
        "form": form,
        "lot": lot,
        "mistakes": mistakes(form) if keeps else [],
        "all_lots": Lot.objects.filter(is_retired=False),
    }
    return render(request, "lots/form.html", context, status=422 if keeps else 200)


@require_POST
def lot_retire(request: Request, key: UUID) -> HttpResponse:
    known = lot_of(key)
    retire_lot(known, not known.is_retired)
    words = "is used up" if known.is_retired else "is on the shelf again"
    messages.success(request, f"{known} {words}.", extra_tags="good")
    return redirect("lots")
