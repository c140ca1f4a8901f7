"""What people set about reminders."""

import uuid
from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from curelog.domain.reminding import RULES, Kind, Rule
from curelog.forms.base import WorkshopForm
from curelog.forms.fields import MomentField, NumberField
from curelog.models import Receiver, Recipe, ReminderKind

HOURS = (Kind.CHECK, Kind.CUT, Kind.CUT_BY)
MINUTES_OF = {"hours": 60, "days": 24 * 60}


class OwnReminderForm(WorkshopForm):
    key = forms.UUIDField(widget=forms.HiddenInput)
    at = MomentField(label="Remind me at")
    note = forms.CharField(
        label="Note",
        max_length=200,
        help_text="Shown here and in the calendar, never in a notification or mail.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, initial={"key": uuid.uuid4()}, **kwargs)

    def clean_at(self) -> Any:
        at = self.cleaned_data["at"]
        if at <= timezone.now():
            raise forms.ValidationError("This moment is past already.")
        return at


class MailboxForm(WorkshopForm):
    address = forms.EmailField(label="E-mail address", max_length=254)


class ReceiverForm(WorkshopForm):
    name = forms.CharField(label="Name", max_length=60)
    kinds = forms.MultipleChoiceField(
        label="Told here of",
        choices=ReminderKind.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, receiver: Receiver, **kwargs: Any) -> None:
        on = [kind.value for kind in Kind if receiver.wants(kind)]
        super().__init__(*args, initial={"name": receiver.name, "kinds": on}, **kwargs)


class RuleForm(WorkshopForm):
    """Lead in hours for what has an hour, in days and with a time of day for what has a date."""

    is_on = forms.BooleanField(label="Remind of it", required=False)
    lead = NumberField(label="How long before", min_value=0, max_value=72)
    clock = forms.TimeField(
        label="At what time of day",
        widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}),
        input_formats=["%H:%M", "%H:%M:%S"],
    )
    recipe_kind = forms.ChoiceField(
        label="For",
        choices=[("", "All recipes"), *Recipe.Kind.choices],
        required=False,
        widget=forms.RadioSelect,
    )

    def __init__(
        self, *args: Any, kind: Kind, rule: Rule | None = None, recipe_kind: str = "", **kwargs: Any
    ) -> None:
        self.kind, rule = kind, rule or RULES[kind]
        self.unit = "hours" if kind in HOURS else "days"
        lead = rule.lead / timedelta(minutes=MINUTES_OF[self.unit])
        initial = {"is_on": rule.is_on, "lead": lead, "clock": rule.clock, "recipe_kind": recipe_kind}
        super().__init__(*args, initial=initial, **kwargs)
        self.fields["lead"].unit = self.unit  # type: ignore[attr-defined]
        if kind in HOURS:
            del self.fields["clock"]

    def clean_lead(self) -> float:
        lead = float(self.cleaned_data["lead"])
        if self.unit == "days" and lead != int(lead):
            raise forms.ValidationError("Whole days, please: what has a date has no hour.")
        return lead

    @property
    def values(self) -> Mapping[str, object]:
        data = self.cleaned_data
        minutes = round(data["lead"] * MINUTES_OF[self.unit])
        clock = {"clock": data["clock"]} if "clock" in data else {}
        return {"is_on": data["is_on"], "lead_minutes": minutes, **clock}
