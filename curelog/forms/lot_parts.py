"""What a lot made here was made of: rows `part_1`, `taken_1` ..., each a lot or a batch by its number."""

from typing import Any

from django import forms
from django.db.models import Q, Value
from django.db.models.functions import Concat

from curelog.actions.lots import PartTaken
from curelog.forms.base import WorkshopForm
from curelog.forms.fields import MassField
from curelog.models import Batch, Lot
from curelog.models.shelf import with_parts

# Not a lot that is kept on a shelf but a pot: what a rebatch is made of.
MELTED = "melted"
LEAST_ROWS, MOST_ROWS, MORE_ROWS = 2, 24, 3
FITTING: dict[str, tuple[set[str], bool, str]] = {
    Lot.Kind.MIX: ({Lot.Kind.FAT}, False, "Only lots of fats go into premixed fats."),
    Lot.Kind.LYE: ({Lot.Kind.ALKALI}, False, "Only lots of alkali; water needs no row."),
    Lot.Kind.SOAP: (set(Lot.Kind.values), True, ""),
    MELTED: ({Lot.Kind.SOAP}, True, "Only soap: a lot of trimmings, or a batch by its number."),
}


class LotParts(WorkshopForm):
    """Fields are added after those of the lot itself. Empty rows are left out."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.parts: list[PartTaken] = []
        self.part_row_count = self._rows()
        for row in range(1, self.part_row_count + 1):
            name = forms.CharField(
                label="Lot or batch",
                max_length=130,
                required=False,
                widget=forms.TextInput(attrs={"list": "all-lots", "autocomplete": "off"}),
            )
            self.add_field(f"part_{row}", name)
            self.add_field(f"taken_{row}", MassField(label="How much of it", required=False, min_value=0.1))

    def _rows(self) -> int:
        shown = str(self.data.get("part_rows", ""))
        held = sum(1 for name in self.initial if name.startswith("part_"))
        count = int(shown) if shown.isascii() and shown.isdigit() and len(shown) < 3 else held + LEAST_ROWS
        return max(1, min(count + MORE_ROWS * ("more_part" in self.data), MOST_ROWS))

    def part_rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"part_{row}"], self[f"taken_{row}"]) for row in range(1, self.part_row_count + 1)]

    @property
    def has_parts(self) -> bool:
        return any(part.value() or part.errors for part, _ in self.part_rows())

    def check_parts(self, kind: str) -> None:
        """Finds them; what is half filled or does not fit is told beside its field."""
        self.parts = []
        for row in range(1, self.part_row_count + 1):
            name, mass_g = self.cleaned_data.get(f"part_{row}"), self.cleaned_data.get(f"taken_{row}")
            if not name and mass_g:
                self.add_error(f"part_{row}", "Of which lot or batch?")
            elif name and mass_g is None and f"taken_{row}" not in self.errors:
                self.add_error(f"taken_{row}", "How much of it?")
            elif name and mass_g:
                self._take(row, kind, name, mass_g)

    def _take(self, row: int, kind: str, name: str, mass_g: float) -> None:
        found = named(name)
        if found is None:
            self.add_error(f"part_{row}", "No lot and no batch has this name. Choose one of the list.")
        elif found.pk == self.cleaned_data.get("key"):
            self.add_error(f"part_{row}", "That is this lot itself.")
        elif words := misfit(kind, found):
            self.add_error(f"part_{row}", words)
        elif any(part.of == found for part in self.parts):
            self.add_error(f"part_{row}", "It is named twice: put its masses together.")
        else:
            self.parts.append(PartTaken(found, mass_g))


def misfit(kind: str, part: Lot | Batch) -> str:
    """Why this cannot be a part of a lot of this kind; empty when it can."""
    if kind not in FITTING:
        return "This is bought, not made here: leave this empty."
    kinds, takes_batches, words = FITTING[kind]
    fits = takes_batches if isinstance(part, Batch) else part.kind in kinds
    return "" if fits else words


def named(name: str) -> Lot | Batch | None:
    """By the words of the list, by a code that only one lot has, or by a batch number."""
    full = Concat("name", Value(" "), "code")
    lots = list(
        with_parts(Lot.objects.annotate(full=full).filter(Q(full__iexact=name) | Q(code__iexact=name)))
    )
    exact = [lot for lot in lots if str(lot).casefold() == name.casefold()] or lots
    return exact[0] if len(exact) == 1 else Batch.objects.filter(number__iexact=name).first()
