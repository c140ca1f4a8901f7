"""Moulds by their inner size."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from curelog.actions.store import keep_mould, retire
from curelog.forms.moulds import MouldForm
from curelog.models import Mould
from curelog.views.access import Request


def moulds(request: Request) -> HttpResponse:
    return render(request, "pour/moulds.html", {"moulds": Mould.objects.order_by("is_retired", "name")})


def mould_new(request: Request) -> HttpResponse:
    return _form_page(request, None)


def mould(request: Request, pk: int) -> HttpResponse:
    return _form_page(request, get_object_or_404(Mould, pk=pk))


def _form_page(request: Request, mould: Mould | None) -> HttpResponse:
    typed = request.POST if request.method == "POST" else None
    form = MouldForm(typed, workshop=request.workshop, mould=mould)
    if form.is_valid():
        kept = form.as_mould(mould or Mould())
        keep_mould(kept)
        messages.success(request, f"Kept: {kept}.", extra_tags="good")
        return redirect("moulds")
    return render(request, "pour/mould.html", {"form": form, "mould": mould}, status=422 if typed else 200)


@require_POST
def mould_retire(request: Request, pk: int) -> HttpResponse:
    mould = get_object_or_404(Mould, pk=pk)
    retire(mould, retired=not mould.is_retired)
    return redirect("moulds")
