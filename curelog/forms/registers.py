"""Complaints and what was done, scale checks, cleaning."""

import uuid
from typing import Any

from django import forms
from django.utils import timezone

from curelog.forms.base import WorkshopForm
from curelog.forms.fields import MassField, MomentField
from curelog.forms.room import check_moment
from curelog.models import Batch, Complaint, ComplaintStep, LogEntry, Person, Scale

# A scale is as good as its step allows: off by twice that it wants adjusting. Common practice, no source.
STEPS_OFF = 2


def words_field(label: str, rows: int = 3, **kwargs: Any) -> forms.CharField:
    return forms.CharField(
        label=label, max_length=4000, widget=forms.Textarea(attrs={"rows": rows}), **kwargs
    )


class RegisterForm(WorkshopForm):
    """What all rows of a register have. The key is made with the form, so that sending it twice keeps one."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    at = MomentField(label="When")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        fresh = {"key": uuid.uuid4(), "at": timezone.now()}
        super().__init__(*args, initial=fresh | kwargs.pop("initial", {}), **kwargs)

    def clean_at(self) -> Any:
        return check_moment(self.cleaned_data["at"])

    def told(self, by: Person) -> dict[str, Any]:
        return {"id": self.cleaned_data["key"], "at": self.cleaned_data["at"], "by": by}


class ComplaintForm(RegisterForm):
    batch = forms.CharField(
        label="Batch number",
        max_length=20,
        required=False,
        help_text="From the bar. Empty when nobody knows.",
    )
    what = words_field("What was told")
    is_adverse = forms.BooleanField(label="Somebody was hurt or unwell", required=False)
    who = forms.CharField(
        label="Who told it, and how to reach them",
        max_length=120,
        required=False,
        help_text="No more than you need: it is a person's data.",
    )

    def clean_batch(self) -> Batch | None:
        number = self.cleaned_data["batch"]
        # A loaf's number is its batch's with a letter behind.
        candidates = (number, number.rstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
        found = next(
            (b for n in candidates if n and (b := Batch.objects.filter(number__iexact=n).first())), None
        )
        if number and found is None:
            raise forms.ValidationError(
                "There is no batch of this number. Leave it empty if you are not sure."
            )
        return found

    def as_complaint(self, by: Person) -> Complaint:
        data = self.cleaned_data
        told = {name: data[name] for name in ("batch", "what", "is_adverse", "who")}
        return Complaint(**self.told(by), **told)


class StepForm(RegisterForm):
    done = words_field("What was done", 2)
    closes = forms.BooleanField(label="Nothing is left to do about it", required=False)

    def as_step(self, complaint: Complaint, by: Person) -> ComplaintStep:
        data = self.cleaned_data
        return ComplaintStep(complaint=complaint, done=data["done"], closes=data["closes"], **self.told(by))


class ScaleCheckForm(RegisterForm):
    what = forms.CharField(
        label="Scale", max_length=120, widget=forms.TextInput(attrs={"list": "scales", "autocomplete": "off"})
    )
    reference_g = MassField(label="Reference mass", min_value=0.01)
    shown_g = MassField(label="The scale shows")
    tolerance_g = MassField(
        label="May be off by", required=False, help_text="Empty: twice the scale's step.", min_value=0
    )
    note = forms.CharField(label="Note", max_length=4000, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self.scales = list(Scale.objects.filter(is_retired=False))
        super().__init__(*args, **kwargs)
        if len(self.scales) == 1:
            self.initial["what"] = self.scales[0].name

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("tolerance_g") is None and "tolerance_g" not in self.errors:
            steps = {scale.name.casefold(): scale.step_g for scale in self.scales}
            data["tolerance_g"] = STEPS_OFF * steps.get(str(data.get("what", "")).casefold(), 1.0)
        return data

    def as_entry(self, by: Person) -> LogEntry:
        names = ("what", "reference_g", "shown_g", "tolerance_g", "note")
        told = {name: self.cleaned_data[name] for name in names}
        return LogEntry(kind=LogEntry.Kind.SCALE, **self.told(by), **told)


class CleaningForm(RegisterForm):
    what = forms.CharField(label="What was cleaned", max_length=120)
    note = forms.CharField(label="With what, anything odd", max_length=4000, required=False)

    def as_entry(self, by: Person) -> LogEntry:
        told = {name: self.cleaned_data[name] for name in ("what", "note")}
        return LogEntry(kind=LogEntry.Kind.CLEANING, **self.told(by), **told)
