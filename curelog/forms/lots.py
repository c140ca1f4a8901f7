"""An ingredient lot as it came in or was made here, and what is left of it by the scale."""

import uuid
from typing import Any

from django import forms
from django.utils import timezone

from curelog.actions.lots import PartTaken
from curelog.domain import fats
from curelog.forms.base import WorkshopForm
from curelog.forms.fields import DayField, MassField, MomentField, NumberField, PercentField
from curelog.forms.ingredients import FatLibrary
from curelog.forms.lot_parts import LotParts
from curelog.forms.room import check_moment
from curelog.models import Lot, Person
from curelog.models.lots import ALKALI_NAMES

MADE_HERE = [
    ("mix", "Premixed fats"),
    ("lye:naoh", "Stock lye of sodium hydroxide"),
    ("lye:koh", "Stock lye of potassium hydroxide"),
    ("soap", "Trimmings or rebatch"),
]
NAMED_BY_THE_MAKER = {Lot.Kind.ADDITIVE, Lot.Kind.MIX, Lot.Kind.SOAP}
# Kept as they are typed.
TOLD = (
    *("code", "supplier", "received_g", "price", "received_on", "opened_on", "best_before"),
    *("saponification_value", "peroxide_value", "went_to", "note"),
)
# A lot outside the published range happens; this far outside, it is another fat or another unit.
RANGE_SLACK = 0.1
# Sodium hydroxide dissolves in about its own mass of water (from memory): a stronger lye is a slip.
STRONGEST_LYE = 0.55


class LotForm(LotParts):
    key = forms.UUIDField(widget=forms.HiddenInput)
    what = forms.ChoiceField(label="What it is")
    name = forms.CharField(
        label="Name",
        max_length=60,
        required=False,
        help_text="Of an additive as in your recipes; of what you made, as you call it.",
    )
    code = forms.CharField(label="Lot code", max_length=60, help_text="The supplier's, or your own.")
    supplier = forms.CharField(label="Supplier", max_length=80, required=False)
    received_g = MassField(label="How much", required=False, min_value=0.1)
    price = NumberField(label="Price of it all", required=False, min_value=0, max_value=1_000_000)
    received_on = DayField(label="Received, or made, on", required=False)
    opened_on = DayField(label="Opened on", required=False)
    best_before = DayField(label="Best before", required=False)
    saponification_value = NumberField(label="Saponification value", required=False)
    peroxide_value = NumberField(label="Peroxide value", required=False, min_value=0, max_value=200)
    strength = PercentField(
        label="Alkali in the stock lye",
        required=False,
        min_value=5,
        max_value=100 * STRONGEST_LYE,
        help_text="As weighed. Empty: from what it was made of.",
    )
    went_to = forms.CharField(
        label="To whom the rebatched soap went",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    note = forms.CharField(
        label="Note", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, lot: Lot | None = None, is_used: bool = False, **kwargs: Any) -> None:
        self.lot, self.is_used = lot, is_used
        initial = initial_of(lot) if lot else {"key": uuid.uuid4(), "received_on": timezone.localdate()}
        super().__init__(*args, initial=initial | kwargs.pop("initial", {}), **kwargs)
        self.library = FatLibrary(frozenset([lot.own_id]) if lot and lot.own_id else frozenset())
        what = self.fields["what"]
        what.choices = what_choices(self.library)  # type: ignore[attr-defined]
        # Pours point at it: a lard lot does not become coconut under them.
        what.disabled = is_used
        for name, unit in (
            ("price", self.workshop.currency),
            ("saponification_value", "mg/g"),
            ("peroxide_value", "meq/kg"),
        ):
            self.fields[name].unit = unit  # type: ignore[attr-defined]

    @property
    def kind(self) -> str:
        what = self.cleaned_data.get("what", "")
        if what in ALKALI_NAMES:
            return Lot.Kind.ALKALI
        name = what.partition(":")[0]
        return name if name in Lot.Kind.values else Lot.Kind.FAT

    def clean_saponification_value(self) -> float | None:
        value: float | None = self.cleaned_data["saponification_value"]
        low, high = fats.SAPONIFICATION_LIMITS
        if value is not None and not low <= value <= high:
            raise forms.ValidationError(f"It lies between {low:g} and {high:g} mg KOH per g.")
        return value

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "what" in self.errors:
            return data
        self._check_name(data)
        self._check_days(data)
        self._check_certificate(data)
        self.check_parts(self.kind)
        if data.get("received_g") is None and "received_g" not in self.errors:
            data["received_g"] = sum(part.mass_g for part in self.parts)
            if not self.parts:
                self.add_error("received_g", "How much of it is it?")
        if self.kind == Lot.Kind.LYE and not self.errors:
            self._check_strength(data)
        if not self.errors:
            self._check_is_only(data)
        return data

    def _check_name(self, data: dict[str, Any]) -> None:
        if self.kind in NAMED_BY_THE_MAKER and not data.get("name") and "name" not in self.errors:
            self.add_error("name", "What is it called?")

    def _check_days(self, data: dict[str, Any]) -> None:
        received, opened = data.get("received_on"), data.get("opened_on")
        if received and opened and opened < received:
            self.add_error("opened_on", "This is before it came.")
        for name, day in (("received_on", received), ("opened_on", opened)):
            if day and day > timezone.localdate() and name not in self.errors:
                self.add_error(name, "This day is still to come.")

    def _check_certificate(self, data: dict[str, Any]) -> None:
        value = data.get("saponification_value")
        if value is None:
            return
        if self.kind != Lot.Kind.FAT:
            self.add_error(
                "saponification_value", "Only a fat has one. Of premixed fats, give it to their lots."
            )
            return
        fat = self.library.fat(data["what"])
        low, high = fat.saponification_range or (fat.saponification_value, fat.saponification_value)
        if not low * (1 - RANGE_SLACK) <= value <= high * (1 + RANGE_SLACK):
            published = f"{low:g}" if low == high else f"{low:g} to {high:g}"
            words = f"{fat.name} has {published} mg KOH per g. Is this another fat, or another unit?"
            self.add_error("saponification_value", words)

    def _check_strength(self, data: dict[str, Any]) -> None:
        """By its parts, where it was not told."""
        alkali_g = sum(part.mass_g for part in self.parts)
        if data.get("strength") is None and alkali_g:
            data["strength"] = alkali_g / data["received_g"]
        if data.get("strength") is None:
            self.add_error("strength", "How strong is it, or what was it made of?")
        elif data["strength"] > STRONGEST_LYE:
            words = f"That is {data['strength']:.0%} alkali, more than dissolves. The mass is that of alkali and water."
            self.add_error("received_g", words)

    def _check_is_only(self, data: dict[str, Any]) -> None:
        made = self.as_lot(Lot(id=data["key"]))
        others = Lot.objects.filter(
            kind=made.kind, key=made.key, own=made.own, name__iexact=made.name, code__iexact=made.code
        )
        if others.exclude(pk=self.lot.pk if self.lot else data["key"]).exists():
            words = "You have a lot of this code. More of it came? Put its mass together, or add to the code."
            self.add_error("code", words)

    def as_lot(self, lot: Lot) -> Lot:
        data = self.cleaned_data
        for name in TOLD:
            setattr(lot, name, data[name])
        lot.kind = self.kind
        lot.strength = data["strength"] if lot.kind == Lot.Kind.LYE else None
        lot.own = self.library.own.get(FatLibrary.own_id(data["what"]) or 0)
        lot.key = "" if lot.own or lot.kind in NAMED_BY_THE_MAKER else data["what"].removeprefix("lye:")
        lot.name = self._name_of(lot)
        return lot

    def _name_of(self, lot: Lot) -> str:
        """What the table names is called so."""
        if lot.kind in NAMED_BY_THE_MAKER:
            return str(self.cleaned_data["name"])
        if lot.kind == Lot.Kind.FAT:
            return self.library.fat(self.cleaned_data["what"]).name
        return f"Stock lye, {lot.key.upper()}" if lot.kind == Lot.Kind.LYE else ALKALI_NAMES[lot.key]

    def made(self, by: Person) -> tuple[Lot, list[PartTaken]]:
        """The same form sent again finds the lot that it made."""
        key = self.cleaned_data["key"]
        lot = self.lot or Lot.objects.filter(pk=key).first() or Lot(id=key, made_by=by)
        return self.as_lot(lot), self.parts


def what_choices(library: FatLibrary) -> list[Any]:
    alkali = [(key, name) for key, name in ALKALI_NAMES.items()]
    usual = [("Alkali", alkali), ("Anything else", [("additive", "Additive or fragrance")])]
    return [*library.choices(), *usual, ("Made here", MADE_HERE)]


def what_of(lot: Lot) -> str:
    if lot.kind in NAMED_BY_THE_MAKER:
        return lot.kind
    return f"lye:{lot.key}" if lot.kind == Lot.Kind.LYE else lot.choice


def initial_of(lot: Lot) -> dict[str, Any]:
    initial = {name: getattr(lot, name) for name in ("name", *TOLD, "strength")}
    initial |= {"key": lot.pk, "what": what_of(lot)}
    for row, part in enumerate(lot.parts.all(), start=1):
        initial |= {f"part_{row}": str(part.source or part.batch), f"taken_{row}": part.mass_g}
    return initial


class StockCountForm(WorkshopForm):
    key = forms.UUIDField(widget=forms.HiddenInput)
    counted_g = MassField(label="Left by the scale")
    counted_at = MomentField(label="Weighed at")
    note = forms.CharField(label="Note", required=False, max_length=4000)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, initial={"key": uuid.uuid4(), "counted_at": timezone.now()}, **kwargs)

    def clean_counted_at(self) -> Any:
        return check_moment(self.cleaned_data["counted_at"])
