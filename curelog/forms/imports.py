"""Choosing a file, and saying what its columns are."""

from collections.abc import Iterable, Iterator
from string import ascii_uppercase
from typing import Any

from django import forms

from curelog.forms.base import WorkshopForm
from curelog.imports import ImportRefused, guess, uploads
from curelog.imports.loaves import plan_loaves
from curelog.imports.matching import Matching
from curelog.imports.plan import Plan
from curelog.imports.readings import plan_readings
from curelog.imports.sheet import MOST_BYTES, Sheet
from curelog.imports.values import DATE_ORDERS, LENGTH_UNITS, MASS_UNITS
from curelog.imports.wanted import LOAVES, SHEET_KINDS, WEIGHTS, SheetKind, Wanted
from curelog.imports.weights import plan_weights
from curelog.models import Scale, Workshop


class FileForm(WorkshopForm):
    kind = forms.ChoiceField(
        label="What is in it?",
        choices=[(kind.name, kind.title) for kind in SHEET_KINDS.values()],
        widget=forms.RadioSelect,
    )
    file = forms.FileField(
        label="CSV file", widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,text/csv,text/plain"})
    )

    def clean_file(self) -> Sheet | None:
        file = self.cleaned_data["file"]
        if "kind" not in self.cleaned_data:
            return None
        try:
            return uploads.keep(file.read(MOST_BYTES + 1), SHEET_KINDS[self.cleaned_data["kind"]])
        except ImportRefused as why:
            raise forms.ValidationError(str(why)) from None


def column_choices(sheet: Sheet) -> list[tuple[str, str]]:
    """Columns by the letter a spreadsheet gives them, and by name."""
    named = [
        (str(place), f"{letters(place)}: {name or '(no name)'}") for place, name in enumerate(sheet.header)
    ]
    return [("", "not in the file"), *named]


def letters(place: int) -> str:
    first, last = divmod(place, 26)
    return (ascii_uppercase[first - 1] if first else "") + ascii_uppercase[last]


class MatchForm(WorkshopForm):
    """For each thing wanted: its column, or what holds for all rows."""

    date_order = forms.ChoiceField(label="Dates are written", choices=list(DATE_ORDERS.items()))
    decimal_mark = forms.ChoiceField(label="Decimals are written", choices=[(".", "12.5"), (",", "12,5")])

    def __init__(self, *args: Any, sheet: Sheet, kind: SheetKind, workshop: Workshop, **kwargs: Any) -> None:
        self.sheet, self.kind = sheet, kind
        super().__init__(*args, workshop=workshop, initial=self.guesses(workshop), **kwargs)
        for wanted in kind.fields:
            self.add_field(
                f"column_{wanted.name}",
                forms.ChoiceField(label=wanted.label, choices=column_choices(sheet), required=False),
            )
            self.add_field(
                f"same_{wanted.name}",
                forms.CharField(label=f"{wanted.label}, for all rows", max_length=100, required=False),
            )
        self.add_units()

    def add_units(self) -> None:
        temperatures = {"C": "°C", "F": "°F"}
        offered: list[tuple[str, str, dict[str, str]]] = []
        if self.kind.uses("mass"):
            offered.append(("mass_unit", "Weights are in", {unit: unit for unit in MASS_UNITS}))
        if self.kind.uses("length"):
            offered.append(("length_unit", "Lengths are in", {unit: unit for unit in LENGTH_UNITS}))
        if self.kind.uses("temperature"):
            offered.append(("temperature_unit", "Temperatures are in", temperatures))
        for name, label, choices in offered:
            self.add_field(name, forms.ChoiceField(label=label, choices=list(choices.items())))
        if self.kind is WEIGHTS:
            scales = Scale.objects.filter(is_retired=False)
            words = "Its step says how far each weight may be off. Without one: 1 g."
            self.add_field(
                "scale",
                forms.ModelChoiceField(
                    label="Weighed on",
                    queryset=scales,
                    empty_label="no scale of the list",
                    required=False,
                    help_text=words,
                ),
            )

    def guesses(self, workshop: Workshop) -> dict[str, Any]:
        found = guess.columns(self.sheet.header, self.kind.fields)
        kinds = {wanted.name: wanted.kind for wanted in self.kind.fields}
        cells: dict[str, list[str]] = {"date": [], "number": []}
        for name, place in found.items():
            sort = "date" if kinds[name] == "date" else "number"
            if kinds[name] not in ("text", "clock"):
                cells[sort] += self.sheet.column(place)

        def told_unit(kind: str, offered: Iterable[str], usual: str) -> str:
            names = [self.sheet.header[place] for name, place in found.items() if kinds[name] == kind]
            return guess.unit(names, offered, usual)

        self.is_order_open = {"dmy", "mdy"} <= set(guess.date_orders(cells["date"]))
        return {f"column_{name}": str(place) for name, place in found.items()} | {
            "date_order": guess.date_order(cells["date"], workshop.mass_unit == Workshop.Mass.OUNCE),
            "decimal_mark": guess.decimal_mark(cells["number"]),
            "mass_unit": told_unit("mass", MASS_UNITS, workshop.mass_unit),
            "length_unit": told_unit("length", LENGTH_UNITS, workshop.length_unit),
            "temperature_unit": told_unit("temperature", ("C", "F"), workshop.temperature_unit),
        }

    def pairs(self) -> Iterator[tuple[Wanted, forms.BoundField, forms.BoundField]]:
        """For the screen: what is wanted, its column, and what stands in for it."""
        for wanted in self.kind.fields:
            yield wanted, self[f"column_{wanted.name}"], self[f"same_{wanted.name}"]

    def units(self) -> list[forms.BoundField]:
        names = ("date_order", "decimal_mark", "mass_unit", "length_unit", "temperature_unit", "scale")
        return [self[name] for name in names if name in self.fields]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for wanted in self.kind.fields:
            column, same = data.get(f"column_{wanted.name}"), data.get(f"same_{wanted.name}")
            if wanted.is_required and not column and not same and f"column_{wanted.name}" not in self.errors:
                self.add_error(
                    f"column_{wanted.name}", "Which column is it? Or tell what holds for all rows."
                )
        return data

    @property
    def matching(self) -> Matching:
        data = self.cleaned_data
        names = [wanted.name for wanted in self.kind.fields]
        return Matching(
            columns={name: int(data[f"column_{name}"]) for name in names if data[f"column_{name}"]},
            same={name: data[f"same_{name}"] for name in names if data[f"same_{name}"]},
            zone=self.workshop.zone,
            date_order=data["date_order"],
            decimal_mark=data["decimal_mark"],
            mass_unit=data.get("mass_unit", "g"),
            length_unit=data.get("length_unit", "mm"),
            temperature_unit=data.get("temperature_unit", "C"),
            shown_mass_unit=self.workshop.mass_unit,
            shown_temperature_unit=self.workshop.temperature_unit,
        )

    def plan(self) -> Plan:
        if self.kind is WEIGHTS:
            return plan_weights(self.sheet, self.matching, self.cleaned_data["scale"])
        make = plan_loaves if self.kind is LOAVES else plan_readings
        return make(self.sheet, self.matching, self.workshop)
