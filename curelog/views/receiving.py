"""From an entry to its form, and from a good form to what is kept: for acts on a loaf, and for pours."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils import timezone

from curelog.actions.pour import NumberTaken, pour
from curelog.forms.acts import ACT_FORMS
from curelog.forms.base import ActForm, WorkshopForm
from curelog.forms.cure import AnswerForm
from curelog.forms.entry import Entry
from curelog.forms.pour import PourForm
from curelog.forms.received import brought_up_to_date
from curelog.forms.weigh import WeighForm
from curelog.models import Check, Loaf, Recipe
from curelog.models.outlook import Outlook, outlook
from curelog.models.record import with_facts
from curelog.models.weighing import known_of
from curelog.views.access import Request
from curelog.views.acts import remarks, remember_scale
from curelog.views.pour import page_of
from curelog.views.recipes import with_ingredients

POUR = "pour"
FORMS: dict[str, type[ActForm]] = ACT_FORMS | {AnswerForm.act: AnswerForm}


@dataclass
class Refused(Exception):
    """It stays on the phone. `body` says why, in words."""

    status: int
    body: dict[str, Any] = field(default_factory=dict)


@dataclass
class Arrival:
    """A filled-in form, and how to keep it once it is found good. `keep` gives back what to say."""

    form: WorkshopForm
    keep: Callable[[], dict[str, Any]]


def arrival(request: Request, entry: Entry) -> Arrival:
    if entry.act == POUR:
        return arrived_pour(request, entry)
    if entry.act in FORMS:
        return arrived_act(request, entry)
    raise nonsense("This release does not know this kind of entry.")


def nonsense(words: str, field_name: str = "") -> Refused:
    return Refused(422, {"errors": {field_name: [words]}})


def arrived_act(request: Request, entry: Entry) -> Arrival:
    seen = seen_loaf(request, entry)
    corrects = next((fact for fact in seen.record.history if fact.pk == entry.corrects), None)
    if entry.corrects and corrects is None:
        raise nonsense("What this corrects is not there any more.")
    options: dict[str, Any] = {"workshop": entry.workshop_of_then(request.workshop), "record": seen.record}
    options["corrects"] = corrects
    if entry.act == WeighForm.act:
        options["known"] = known_of(seen, corrects)
    if entry.act == AnswerForm.act:
        options["failed"] = failed_check(seen, entry)
    form_class = FORMS[entry.act]
    data = brought_up_to_date(entry, form_class(**options), also_known=("failed",))
    form = form_class(data, entry.file_data, **options)

    def keep() -> dict[str, Any]:
        kept = form.keep(form.told(request.user, "phone"))
        remember_scale(request, form)
        words = kept.words_in(request.workshop.mass_unit)
        return {"kept": words, "remarks": [said for said, _ in remarks(form, kept)]}

    return Arrival(form, keep)


def seen_loaf(request: Request, entry: Entry) -> Outlook:
    try:
        loaf = with_facts(Loaf.objects.filter(pk=UUID(entry.about))).first()
    except ValueError:
        raise nonsense("It names no loaf.") from None
    if loaf is None:
        # Its pour may still wait, on this phone or on another one.
        raise Refused(404, {"error": "The workshop does not know this loaf yet."})
    return outlook(loaf, request.workshop, timezone.now())


def failed_check(seen: Outlook, entry: Entry) -> Check:
    wanted = entry.data.get("failed")
    for fact in seen.record.history:
        if isinstance(fact, Check) and str(fact.pk) == wanted:
            return fact
    raise nonsense("The check that this answers is not there any more.")


def arrived_pour(request: Request, entry: Entry) -> Arrival:
    recipe = with_ingredients(
        Recipe.objects.filter(pk=int(entry.about) if entry.about.isdecimal() else 0)
    ).first()
    if recipe is None:
        raise nonsense("Its recipe is not there any more.")
    workshop = entry.workshop_of_then(request.workshop)
    as_typed = PourForm(entry.data, workshop=workshop, recipe=recipe)
    data = brought_up_to_date(entry, as_typed, also_known=("mould_rows",))
    form = PourForm(data, workshop=workshop, recipe=recipe)
    form.is_valid()
    form.check_happened()

    def keep() -> dict[str, Any]:
        told, number = form.told(request.user), form.cleaned_data["number"]
        try:
            batch = pour(
                recipe, told, number, form.weighed, form.circumstances, form.fillings, request.workshop
            )
        except NumberTaken:
            raise nonsense("Another batch has taken this number meanwhile.", "number") from None
        return {"kept": f"batch {batch} is poured", "remarks": form.questions, "next": page_of(batch)}

    return Arrival(form, keep)
