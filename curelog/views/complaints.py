"""The register of complaints and adverse effects, with what was done."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from curelog import safety
from curelog.actions.registers import ERASED, erase_person, keep_row
from curelog.forms.registers import ComplaintForm, StepForm
from curelog.models import Complaint
from curelog.views.access import Request, owner_only


def complaints(request: Request) -> HttpResponse:
    every = list(Complaint.objects.select_related("batch").prefetch_related("steps"))
    context = {
        "open": [each for each in every if not each.closed_at],
        "closed": [each for each in every if each.closed_at],
    }
    return render(request, "complaints/index.html", context)


def complaint_new(request: Request) -> HttpResponse:
    typed = request.POST if request.method == "POST" else None
    initial = {"batch": request.GET.get("batch", "")[:20]}
    form = ComplaintForm(typed, workshop=request.workshop, initial=initial)
    if form.is_valid():
        kept = form.as_complaint(request.user)
        keep_row(kept)
        messages.success(request, "The complaint is kept.", extra_tags="good")
        return redirect("complaint", kept.pk)
    context = {"form": form, "cautions": safety.ADVERSE}
    return render(request, "complaints/new.html", context, status=422 if typed else 200)


def complaint(request: Request, key: UUID) -> HttpResponse:
    """What was told and done. POST adds what was done."""
    known = get_object_or_404(Complaint.objects.select_related("batch", "by"), pk=key)
    typed = request.POST if request.method == "POST" else None
    form = StepForm(typed, workshop=request.workshop)
    if form.is_valid():
        keep_row(form.as_step(known, request.user))
        messages.success(request, "Kept.", extra_tags="good")
        return redirect("complaint", key)
    context = {
        "complaint": known,
        "steps": known.steps.select_related("by"),
        "form": form,
        "can_erase": request.user.is_owner and known.who not in ("", ERASED),
        "cautions": safety.ADVERSE if known.is_adverse else (),
    }
    return render(request, "complaints/complaint.html", context, status=422 if typed else 200)


@owner_only
@require_POST
def complaint_erase(request: Request, key: UUID) -> HttpResponse:
    erase_person(get_object_or_404(Complaint, pk=key))
    messages.success(request, "Who told it is erased.", extra_tags="good")
    return redirect("complaint", key)
