"""One act on one loaf, or its correction: the same form, the same action."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.forms import BaseForm
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from curelog import safety
from curelog.actions.keeping import OtherBody
from curelog.forms.acts import ACT_FORMS
from curelog.forms.base import ActForm
from curelog.forms.cut import CutForm
from curelog.forms.photo import PhotoForm
from curelog.forms.place import MoveForm
from curelog.forms.sale import ReleaseForm
from curelog.forms.weigh import WeighForm
from curelog.marks import mark
from curelog.models import Fact
from curelog.models.evidence import scale_step
from curelog.models.outlook import Outlook
from curelog.models.weighing import known_of, weighing_rows
from curelog.views.access import Request
from curelog.views.loaf import outlook_of

OWN_TEMPLATE = ("weigh", "cut", "unmould", "check", "photo", "move", "note", "release")
# What the page about the net weight has worked out for the release.
ASKED_OF_RELEASE = ("bar_count", "rule", "hold_until", "weights_g", "declared_g")
KIND_CAUTIONS = (
    ("indicator", safety.INDICATOR),
    ("ph", safety.PH),
    ("zap", safety.ZAP),
    ("titration", safety.TITRATION),
)


def act(request: Request, key: UUID, act: str) -> HttpResponse:
    """GET shows the form, POST keeps the fact. `?corrects=` names the fact that this one replaces."""
    if act not in ACT_FORMS:
        raise Http404
    seen = outlook_of(request, key)
    form = form_for(request, seen, act)
    if request.method == "POST" and form.is_valid():
        kept = kept_by(form, lambda: form.keep(form.told(request.user)))
        if kept:
            say_kept(request, form, kept)
            return redirect(next_page(form, seen))
    status = 422 if request.method == "POST" else 200
    template = f"acts/{act if act in OWN_TEMPLATE else 'act'}.html"
    return render(request, template, context_of(form, seen), status=status)


def kept_by(form: BaseForm, keep: Callable[[], Fact]) -> Fact | None:
    """The fact; or None, said on the form, when its key was sent before with something else in it."""
    try:
        return keep()
    except OtherBody:
        form.add_error(None, "This was kept already, with another content. Look at the history of the loaf.")
        return None


def form_for(request: Request, seen: Outlook, act: str) -> ActForm:
    options: dict[str, Any] = {"workshop": request.workshop, "record": seen.record}
    options["corrects"] = to_correct(request, seen)
    if act == WeighForm.act:
        options["known"] = known_of(seen, options["corrects"])
        options["initial"] = {"scale": request.session.get("scale")}
        if not options["corrects"]:  # whose form begins with its own bars
            first = [str(bar.pk) for bar in seen.loaf.bars.all()[:1]]
            options["initial"]["bars"] = request.GET.getlist("bar") or first
    if act == ReleaseForm.act:
        options["initial"] = {name: request.GET[name] for name in ASKED_OF_RELEASE if name in request.GET}
    if act == MoveForm.act and "part" in request.GET:
        options["initial"] = {"part": request.GET["part"]}
    data = (request.POST, request.FILES) if request.method == "POST" else ()
    return ACT_FORMS[act](*data, **options)


def context_of(form: ActForm, seen: Outlook) -> dict[str, Any]:
    context: dict[str, Any] = {"form": form, "seen": seen, "loaf": seen.loaf, "mark": mark(seen)}
    if isinstance(form, WeighForm):
        context["rows"] = weighing_rows(seen)
        context["step"] = scale_step(seen.record)
        context["chosen"] = {str(key) for key in form["bars"].value() or ()}
    context["kind_cautions"] = KIND_CAUTIONS
    return context


def to_correct(request: Request, seen: Outlook) -> Fact | None:
    wanted = request.GET.get("corrects")
    return next((fact for fact in seen.record.history if str(fact.pk) == wanted), None) if wanted else None


def say_kept(request: Request, form: ActForm, kept: Fact) -> None:
    messages.success(request, f"Kept: {kept.words_in(form.workshop.mass_unit)}.", extra_tags="good")
    for words, tone in remarks(form, kept):
        messages.info(request, words, extra_tags=tone)
    remember_scale(request, form)


def remarks(form: ActForm, kept: Fact) -> list[tuple[str, str]]:
    """What is to be said about a fact just kept, each with its tone."""
    said = []
    if kept.misplaced:
        said.append((f"{kept.misplaced} It is kept and marked.", "warn"))
    if isinstance(form, CutForm) and form.balance_words:
        said.append((form.balance_words, ""))
    if isinstance(form, PhotoForm):
        said += [(words, "bad") for words in form.refused]
    return said


def remember_scale(request: Request, form: ActForm) -> None:
    if isinstance(form, WeighForm | CutForm) and form.cleaned_data["scale"]:
        request.session["scale"] = form.cleaned_data["scale"].pk


def next_page(form: ActForm, seen: Outlook) -> str:
    """After a weight the next bar, after a cut its photos, else the loaf."""
    if not form.corrects:
        if isinstance(form, CutForm):
            return reverse("act", args=[seen.loaf.pk, "photo"]) + "?after=cut"
        if isinstance(form, WeighForm) and (bar := form.next_bar()):
            return reverse("act", args=[seen.loaf.pk, "weigh"]) + f"?bar={bar.pk}"
    return reverse("loaf", args=[seen.loaf.pk])
