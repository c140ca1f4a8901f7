"""A loaf's label: one to look at, and a sheet of them for the browser's printer."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

import segno
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from curelog import safety, units
from curelog.domain.ingredients import listed
from curelog.domain.labelling import figure_height_mm, months_after
from curelog.forms.label import LabelForm
from curelog.models.ingredient_list import allergens_of, ingredients_of
from curelog.models.outlook import Outlook
from curelog.views.access import Request
from curelog.views.loaf import outlook_of


@dataclass(frozen=True)
class Label:
    """What is printed. Without a release no weight was promised, and none is printed. `unsure` are names to look up."""

    net_weight: str
    figure_mm: float
    ingredients: list[str]
    unsure: list[str]
    allergens: list[str]
    is_as_finished: bool
    made_on: date
    best_before: date | None
    address: str


def label(request: Request, key: UUID) -> HttpResponse:
    seen = outlook_of(request, key)
    form = LabelForm(request.GET.dict(), request.workshop)
    context = {"seen": seen, "loaf": seen.loaf, "form": form, "cautions": safety.LABELS}
    if form.is_valid():
        context |= {
            "label": label_of(seen, form.cleaned_data),
            "qr": qr(request.build_absolute_uri(reverse("loaf", args=[seen.loaf.pk]))),
            "asked": form.cleaned_data,
            "copies": form.copies,
        }
    return render(request, "sale/label.html", context, status=200 if form.is_valid() else 422)


def label_of(seen: Outlook, asked: dict[str, Any]) -> Label:
    workshop, release = seen.workshop, seen.stock.release if seen.stock else None
    declared_g = release.declared_g if release else None
    made_on = workshop.local(seen.loaf.batch.poured_at).date()
    months = workshop.best_before_months
    left = left_now(seen) if asked["names"] == "finished" else None
    ingredients, allergens = ingredients_of(seen.loaf.batch, left), allergens_of(seen.loaf.batch)
    shown = allergens if asked["allergens"] == "named" else []
    return Label(
        net_weight=weight_words(declared_g, workshop.mass_unit) if declared_g else "",
        figure_mm=figure_height_mm(declared_g) if declared_g else 0,
        ingredients=listed(ingredients, shown, colours_last=asked["order"] == "colours_last"),
        unsure=[each.name for each in ingredients if not each.is_sure],
        allergens=allergens,
        is_as_finished=left is not None,
        made_on=made_on,
        best_before=months_after(made_on, months) if months else None,
        address=in_one_line(workshop.label_address),
    )


def in_one_line(address: str) -> str:
    """Small labels have no room for a line each."""
    return ", ".join(line.strip().rstrip(",") for line in address.splitlines() if line.strip())


def weight_words(declared_g: float, unit: str) -> str:
    """In g; for a workshop that weighs in ounces in both, rounded down."""
    grams = f"{units.plain(declared_g, 1)} g"
    ounces = int(units.from_grams(declared_g, "oz") * 100) / 100
    return f"{grams} ({units.plain(ounces, 2)} oz)" if unit == "oz" else grams


def left_now(seen: Outlook) -> float | None:
    """Share left of the weight at the cut. None before the cut, and of soap that was melted again."""
    if seen.cure_day is None or not seen.summary or seen.loaf.batch.is_melted_again:
        return None
    return seen.summary.share_left(seen.cure_day)


def qr(address: str) -> SafeString:
    code = segno.make(address, error="m").svg_inline(border=0, omitsize=True)
    return mark_safe(code)  # drawn by segno from our own address
