"""Recipes: the list, one of them, and the form with its sums while typing."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db.models import Count, Max, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from curelog.actions.recipes import note_assessor, write_recipe
from curelog.domain import batch
from curelog.domain.acid_groups import acid_groups
from curelog.domain.recipe import FatPortion
from curelog.forms.assessor import AssessorForm
from curelog.forms.ingredients import FatLibrary
from curelog.forms.mistakes import mistakes
from curelog.forms.pour_usual import lots_in_use
from curelog.forms.recipes import RecipeForm
from curelog.models import Batch, Lot, Mould, Recipe
from curelog.models.mould_fit import mould_fit
from curelog.models.shelf import open_lots, portions_from
from curelog.views.access import Request

BATCHES_SHOWN = 20


def with_ingredients(recipes: QuerySet[Recipe]) -> QuerySet[Recipe]:
    return recipes.prefetch_related("fats__own", "additives")


def recipe_of(pk: int) -> Recipe:
    return get_object_or_404(with_ingredients(Recipe.objects.all()), pk=pk)


def current_recipes() -> QuerySet[Recipe]:
    """Those to pour from, the last poured first."""
    counted = Recipe.objects.filter(is_current=True).annotate(
        poured=Count("batches"), last_poured=Max("batches__poured_at")
    )
    return with_ingredients(counted).order_by("name")


def recipes(request: Request) -> HttpResponse:
    return render(request, "recipes/index.html", {"recipes": current_recipes()})


def recipe(request: Request, pk: int) -> HttpResponse:
    return recipe_page(request, recipe_of(pk))


def recipe_page(request: Request, shown: Recipe, assessor_form: AssessorForm | None = None) -> HttpResponse:
    family = Recipe.objects.filter(family=shown.family)
    batches = (
        Batch.objects.filter(recipe__family=shown.family).select_related("recipe").prefetch_related("loaves")
    )
    moulds = Mould.objects.filter(is_retired=False)
    context = {
        "recipe": shown,
        "sums": shown.sums,
        "groups": acid_groups(shown.sums.fatty_acids),
        "fits": [mould_fit(mould, shown.mixture, shown.sums, shown.bar_thickness_mm) for mould in moulds],
        "versions": family.order_by("-version"),
        "batches": batches[:BATCHES_SHOWN],
        "by_lots": by_lots(shown),
        "assessor_form": assessor_form or AssessorForm(workshop=request.workshop, recipe=shown),
    }
    status = 422 if assessor_form else 200
    return render(request, "recipes/recipe.html", context, status=status)


@dataclass(frozen=True)
class PartOfLot:
    portion: FatPortion
    lot: Lot | None


@dataclass(frozen=True)
class ByLots:
    """The recipe worked out with the certificates of the lots that are open."""

    parts: list[PartOfLot]
    sums: batch.Batch


def by_lots(recipe: Recipe) -> ByLots | None:
    """None when no open lot has a value of its own."""
    lots = lots_in_use(recipe, open_lots(timezone.localdate()))
    portions = portions_from(recipe, lots)
    if [portion.fat for portion in portions] == [portion.fat for portion in recipe.portions]:
        return None
    parts = [PartOfLot(portion, lot) for portion, lot in zip(portions, lots, strict=True)]
    return ByLots(parts, recipe.mixture_of(portions).work_out())


@require_POST
def recipe_assessor(request: Request, pk: int) -> HttpResponse:
    shown = recipe_of(pk)
    form = AssessorForm(request.POST, workshop=request.workshop, recipe=shown)
    if not form.is_valid():
        return recipe_page(request, shown, form)
    note_assessor(shown, form.cleaned_data["reference"])
    messages.success(request, "The reference is kept.", extra_tags="good")
    return redirect("recipe", pk)


def recipe_new(request: Request) -> HttpResponse:
    return _form_page(request, None)


def recipe_edit(request: Request, pk: int) -> HttpResponse:
    return _form_page(request, recipe_of(pk))


def _form_page(request: Request, basis: Recipe | None) -> HttpResponse:
    """GET shows the form. POST keeps the recipe, or with another button works it out, adds rows or scales."""
    form = _form(request, basis)
    keeps = "keep" in request.POST
    if keeps and form.is_valid():
        kept = write_recipe(form.draft(), request.user, form.cleaned_data["family"], basis)
        _say_kept(request, kept, basis)
        return redirect("recipe", kept.pk)
    if "fill_mould" in request.POST or "to_mass" in request.POST:
        form = _scaled(request, form, basis)
    context = sums_context(form, basis) | {
        "form": form,
        "mistakes": mistakes(form) if keeps else [],
        "basis": basis,
        "becomes_next": basis is not None and basis.is_poured,
    }
    return render(request, "recipes/form.html", context, status=422 if keeps else 200)


def _form(request: Request, basis: Recipe | None, data: Any = None) -> RecipeForm:
    typed = data if data is not None else request.POST if request.method == "POST" else None
    held = frozenset(part.own_id for part in basis.fats.all() if part.own_id) if basis else frozenset()
    return RecipeForm(typed, workshop=request.workshop, library=FatLibrary(held), recipe=basis)


def _scaled(request: Request, form: RecipeForm, basis: Recipe | None) -> RecipeForm:
    form.is_valid()
    data = form.scaled(fill_mould="fill_mould" in request.POST)
    return form if data is None else _form(request, basis, data)


def _say_kept(request: Request, kept: Recipe, basis: Recipe | None) -> None:
    words = f"Kept: {kept}."
    if basis and kept.pk != basis.pk:
        words += f" Version {basis.version} stays as it was poured."
    messages.success(request, words, extra_tags="good")


def sums_context(form: RecipeForm, basis: Recipe | None = None) -> dict[str, Any]:
    """What the panel of totals shows: sums, or what is missing for them."""
    data: Mapping[str, Any] = form.initial
    mixture, sums = (basis.mixture, basis.sums) if basis else (None, None)
    if form.is_bound:
        form.is_valid()
        mixture, sums, data = form.mixture, form.sums, form.cleaned_data
    if mixture is None or sums is None:
        return {"sums": None, "missing": mistakes(form, form.blocking) if form.is_bound else []}
    mould, thickness_mm = data.get("mould"), data.get("bar_thickness_mm")
    fit = mould_fit(mould, mixture, sums, thickness_mm) if mould and thickness_mm else None
    return {"sums": sums, "groups": acid_groups(sums.fatty_acids), "fit": fit}


@require_POST
def recipe_sums(request: Request) -> HttpResponse:
    """The panel alone, while typing."""
    form = RecipeForm(request.POST, workshop=request.workshop, library=FatLibrary(_own_ids(request)))
    return render(request, "recipes/_sums.html", sums_context(form) | {"form": form, "is_part": True})


def _own_ids(request: Request) -> frozenset[int]:
    """Own fats already chosen, retired ones among them."""
    chosen = (
        str(value).removeprefix("own:") for name, value in request.POST.items() if name.startswith("fat_")
    )
    return frozenset(int(digits) for digits in chosen if digits.isdecimal() and len(digits) < 12)


def recipe_cure_days(request: Request) -> HttpResponse:
    """The field with the days that are usual for a kind, for when another kind is chosen."""
    kinds = {str(kind): days for kind, days in Recipe.LEAST_CURE_DAYS.items()}
    days = kinds.get(request.GET.get("kind", ""), Recipe.LEAST_CURE_DAYS[Recipe.Kind.MIXED])
    form = RecipeForm(workshop=request.workshop, library=FatLibrary(), initial={"least_cure_days": days})
    return render(request, "_field.html", {"field": form["least_cure_days"]})
