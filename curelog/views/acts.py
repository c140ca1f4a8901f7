"""One act on one loaf, or its correction: the same form, the same action."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from curelog.actions.keeping import OtherBody
from curelog.forms.acts import ACT_FORMS
from curelog.forms.base import ActForm
from curelog.forms.cut import CutForm
from curelog.forms.photo import PhotoForm
from curelog.forms.weigh import WeighForm
from curelog.models import Check, Fact
from curelog.models.outlook import Outlook
from curelog.models.weighing import known_of, weighing_rows
from curelog.views.loaf import outlook_of


def act(request: HttpRequest, key: UUID, act: str) -> HttpResponse:
    """GET shows the form, POST keeps the fact. `?corrects=` names the fact that this one replaces."""
    if act not in ACT_FORMS:
        raise Http404
    seen = outlook_of(request, key)
    form = bound_form(request, seen, act)
    if request.method == "POST" and form.is_valid():
        try:
            kept = form.keep(form.told(request.user))
        except OtherBody:
            form.add_error(None, "This was kept already, with another content. Look at the history of the loaf.")
        else:
            say_kept(request, form, kept)
            return redirect(next_page(form, seen))
    context = {"form": form, "seen": seen, "loaf": seen.loaf, "rows": weighing_rows(seen) if act == "weigh" else None}
    status = 422 if request.method == "POST" else 200
    return render(request, f"acts/{act if act in OWN_TEMPLATE else 'act'}.html", context, status=status)


OWN_TEMPLATE = ("weigh", "cut", "unmould", "check", "photo")


def bound_form(request: HttpRequest, seen: Outlook, act: str) -> ActForm:
    options: dict[str, Any] = {"workshop": request.workshop, "record": seen.record}
    options["corrects"] = to_correct(request, seen)
    if act == WeighForm.act:
        options |= {"known": known_of(seen), "initial": {"bars": request.GET.getlist("bar")}}
    data = (request.POST, request.FILES) if request.method == "POST" else ()
    return ACT_FORMS[act](*data, **options)


def to_correct(request: HttpRequest, seen: Outlook) -> Fact | None:
    wanted = request.GET.get("corrects")
    if not wanted:
        return None
    return next((fact for fact in seen.record.history if str(fact.pk) == wanted), None)


def say_kept(request: HttpRequest, form: ActForm, kept: Fact) -> None:
    messages.success(request, f"Kept: {kept.words}.", extra_tags="good")
    if kept.misplaced:
        messages.warning(request, f"{kept.misplaced} It is kept and marked.", extra_tags="warn")
    if isinstance(form, CutForm) and form.balance_words:
        messages.info(request, form.balance_words)
    if isinstance(form, PhotoForm):
        for words in form.refused:
            messages.error(request, words, extra_tags="bad")


def next_page(form: ActForm, seen: Outlook) -> str:
    """After a weight the next bar, after a cut its photos, else the loaf."""
    page = reverse("loaf", args=[seen.loaf.pk])
    if form.corrects:
        return page
    if isinstance(form, CutForm):
        return reverse("act", args=[seen.loaf.pk, "photo"]) + "?after=cut"
    if isinstance(form, WeighForm) and (bar := form.next_bar()):
        return reverse("act", args=[seen.loaf.pk, "weigh"]) + f"?bar={bar.pk}"
    if isinstance(form, PhotoForm) and form.loaf.bars.count() and "more" in form.data:
        return reverse("act", args=[seen.loaf.pk, "photo"])
    return page
