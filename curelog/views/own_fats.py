"""The maker's own fats."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from curelog.actions.store import CannotChange, keep_own_fat, retire
from curelog.forms.own_fats import OwnFatForm
from curelog.models import OwnFat
from curelog.views.access import Request


def own_fats(request: Request) -> HttpResponse:
    return render(request, "recipes/own_fats.html", {"fats": OwnFat.objects.order_by("is_retired", "name")})


def own_fat_new(request: Request) -> HttpResponse:
    return _form_page(request, None)


def own_fat(request: Request, pk: int) -> HttpResponse:
    return _form_page(request, get_object_or_404(OwnFat, pk=pk))


def _form_page(request: Request, fat: OwnFat | None) -> HttpResponse:
    typed = request.POST if request.method == "POST" else None
    form = OwnFatForm(typed, workshop=request.workshop, fat=fat)
    if form.is_valid():
        kept = form.as_own_fat(fat or OwnFat())
        try:
            keep_own_fat(kept)
        except CannotChange as refused:
            form.add_error("saponification_value", str(refused))
        else:
            messages.success(request, f"Kept: {kept}.", extra_tags="good")
            return redirect("own_fats")
    return render(request, "recipes/own_fat.html", {"form": form, "fat": fat}, status=422 if typed else 200)


@require_POST
def own_fat_retire(request: Request, pk: int) -> HttpResponse:
    fat = get_object_or_404(OwnFat, pk=pk)
    retire(fat, retired=not fat.is_retired)
    return redirect("own_fats")
