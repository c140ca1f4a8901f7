"""A loaf's label: one to look at, and a sheet of them for the browser's printer."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

import segno
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from curelog import safety, units
from curelog.domain.ingredients import Ingredient, as_finished, as_poured
from curelog.domain.labelling import figure_height_mm, months_after
from curelog.forms.label import LabelForm
from curelog.models.outlook import Outlook
from curelog.models.poured import poured_of
from curelog.views.access import Request
from curelog.views.loaf import outlook_of


@dataclass(frozen=True)
class Label:
    """What is printed. Without a release no weight was promised, and none is printed."""

    net_weight: str
    figure_mm: float
    ingredients: list[Ingredient]
    made_on: date
    best_before: date | None

    @property
    def unsure(self) -> list[str]:
        return [each.name for each in self.ingredients if not each.is_sure]


def label(request: Request, key: UUID) -> HttpResponse:
    seen = outlook_of(request, key)
    form = LabelForm(request.GET.dict(), request.workshop)
    context = {"seen": seen, "loaf": seen.loaf, "form": form, "cautions": safety.LABELS}
    if form.is_valid():
        context |= {
            "label": label_of(seen, form.cleaned_data["names"]),
            "qr": qr(request.build_absolute_uri(reverse("loaf", args=[seen.loaf.pk]))),
            "asked": form.cleaned_data,
            "copies": form.copies,
        }
    return render(request, "sale/label.html", context, status=200 if form.is_valid() else 422)


def label_of(seen: Outlook, names: str) -> Label:
    workshop, release = seen.workshop, seen.stock.release if seen.stock else None
    declared_g = release.declared_g if release else None
    made_on = workshop.local(seen.loaf.batch.poured_at).date()
    months = workshop.best_before_months
    return Label(
        net_weight=weight_words(declared_g, workshop.mass_unit) if declared_g else "",
        figure_mm=figure_height_mm(declared_g) if declared_g else 0,
        ingredients=ingredients(seen, names),
        made_on=made_on,
        best_before=months_after(made_on, months) if months else None,
    )


def weight_words(declared_g: float, unit: str) -> str:
    """In g; for a workshop that weighs in ounces in both, rounded down."""
    grams = f"{units.plain(declared_g, 1)} g"
    ounces = int(units.from_grams(declared_g, "oz") * 100) / 100
    return f"{grams} ({units.plain(ounces, 2)} oz)" if unit == "oz" else grams


def ingredients(seen: Outlook, names: str) -> list[Ingredient]:
    poured = poured_of(seen.loaf.batch)
    if poured is None:
        return []
    if names == "poured" or seen.cure_day is None or not seen.summary:
        return as_poured(poured)
    return as_finished(poured, seen.summary.share_left(seen.cure_day))


def qr(address: str) -> SafeString:
    code = segno.make(address, error="m").svg_inline(border=0, omitsize=True)
    return mark_safe(code)  # drawn by segno from our own address
