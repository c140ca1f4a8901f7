"""Melting soap again: trimmings or bars, and water, into a mould."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from curelog import safety
from curelog.actions.keeping import OtherBody
from curelog.actions.pour import NumberTaken
from curelog.actions.rebatch import rebatch as keep_rebatch
from curelog.forms.mistakes import mistakes
from curelog.forms.rebatch import RebatchForm
from curelog.models import Batch, Lot
from curelog.views.access import Request
from curelog.views.pour import page_of


def rebatch(request: Request) -> HttpResponse:
    """GET shows the form. POST keeps the batch, or with another button adds rows."""
    keeps = "keep" in request.POST
    form = RebatchForm(request.POST if request.method == "POST" else None, workshop=request.workshop)
    if keeps and form.is_valid() and (batch := _keep(request, form)):
        return redirect(page_of(batch))
    context = {
        "form": form,
        "mistakes": mistakes(form) if keeps else [],
        "soap": Lot.objects.filter(kind=Lot.Kind.SOAP, is_retired=False),
        "batches": Batch.objects.order_by("-poured_at")[:40],
        "cautions": safety.MELTING,
    }
    return render(request, "pour/rebatch.html", context, status=422 if keeps else 200)


def _keep(request: Request, form: RebatchForm) -> Batch | None:
    """None: told beside the field."""
    number = form.cleaned_data["number"]
    try:
        batch = keep_rebatch(form.told(request.user), number, form.melted, form.filling, request.workshop)
    except OtherBody:
        form.add_error("number", "This was kept already, with another content. Look at its loaf.")
    except NumberTaken:
        form.add_error("number", "Another batch has taken this number meanwhile.")
    else:
        messages.success(request, f"Kept: batch {batch} is in its mould.", extra_tags="good")
        return batch
    return None
