"""The rows of a recipe form: fats by weight or per cent, and what is stirred in on the fats' weight."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django import forms

from curelog import units
from curelog.domain import fats
from curelog.domain.pour_facts import SENSIBLE
from curelog.forms.base import WorkshopForm
from curelog.forms.fields import NumberField, PercentField
from curelog.models import AdditiveRole, LimitOf, OwnFat

MOST_ROWS = 30
FAT_ROWS, ADDITIVE_ROWS = 6, 2
MORE_ROWS = 3
# Per cent typed with one decimal add to 100 only nearly: three times 33.3 is 99.9.
PERCENT_SLACK = 0.11
BY_MASS, BY_PERCENT = "mass", "percent"


@dataclass
class FatLibrary:
    """What the maker can choose from: own fats first, then the table. Reads the database once."""

    keep: frozenset[int] = frozenset()  # retired own fats that this recipe holds
    own: dict[int, OwnFat] = field(init=False)

    def __post_init__(self) -> None:
        self.own = {fat.pk: fat for fat in OwnFat.objects.all() if not fat.is_retired or fat.pk in self.keep}

    def choices(self) -> list[Any]:
        table = fats.all_fats()
        groups = [
            ("Your own", [(f"own:{fat.pk}", fat.name) for fat in self.own.values()]),
            ("Fats and oils", [(fat.key, fat.name) for fat in table if not fat.is_wax]),
            ("Waxes", [(fat.key, fat.name) for fat in table if fat.is_wax]),
        ]
        return [("", "–"), *((name, group) for name, group in groups if group)]

    def fat(self, choice: str) -> fats.Fat:
        own = self.own_id(choice)
        return self.own[own].as_fat() if own else fats.find(choice)

    @staticmethod
    def own_id(choice: str) -> int | None:
        return int(choice.removeprefix("own:")) if choice.startswith("own:") else None


@dataclass(frozen=True)
class FatRow:
    number: int
    choice: str
    amount: float


@dataclass(frozen=True)
class AdditiveRow:
    number: int
    name: str
    role: str
    share: float
    water_share: float
    limit_share: float | None = None
    limit_of: str = LimitOf.FINISHED
    allergens: str = ""


# What the cut window counts with, under the name of the fact that bounds it.
LIMITED = {AdditiveRole.SALT: "salt_on_fats", AdditiveRole.LACTATE: "sodium_lactate_on_fats"}


class IngredientRows(WorkshopForm):
    """Rows are fields `fat_1`, `amount_1`, ... so that the form works as plain HTML. Empty rows are left out."""

    by = forms.ChoiceField(
        label="Fats in",
        choices=[(BY_MASS, "Weights"), (BY_PERCENT, "Per cent")],
        widget=forms.RadioSelect,
        initial=BY_MASS,
    )

    def __init__(self, *args: Any, library: FatLibrary, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.library = library
        self.fat_row_count = self._rows("fat", FAT_ROWS)
        self.additive_row_count = self._rows("additive", ADDITIVE_ROWS)
        choices = library.choices()
        for row in range(1, self.fat_row_count + 1):
            self._add_fat_row(row, choices)
        for row in range(1, self.additive_row_count + 1):
            self._add_additive_row(row)

    def _rows(self, kind: str, usual: int) -> int:
        """How many rows to show: as many as were shown, more on request, and one to spare in the beginning."""
        held = sum(
            1
            for name in self.initial
            if name.startswith(f"{kind}_") and name.removeprefix(f"{kind}_").isdigit()
        )
        shown = str(self.data.get(f"{kind}_rows", ""))
        count = int(shown) if shown.isascii() and shown.isdigit() and len(shown) < 4 else max(usual, held + 1)
        if f"more_{kind}" in self.data:
            count += MORE_ROWS
        return max(1, min(count, MOST_ROWS))

    def _add_fat_row(self, row: int, choices: list[Any]) -> None:
        fat = forms.ChoiceField(label=f"Fat {row}", choices=choices, required=False)
        self.add_field(f"fat_{row}", fat)
        self.add_field(
            f"amount_{row}", NumberField(label=f"Amount of fat {row}", required=False, min_value=0)
        )

    def _add_additive_row(self, row: int) -> None:
        self.add_field(f"additive_{row}", forms.CharField(label="What", required=False, max_length=60))
        role = forms.ChoiceField(label="Counts as", choices=AdditiveRole.choices, required=False)
        role.initial = AdditiveRole.OTHER
        self.add_field(f"role_{row}", role)
        self.add_field(
            f"share_{row}", PercentField(label="Of the fats", required=False, min_value=0, max_value=300)
        )
        self.add_field(
            f"wet_{row}", PercentField(label="Water in it", required=False, min_value=0, max_value=100)
        )
        self.add_field(
            f"limit_{row}", PercentField(label="Supplier's limit", required=False, min_value=0, max_value=100)
        )
        of = forms.ChoiceField(label="Limit is of", choices=LimitOf.choices, required=False)
        self.add_field(f"limit_of_{row}", of)
        allergens = forms.CharField(label="Allergens it declares", required=False, max_length=1000)
        self.add_field(f"allergens_{row}", allergens)

    def fat_rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"fat_{row}"], self[f"amount_{row}"]) for row in range(1, self.fat_row_count + 1)]

    def additive_rows(self) -> list[list[forms.BoundField]]:
        parts = ("additive", "role", "share", "wet", "limit", "limit_of", "allergens")
        return [[self[f"{part}_{row}"] for part in parts] for row in range(1, self.additive_row_count + 1)]

    def filled_fats(self, data: Mapping[str, Any]) -> list[FatRow]:
        """The rows with a fat and an amount; what is half filled or doubled is told beside its field."""
        found: list[FatRow] = []
        for row in range(1, self.fat_row_count + 1):
            choice, amount = data.get(f"fat_{row}", ""), data.get(f"amount_{row}")
            if choice and amount is None and f"amount_{row}" not in self.errors:
                self.add_error(f"amount_{row}", "How much of it?")
            elif amount is not None and not choice and f"fat_{row}" not in self.errors:
                self.add_error(f"fat_{row}", "Which fat is this?")
            elif choice and any(choice == other.choice for other in found):
                name = self.library.fat(choice).name
                self.add_error(f"fat_{row}", f"{name} is named twice: put its amounts together.")
            elif choice and amount is not None:
                found.append(FatRow(row, choice, amount))
        if not found and not any(name.startswith(("fat_", "amount_")) for name in self.errors):
            self.add_error("fat_1", "At least one fat is needed.")
        return found

    def masses_g(self, rows: list[FatRow], fats_g: float | None) -> list[float]:
        """Of the rows, from weights or from per cent of `fats_g`."""
        if self.cleaned_data.get("by") != BY_PERCENT:
            return [units.grams(row.amount, self.workshop.mass_unit) for row in rows]
        total = sum(row.amount for row in rows)
        if rows and abs(total - 100) > PERCENT_SLACK:
            gap = units.plain(abs(100 - total), 2)
            rest = f"{gap} % are missing." if total < 100 else f"{gap} % are too many."
            words = f"The shares add to {units.plain(total, 2)} %, not to 100 %: {rest}"
            self.add_error(f"amount_{rows[-1].number}", words)
        if fats_g is None and "fats_g" not in self.errors:
            self.add_error("fats_g", "How much do all fats weigh together?")
        return [(fats_g or 0) * row.amount / total if total else 0.0 for row in rows]

    def filled_additives(self, data: Mapping[str, Any]) -> list[AdditiveRow]:
        found = []
        for row in range(1, self.additive_row_count + 1):
            name, role, share = (data.get(f"{part}_{row}") for part in ("additive", "role", "share"))
            role = role or AdditiveRole.OTHER
            if share is None and name and f"share_{row}" not in self.errors:
                self.add_error(f"share_{row}", "How much, in per cent of the fats?")
            elif share is not None and not name and role == AdditiveRole.OTHER:
                self.add_error(f"additive_{row}", "What is it?")
            elif share is not None:
                name = name or AdditiveRole(role).label
                wet = data.get(f"wet_{row}") or 0.0
                found.append(AdditiveRow(row, name, role, share, wet, *self._supplier_says(data, row)))
        self._check_limits(found)
        return found

    @staticmethod
    def _supplier_says(data: Mapping[str, Any], row: int) -> tuple[float | None, str, str]:
        of = data.get(f"limit_of_{row}") or LimitOf.FINISHED
        return data.get(f"limit_{row}"), of, data.get(f"allergens_{row}", "")

    def _check_limits(self, rows: list[AdditiveRow]) -> None:
        for role, fact in LIMITED.items():
            of_role = [row for row in rows if row.role == role]
            if sum(row.share for row in of_role) > SENSIBLE[fact][1]:
                words = f"More than {SENSIBLE[fact][1]:.0%} of the fats cannot be meant. Is the number right?"
                self.add_error(f"share_{of_role[-1].number}", words)
