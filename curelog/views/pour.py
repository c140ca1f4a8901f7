"""Pouring: choose a recipe, then keep what was really weighed."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from curelog import safety
from curelog.actions.keeping import OtherBody
from curelog.actions.pour import NumberTaken, portions_of, pour
from curelog.domain.cautions import about_superfat
from curelog.domain.limits import OverLimit, over_limit
from curelog.forms.mistakes import mistakes
from curelog.forms.pour import PourForm
from curelog.models import AdditiveRole, Batch, Heat, Recipe, evidence
from curelog.models.pour_outlook import PourOutlook, pour_outlook
from curelog.views.access import Request
from curelog.views.pour_lots import alkali_for_lots, remarks, stock_lye
from curelog.views.recipes import current_recipes, recipe_of
from curelog.wording import window_rests_on

SWEET_ROLES = {AdditiveRole.SUGAR, AdditiveRole.MILK}


def choose(request: Request) -> HttpResponse:
    return render(request, "pour/choose.html", {"recipes": current_recipes()})


def recipe_pour(request: Request, pk: int) -> HttpResponse:
    """GET shows the form. POST keeps the pour, or with another button shows the cut window or one more mould."""
    recipe = recipe_of(pk)
    typed = request.POST if request.method == "POST" else None
    form = PourForm(typed, workshop=request.workshop, recipe=recipe, last=last_batch(recipe))
    form.is_valid()
    keeps = "keep" in request.POST or "kept_anyway" in request.POST
    if keeps:
        form.check_happened()
        if not form.errors and (batch := keep(request, form)):
            return redirect(page_of(batch))
    context = panel(request, form, recipe) | {
        "form": form,
        "recipe": recipe,
        "lye_cautions": safety.LYE,
        "mistakes": mistakes(form) if keeps else [],
    }
    return render(request, "pour/form.html", context, status=422 if keeps else 200)


def last_batch(recipe: Recipe) -> Batch | None:
    poured = Batch.objects.filter(recipe__family=recipe.family).order_by("-poured_at")
    return poured.prefetch_related("loaves__mould").first()


def keep(request: Request, form: PourForm) -> Batch | None:
    """None: told beside the field."""
    told, number = form.told(request.user), form.cleaned_data["number"]
    try:
        batch = pour(
            form.recipe, told, number, form.weighed, form.circumstances, form.fillings, request.workshop
        )
    except OtherBody:
        words = "This pour was kept already, with another content. Look at its loaf."
        form.add_error("number", words)
    except NumberTaken:
        form.add_error("number", "Another batch has taken this number meanwhile.")
    else:
        messages.success(request, f"Kept: batch {batch} is poured.", extra_tags="good")
        return batch
    return None


def page_of(batch: Batch) -> str:
    loaves = list(batch.loaves.all())
    return (
        reverse("loaf", args=[loaves[0].pk]) if len(loaves) == 1 else f"{reverse('loaves')}?q={batch.number}"
    )


def panel(request: Request, form: PourForm, recipe: Recipe) -> dict[str, Any]:
    """What follows from the form as it stands: when to cut, and cautions."""
    outlook = outlook_of(request, form, recipe)
    return {
        "outlook": outlook,
        "rests_on": window_rests_on(outlook.loaves[0].window) if outlook.loaves else "",
        "cautions": cautions(form, recipe),
        "is_lye_heavy": bool(form.superfat and form.superfat.share < 0),
        "for_lots": alkali_for_lots(form),
        "stock_lye": stock_lye(form),
        "lot_remarks": remarks(form, request.workshop),
    }


def outlook_of(request: Request, form: PourForm, recipe: Recipe) -> PourOutlook:
    workshop, told = request.workshop, form.circumstances
    room_c = workshop.room_c if told.room_c is None else told.room_c
    facts = evidence.recipe_pour_facts(recipe, told.heat, room_c)
    facts = replace(facts, lye_concentration=form.lye_concentration)
    named = [(name, replace(facts, loaf_g=max(mass_g, 1.0))) for name, mass_g in form.loaves()]
    return pour_outlook(named, workshop, form.moment, form.now)


def cautions(form: PourForm, recipe: Recipe) -> list[str]:
    words = []
    if form.superfat and form.superfat.share >= 0:
        words += [caution.words for caution in about_superfat(form.superfat.share, form.superfat.in_lots)]
    if any(extra.role in SWEET_ROLES for extra in recipe.additives.all()):
        words += safety.SWEET
    if form.circumstances.heat == Heat.OVEN:
        words += safety.OVEN
    return words + [over.words for over in over_limits(form)]


def over_limits(form: PourForm) -> list[OverLimit]:
    """Suppliers' limits, held against what was really weighed."""
    weighed, recipe = form.weighed, form.recipe
    extras = zip(recipe.additives.all(), weighed.additives_g, strict=True)
    limited = [replace(part, mass_g=mass_g) for extra, mass_g in extras if (part := extra.limited)]
    if not limited or form.superfat is None:
        return []
    dry_g = recipe.mixture_of(portions_of(recipe, weighed)).work_out().dry_g
    return list(over_limit(limited, sum(weighed.fats_g), dry_g))
