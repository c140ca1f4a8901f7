"""The workshop: its hub, its habits and units, its scales."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from curelog.actions.settings import add_scale, change_scale, change_workshop, retire_scale
from curelog.forms.settings import LabelSettingsForm, ScaleForm, WorkshopSettingsForm
from curelog.models import Scale
from curelog.views.access import Request, owner_only


def settings(request: HttpRequest) -> HttpResponse:
    return render(request, "settings/index.html")


@owner_only
def workshop(request: Request) -> HttpResponse:
    form = WorkshopSettingsForm(request.POST or None, workshop=request.workshop)
    if form.is_valid():
        change_workshop(request.workshop, form.cleaned_data)
        messages.success(request, "The workshop's settings are kept.", extra_tags="good")
        return redirect("settings")
    return render(request, "settings/workshop.html", {"form": form}, status=422 if form.is_bound else 200)


@owner_only
def label(request: Request) -> HttpResponse:
    form = LabelSettingsForm(request.POST or None, workshop=request.workshop)
    if form.is_valid():
        change_workshop(request.workshop, form.cleaned_data)
        messages.success(request, "The label's settings are kept.", extra_tags="good")
        return redirect("settings")
    return render(request, "settings/label.html", {"form": form}, status=422 if form.is_bound else 200)


@owner_only
def scales(request: Request) -> HttpResponse:
    form = ScaleForm(request.POST or None, workshop=request.workshop)
    if form.is_valid():
        scale = add_scale(form.cleaned_data["name"], form.cleaned_data["step_g"])
        messages.success(request, f"{scale.name} is added.", extra_tags="good")
        return redirect("scales")
    context = {"form": form, "scales": Scale.objects.order_by("is_retired", "name")}
    return render(request, "settings/scales.html", context, status=422 if form.is_bound else 200)


@owner_only
def scale(request: Request, pk: int) -> HttpResponse:
    known = get_object_or_404(Scale, pk=pk)
    form = ScaleForm(request.POST or None, workshop=request.workshop, scale=known)
    if form.is_valid():
        change_scale(known, form.cleaned_data["name"], form.cleaned_data["step_g"])
        messages.success(request, f"{known.name} is kept.", extra_tags="good")
        return redirect("scales")
    context = {"form": form, "scale": known}
    return render(request, "settings/scale.html", context, status=422 if form.is_bound else 200)


@owner_only
@require_POST
def retire(request: Request, pk: int) -> HttpResponse:
    """Retires a scale, or takes a retired one back."""
    known = get_object_or_404(Scale, pk=pk)
    retire_scale(known, not known.is_retired)
    words = "is retired" if known.is_retired else "is in use again"
    messages.success(request, f"{known.name} {words}.", extra_tags="good")
    return redirect("scales")
