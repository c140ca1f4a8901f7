"""Answering a failed check, and taking a fact back."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from curelog.actions.keeping import Told
from curelog.actions.withdraw import withdraw as take_back
from curelog.forms.cure import AnswerForm
from curelog.forms.withdraw import WithdrawForm
from curelog.marks import mark
from curelog.models import FACT_KINDS, Check
from curelog.views.access import Request
from curelog.views.acts import kept_by, say_kept
from curelog.views.loaf import outlook_of

KINDS = {str(kind._meta.model_name): kind for kind in FACT_KINDS}


def answer(request: Request, key: UUID) -> HttpResponse:
    failed = get_object_or_404(Check, pk=key)
    seen = outlook_of(request, failed.loaf_id)
    data = (request.POST,) if request.method == "POST" else ()
    form = AnswerForm(*data, workshop=request.workshop, record=seen.record, failed=failed)
    if request.method == "POST" and form.is_valid():
        kept = kept_by(form, lambda: form.keep(form.told(request.user)))
        if kept:
            say_kept(request, form, kept)
            return redirect("loaf", failed.loaf_id)
    context = {"form": form, "seen": seen, "loaf": seen.loaf, "mark": mark(seen), "failed": failed}
    return render(request, "acts/answer.html", context, status=422 if data else 200)


def withdraw(request: Request, kind: str, key: UUID) -> HttpResponse:
    if kind not in KINDS:
        raise Http404
    fact = get_object_or_404(KINDS[kind], pk=key)
    data = (request.POST,) if request.method == "POST" else ()
    form = WithdrawForm(*data, workshop=request.workshop)
    if request.method == "POST" and form.is_valid():
        told = Told(form.cleaned_data["key"], timezone.now(), request.user)
        if kept_by(form, lambda: take_back(fact, told, form.cleaned_data["reason"])):
            messages.success(request, "Taken back. It stays in the history.", extra_tags="good")
            return redirect("loaf", fact.loaf_id)
    return render(request, "acts/withdraw.html", {"form": form, "fact": fact}, status=422 if data else 200)
