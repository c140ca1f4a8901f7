"""A mould by its inner size."""

from typing import Any

from django import forms

from curelog.forms.base import WorkshopForm
from curelog.forms.fields import CountField, LengthField
from curelog.models import Mould

SIDES = ("length_mm", "width_mm", "height_mm")


class MouldForm(WorkshopForm):
    name = forms.CharField(label="Name", max_length=60)
    length_mm = LengthField(label="Length")
    width_mm = LengthField(label="Width")
    height_mm = LengthField(label="Height")
    cavities = CountField(
        label="Single cavities",
        required=False,
        min_value=0,
        max_value=200,
        help_text="How many, when each gives one bar without a cut; the size is then that of one. Empty for a loaf.",
    )

    def __init__(self, *args: Any, mould: Mould | None = None, **kwargs: Any) -> None:
        names = (*SIDES, "name")
        initial = (
            {name: getattr(mould, name) for name in names} | {"cavities": mould.cavities or None}
            if mould
            else {}
        )
        super().__init__(*args, initial=initial, **kwargs)
        self.mould = mould

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        others = Mould.objects.exclude(pk=self.mould.pk) if self.mould else Mould.objects
        if others.filter(name__iexact=name, is_retired=False).exists():
            raise forms.ValidationError("You have a mould of this name already.")
        return name

    def sides(self) -> list[forms.BoundField]:
        return [self[side] for side in SIDES]

    def as_mould(self, mould: Mould) -> Mould:
        for name in (*SIDES, "name"):
            setattr(mould, name, self.cleaned_data[name])
        mould.cavities = self.cleaned_data["cavities"] or 0
        return mould
