"""A fat the table does not have."""

from typing import Any

from django import forms

from curelog.domain import fats
from curelog.forms.base import WorkshopForm
from curelog.forms.fields import NumberField, PercentField
from curelog.models import OwnFat


class OwnFatForm(WorkshopForm):
    name = forms.CharField(label="Name", max_length=60)
    saponification_value = NumberField(
        label="Saponification value",
        help_text="In mg KOH per g, as on the certificate. Where it gives a range, take the low end.",
    )
    iodine_value = NumberField(label="Iodine value", required=False, min_value=0, max_value=250)
    inci = forms.CharField(label="INCI name", required=False, max_length=120)
    is_wax = forms.BooleanField(label="It is a wax: no glycerol comes of it", required=False)

    def __init__(self, *args: Any, fat: OwnFat | None = None, **kwargs: Any) -> None:
        super().__init__(*args, initial=initial_of(fat) if fat else {}, **kwargs)
        self.fat = fat
        self.fields["saponification_value"].unit = "mg/g"  # type: ignore[attr-defined]
        for acid, label in fats.ACID_NAMES.items():
            self.add_field(acid, PercentField(label=label, required=False, min_value=0, max_value=100))

    def acid_fields(self) -> list[forms.BoundField]:
        return [self[acid] for acid in fats.ACID_NAMES]

    @property
    def has_acids(self) -> bool:
        return any(field.value() for field in self.acid_fields())

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        if any(name.casefold() == fat.name.casefold() for fat in fats.all_fats()):
            raise forms.ValidationError(
                "The table has a fat of this name. Add what sets yours apart, such as its lot."
            )
        others = OwnFat.objects.exclude(pk=self.fat.pk) if self.fat else OwnFat.objects
        if others.filter(name__iexact=name).exists():
            raise forms.ValidationError("You have a fat of this name already.")
        return name

    def clean_saponification_value(self) -> float:
        value: float = self.cleaned_data["saponification_value"]
        low, high = fats.SAPONIFICATION_LIMITS
        if not low <= value <= high:
            words = (
                f"It lies between {low:g} and {high:g} mg KOH per g. Was it given as NaOH per fat instead?"
            )
            raise forms.ValidationError(words)
        return value

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not self.errors:
            try:
                self.as_own_fat(OwnFat()).as_fat()
            except ValueError:
                # Everything else was looked at before: the acids do not add up.
                shares = {acid: share for acid in fats.ACID_NAMES if (share := data.get(acid))}
                words = f"The fatty acids add to {100 * sum(shares.values()):g} %, they should add to nearly 100 %."
                self.add_error(next(iter(shares)), words)
        return data

    def as_own_fat(self, fat: OwnFat) -> OwnFat:
        for name in ("name", "saponification_value", "iodine_value", "inci", "is_wax"):
            setattr(fat, name, self.cleaned_data[name])
        fat.fatty_acids = {acid: share for acid in fats.ACID_NAMES if (share := self.cleaned_data.get(acid))}
        return fat


def initial_of(fat: OwnFat) -> dict[str, Any]:
    names = ("name", "saponification_value", "iodine_value", "inci", "is_wax")
    return {name: getattr(fat, name) for name in names} | dict(fat.fatty_acids)
