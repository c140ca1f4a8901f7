"""Trimmings and bars melted again, as weighed."""

import uuid
from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from curelog.actions.keeping import Told
from curelog.actions.pour import Filling, next_number
from curelog.actions.rebatch import Melted
from curelog.forms.fields import MassField, MomentField
from curelog.forms.lot_parts import MELTED, LotParts
from curelog.models import Batch, Mould, Person


class RebatchForm(LotParts):
    key = forms.UUIDField(widget=forms.HiddenInput)
    number = forms.CharField(label="Batch number", max_length=20)
    name = forms.CharField(label="Name", max_length=60)
    poured_at = MomentField(label="Into the mould at")
    water_g = MassField(label="Water added", min_value=0, required=False)
    mould = forms.ModelChoiceField(
        label="Mould", queryset=Mould.objects.none(), required=False, empty_label="None of the list"
    )
    note = forms.CharField(
        label="Note", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        now = timezone.now()
        usual = {"key": uuid.uuid4(), "number": next_number(timezone.localtime(now)), "poured_at": now}
        super().__init__(*args, **{"initial": usual | {"name": "Rebatch"}} | kwargs)
        moulds = self.fields["mould"]
        assert isinstance(moulds, forms.ModelChoiceField)
        moulds.queryset = Mould.objects.filter(is_retired=False)

    def clean_number(self) -> str:
        number: str = self.cleaned_data["number"]
        taken = Batch.objects.filter(number__iexact=number)
        if any(batch.pk != self.cleaned_data.get("key") for batch in taken):
            free = next_number(timezone.localtime())
            raise forms.ValidationError(f"There is a batch {number} already. Free is {free}.")
        return number

    def clean_poured_at(self) -> Any:
        at = self.cleaned_data["poured_at"]
        if at > timezone.now() + timedelta(minutes=10):
            raise forms.ValidationError("This moment is still to come. Keep it when it is done.")
        return at

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        self.check_parts(MELTED)
        if not self.parts and not any(name.startswith(("part_", "taken_")) for name in self.errors):
            self.add_error("part_1", "Which soap was melted?")
        for part in self.parts:
            at = data.get("poured_at")
            if isinstance(part.of, Batch) and at and part.of.poured_at > at:
                self.add_error("poured_at", f"Batch {part.of} was poured later than this.")
        return data

    def told(self, person: Person) -> Told:
        data = self.cleaned_data
        return Told(data["key"], data["poured_at"], person, note=data["note"])

    @property
    def melted(self) -> Melted:
        return Melted(self.cleaned_data["name"], self.parts, self.cleaned_data["water_g"] or 0.0)

    @property
    def filling(self) -> Filling:
        return Filling(self.cleaned_data["mould"])
