"""The pour form: the recipe's amounts as really weighed, and what happened round the pot."""

from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from curelog.actions.keeping import Told
from curelog.actions.pour import (
    MOST_LOAVES,
    Circumstances,
    Filling,
    Weighed,
    next_number,
    shared_out,
    superfat_of,
)
from curelog.domain.batch import BatchError
from curelog.domain.mixture import Superfat
from curelog.domain.pour_facts import SENSIBLE
from curelog.forms.base import WorkshopForm
from curelog.forms.fields import MassField, MomentField, NumberField, TemperatureField
from curelog.forms.lot_field import LotField
from curelog.forms.pour_phone import tell_phone
from curelog.forms.pour_usual import usual
from curelog.models import AdditiveRole, Batch, Heat, Lot, Mould, Person, Recipe
from curelog.models.shelf import Fits, fits_additive, fits_alkali, fits_fat, in_use, open_lots

# A kitchen scale and careful hands stay well inside this; beyond it a weight is asked about.
SUPERFAT_STRAYS = 0.02


class PourForm(WorkshopForm):
    """Rows are `fat_1`, `additive_1`, `mould_1` ...; the key makes sending twice harmless."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    kept_anyway = forms.BooleanField(required=False, widget=forms.HiddenInput)
    number = forms.CharField(label="Batch number", max_length=20)
    poured_at = MomentField(label="Poured at", required=False, help_text="Empty: now, when you keep it.")
    naoh_g = MassField(label="Sodium hydroxide")
    koh_g = MassField(label="Potassium hydroxide")
    water_g = MassField(label="Water")
    heat = forms.ChoiceField(label="Heat", choices=Heat.choices, widget=forms.RadioSelect)
    lye_temperature_c = TemperatureField(label="Lye", required=False)
    fats_temperature_c = TemperatureField(label="Fats", required=False)
    trace_minutes = NumberField(label="To trace", required=False, min_value=0, max_value=1440)
    room_c = TemperatureField(label="Room", required=False)
    note = forms.CharField(
        label="Note", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, recipe: Recipe, last: Batch | None = None, **kwargs: Any) -> None:
        self.shelf = open_lots(timezone.localdate())
        super().__init__(*args, initial=usual(recipe, last, self.shelf), **kwargs)
        self.recipe = recipe
        self.now = timezone.now()
        self.questions: list[str] = []
        self.superfat: Superfat | None = None
        self.fields["trace_minutes"].unit = "min"  # type: ignore[attr-defined]
        if not self.initial["naoh_g"]:
            del self.fields["naoh_g"]
        if not self.initial["koh_g"]:
            del self.fields["koh_g"]
        self._add_lye_lots()
        for row, part in enumerate(recipe.fats.all(), start=1):
            self._add_weighed("fat", row, part.fat.name, fits_fat(part.choice))
        for row, extra in enumerate(recipe.additives.all(), start=1):
            self._add_weighed("additive", row, extra.name, fits_additive(extra.name, extra.role))
        tell_phone(self.fields, recipe, self.shelf)
        self.mould_row_count = self._mould_rows()
        moulds = Mould.objects.filter(is_retired=False)
        for row in range(1, self.mould_row_count + 1):
            mould = forms.ModelChoiceField(
                label="Mould", queryset=moulds, required=False, empty_label="None of the list"
            )
            self.add_field(f"mould_{row}", mould)
            self.add_field(f"filled_{row}", MassField(label="Of the batch", required=False, min_value=1))

    def _add_weighed(self, kind: str, row: int, name: str, fits: Fits) -> None:
        self.add_field(f"{kind}_{row}", MassField(label=name))
        self._add_lot(f"{kind}_lot_{row}", fits)

    def _add_lye_lots(self) -> None:
        """One for the only alkali, or for the sodium hydroxide; another one where there are both."""
        keys = [key for key in ("naoh", "koh") if f"{key}_g" in self.fields]
        for name, key in zip(("lye_lot", "koh_lot"), keys, strict=False):
            self._add_lot(name, fits_alkali(key))

    def _add_lot(self, name: str, fits: Fits) -> None:
        field = LotField(fits, self.shelf)
        field.named_by(name)
        self.add_field(name, field)
        if opened := in_use(field.offered):
            self.initial[name] = opened.code

    def _mould_rows(self) -> int:
        shown = str(self.data.get("mould_rows", ""))
        used = sum(1 for name in self.initial if name.startswith("mould_"))
        count = int(shown) if shown.isascii() and shown.isdigit() and len(shown) < 3 else used
        return max(1, min(count + ("more_mould" in self.data), MOST_LOAVES))

    def rows(self, kind: str) -> list[int]:
        return [row for row in range(1, len(self.fields)) if f"{kind}_{row}" in self.fields]

    def weighed_rows(self, kind: str) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"{kind}_{row}"], self[f"{kind}_lot_{row}"]) for row in self.rows(kind)]

    def fat_rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return self.weighed_rows("fat")

    def additive_rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return self.weighed_rows("additive")

    def mould_rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"mould_{row}"], self[f"filled_{row}"]) for row in self.rows("mould")]

    @property
    def alkali_field(self) -> str:
        return "naoh_g" if "naoh_g" in self.fields else "koh_g"

    def told_of(self, name: str) -> Any:
        """What was typed; where that is missing or makes no sense, what the form began with."""
        cleaned = getattr(self, "cleaned_data", {})
        return cleaned[name] if name in cleaned else self.initial.get(name)

    @property
    def moment(self) -> datetime:
        at: datetime | None = self.told_of("poured_at")
        return at or self.now

    def clean_number(self) -> str:
        number: str = self.cleaned_data["number"]
        taken = Batch.objects.filter(number__iexact=number)
        if any(batch.pk != self.cleaned_data.get("key") for batch in taken):
            free = next_number(timezone.localtime(self.now))
            raise forms.ValidationError(f"There is a batch {number} already. Free is {free}.")
        return number

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        self._check_moulds()
        self._check_weights()
        if not self.errors and self.questions and not data.get("kept_anyway"):
            self.add_error(self.alkali_field, forms.ValidationError(self.questions, code="questioned"))
        return data

    def check_happened(self) -> None:
        """A moment to come may be asked about, but not kept."""
        if self.moment > self.now + timedelta(minutes=10):
            self.add_error("poured_at", "This moment is still to come. Keep the pour when it is made.")

    @property
    def is_only_questioned(self) -> bool:
        return bool(self.questions) and dict(self.errors) == {self.alkali_field: self.questions}

    def _check_moulds(self) -> None:
        poured_g = self.weighed.poured_g
        filled_g = sum(filling.mass_g or 0.0 for filling in self.fillings)
        has_open = any(filling.mass_g is None for filling in self.fillings)
        last = self.rows("mould")[-1]
        if filled_g > poured_g * 1.02 or (has_open and filled_g >= poured_g):
            self.add_error(f"filled_{last}", "The moulds cannot hold more than was poured.")

    def _check_weights(self) -> None:
        try:
            self.superfat = superfat_of(self.recipe, self.weighed)
        except BatchError as error:
            self.add_error("fat_1", f"{error.words[:1].upper()}{error.words[1:]}.")
            return
        # One slip makes several numbers odd: the first is told.
        for fact, (value, field, what) in self._judged().items():
            low, high = SENSIBLE[fact]
            if not low <= value <= high and field not in self.errors:
                words = f"That is {what} of {value:.0%}: it cannot be meant. Is a weight or its unit wrong?"
                self.add_error(field, words)
                break
        self.questions = list(self._questions(self.superfat.share))

    def _judged(self) -> dict[str, tuple[float, str, str]]:
        """Fact, value, field and name of what the cut window will count with."""
        assert self.superfat
        judged = {
            "superfat": (self.superfat.share, self.alkali_field, "a superfat"),
            "lye_concentration": (self.lye_concentration, "water_g", "a lye concentration"),
        }
        for fact, role in (
            ("salt_on_fats", AdditiveRole.SALT),
            ("sodium_lactate_on_fats", AdditiveRole.LACTATE),
        ):
            rows = [
                row for row, extra in enumerate(self.recipe.additives.all(), start=1) if extra.role == role
            ]
            if rows:
                on_fats = sum(self.told_of(f"additive_{row}") for row in rows) / sum(self.weighed.fats_g)
                judged[fact] = (on_fats, f"additive_{rows[-1]}", "a share of the fats")
        return judged

    def _questions(self, superfat: float) -> list[str]:
        if superfat < 0:
            words = f"That is {-superfat:.1%} more alkali than these fats can take up: the soap would be lye-heavy."
            return [f"{words} Is a weight mistyped? Lye-heavy soap: do not use it, do not sell it."]
        if abs(superfat - self.recipe.superfat) > SUPERFAT_STRAYS:
            words = f"From these weights the superfat is {superfat:.1%}, the recipe says {self.recipe.superfat:.1%}."
            return [f"{words} Is a weight mistyped?"]
        return []

    def lot_of(self, name: str) -> Lot | None:
        """The known lot of the code that was typed."""
        field = self.fields.get(name)
        return field.lot(self.told_of(name) or "") if isinstance(field, LotField) else None

    @property
    def weighed(self) -> Weighed:
        fats, additives = self.rows("fat"), self.rows("additive")
        return Weighed(
            fats_g=[self.told_of(f"fat_{row}") for row in fats],
            naoh_g=self.told_of("naoh_g"),
            koh_g=self.told_of("koh_g"),
            water_g=self.told_of("water_g"),
            additives_g=[self.told_of(f"additive_{row}") for row in additives],
            fat_lots=[self.told_of(f"fat_lot_{row}") or "" for row in fats],
            additive_lots=[self.told_of(f"additive_lot_{row}") or "" for row in additives],
            lye_lot=self.told_of("lye_lot") or "",
            koh_lot=self.told_of("koh_lot") or "",
            fat_from=[self.lot_of(f"fat_lot_{row}") for row in fats],
            additive_from=[self.lot_of(f"additive_lot_{row}") for row in additives],
            lye_from=self.lot_of("lye_lot"),
            koh_from=self.lot_of("koh_lot"),
        )

    @property
    def lye_concentration(self) -> float:
        """As Batch has it: with the water of the additives."""
        weighed = self.weighed
        extras = zip(self.recipe.additives.all(), weighed.additives_g, strict=True)
        water_g = weighed.water_g + sum(mass_g * extra.water_share for extra, mass_g in extras)
        return (weighed.naoh_g + weighed.koh_g) / (weighed.naoh_g + weighed.koh_g + water_g)

    @property
    def fillings(self) -> list[Filling]:
        rows = [(self.told_of(f"mould_{row}"), self.told_of(f"filled_{row}")) for row in self.rows("mould")]
        return [Filling(mould, mass_g) for mould, mass_g in rows if mould or mass_g] or [Filling(None)]

    def loaves(self) -> list[tuple[str, float]]:
        """Name and mass in g of what will be cut, like ones once; soap in single cavities will not be cut."""
        shared = zip(self.fillings, shared_out(self.fillings, self.weighed.poured_g), strict=True)
        cut = (
            (str(filling.mould or "The loaf"), round(mass_g, 1))
            for filling, mass_g in shared
            if not (filling.mould and filling.mould.cavities)
        )
        return list(dict.fromkeys(cut))

    @property
    def circumstances(self) -> Circumstances:
        return Circumstances(
            heat=self.told_of("heat"),
            lye_temperature_c=self.told_of("lye_temperature_c"),
            fats_temperature_c=self.told_of("fats_temperature_c"),
            trace_minutes=self.told_of("trace_minutes"),
            room_c=self.told_of("room_c"),
        )

    def told(self, person: Person, origin: str = "page") -> Told:
        return Told(self.cleaned_data["key"], self.moment, person, origin, self.cleaned_data["note"])
