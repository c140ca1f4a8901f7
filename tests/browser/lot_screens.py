"""The screens of lots, tracing and registers, over lots of every kind."""

from datetime import date, timedelta
from uuid import uuid4

from django.urls import reverse
from django.utils import timezone

from curelog.actions.lots import PartTaken, count_stock, keep_lot
from curelog.models import BatchFat, Complaint, Loaf, LogEntry, Lot
from tests.factories import make_lot

LISTS = ("lots", "lot_new", "tracing", "complaints", "complaint_new", "log", "bars_here")


def lot_screens(sold: Loaf) -> dict[str, str]:
    """`sold` has buyers. Its lard is linked to a premix of lots, so that a tracing has something to show."""
    lard, coconut, mix = lots_in(sold)
    count_stock(lard, uuid4(), timezone.now(), None, 3100.0)
    complaint = Complaint.objects.create(
        at=timezone.now(), batch=sold.batch, what="Itches", who="Ann", is_adverse=True
    )
    complaint.steps.create(at=timezone.now(), done="Asked for the bar back")
    told = {"what": "Fine scale", "reference_g": 200, "shown_g": 200.4, "tolerance_g": 0.2}
    LogEntry.objects.create(kind="scale", at=timezone.now(), **told)
    LogEntry.objects.create(kind="cleaning", at=timezone.now(), what="Moulds")
    return {name: reverse(name) for name in LISTS} | {
        "lot": reverse("lot", args=[lard.pk]),
        "lot_mix": reverse("lot", args=[mix.pk]),
        "lot_edit": reverse("lot_edit", args=[mix.pk]),
        "lot_edit_fat": reverse("lot_edit", args=[coconut.pk]),
        "trace_search": f"{reverse('tracing')}?q=l",
        "trace_lot": reverse("trace_lot", args=[lard.pk]),
        "trace_batch": reverse("trace_batch", args=[sold.batch_id]),
        "complaint": reverse("complaint", args=[complaint.pk]),
    }


def lots_in(sold: Loaf) -> tuple[Lot, Lot, Lot]:
    today = timezone.localdate()
    lard = make_lot(
        "LARD-2026-00417-B", saponification_value=198.5, opened_on=today - timedelta(days=30), price=31.5
    )
    coconut = make_lot("C1", "coconut", "Coconut oil", best_before=today + timedelta(days=20), price=9.0)
    make_lot("S1", "sunflower", "Sunflower", opened_on=date(2025, 1, 1), peroxide_value=14.0)
    make_lot("N1", "naoh", "Sodium hydroxide", "alkali", 10.0, supplier="A supplier with a long name")
    parts = [PartTaken(lard, 2800.0), PartTaken(coconut, 1200.0)]
    mix = keep_lot(Lot(kind="mix", name="Base", code="M1", received_g=4000), parts)
    BatchFat.objects.filter(batch=sold.batch).update(from_lot=mix, lot="M1")
    return lard, coconut, mix
