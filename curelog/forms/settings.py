"""The workshop's habits and its scales."""

from functools import cache
from itertools import groupby
from typing import Any

from django import forms

from curelog.domain.net_rules import RULE_CHOICES
from curelog.domain.soap_standards import standards
from curelog.forms.base import WorkshopForm
from curelog.forms.fields import CountField, MassField, NumberField, TemperatureField
from curelog.models import Person, Scale, Workshop
from curelog.models.workshop import zone_choices


def workshop_name() -> forms.CharField:
    return forms.CharField(label="Name of the workshop", max_length=80)


@cache
def zones_by_region() -> list[tuple[str, list[tuple[str, str]]]]:
    """Some hundred names: in groups they can be found with a thumb. Found once: each is a file to open."""
    grouped = groupby(zone_choices(), key=lambda choice: choice[0].partition("/")[0])
    return [(region, list(zones)) for region, zones in grouped]


def zone_field(help_text: str = "") -> forms.ChoiceField:
    return forms.ChoiceField(label="Time zone", choices=zones_by_region, help_text=help_text)


def clock_field(label: str) -> forms.TimeField:
    widget = forms.TimeInput(format="%H:%M", attrs={"type": "time"})
    return forms.TimeField(label=label, widget=widget, input_formats=["%H:%M", "%H:%M:%S"])


def buttons(label: str, choices: Any) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=choices, widget=forms.RadioSelect)


class StepField(MassField):
    """Scales step finer than soap is told."""

    digits = MassField.digits | {"g": 3, "oz": 4}


class WorkshopSettingsForm(WorkshopForm):
    name = workshop_name()
    time_zone = zone_field()
    quiet_from = clock_field("Quiet from")
    quiet_until = clock_field("Quiet until")
    mass_unit = buttons("Weights in", Workshop.Mass.choices)
    length_unit = buttons("Lengths in", [("mm", "mm"), ("in", "inches")])
    temperature_unit = buttons("Temperatures in", Workshop.Temperature.choices)
    currency = forms.CharField(label="Prices in", max_length=8, help_text="As you write it: EUR, CHF, $.")
    room_c = TemperatureField(label="Temperature")
    room_rh = NumberField(label="Humidity", min_value=5, max_value=95)
    settled_pct = NumberField(label="Loses less than", min_value=0.1, max_value=20)
    settled_days = CountField(label="Within", min_value=7, max_value=120)

    def __init__(self, *args: Any, workshop: Workshop, **kwargs: Any) -> None:
        initial = {name: getattr(workshop, name) for name in self.base_fields}
        super().__init__(*args, workshop=workshop, initial=initial, **kwargs)
        for name, unit in (("room_rh", "%"), ("settled_pct", "%"), ("settled_days", "days")):
            self.fields[name].unit = unit  # type: ignore[attr-defined]

    def clean_room_c(self) -> float:
        """A number in the other unit than the one shown is the likely slip."""
        room_c = float(self.cleaned_data["room_c"])
        if not -5 <= room_c <= 45:
            raise forms.ValidationError(f"No room to cure in. Is this in °{self.workshop.temperature_unit}?")
        return room_c


class LabelSettingsForm(WorkshopForm):
    """What every label says, and what net weights are worked out under unless told otherwise."""

    label_address = forms.CharField(
        label="Who answers for it", required=False, max_length=400, widget=forms.Textarea(attrs={"rows": 3})
    )
    label_cautions = forms.CharField(
        label="Cautions", required=False, max_length=600, widget=forms.Textarea(attrs={"rows": 3})
    )
    label_names = buttons("Ingredients", [("poured", "As poured"), ("finished", "As finished")])
    best_before_months = CountField(label="Best before, from the pour", required=False, max_value=60)
    net_rule = buttons("Net weight by", RULE_CHOICES)
    sell_within_days = CountField(label="Sold within", max_value=700)
    soap_standard = forms.ChoiceField(label="Held against", required=False)

    def __init__(self, *args: Any, workshop: Workshop, **kwargs: Any) -> None:
        initial = {name: getattr(workshop, name) for name in self.base_fields}
        super().__init__(*args, workshop=workshop, initial=initial, **kwargs)
        self.fields["best_before_months"].unit = "months"  # type: ignore[attr-defined]
        self.fields["sell_within_days"].unit = "days"  # type: ignore[attr-defined]
        standard = self.fields["soap_standard"]
        assert isinstance(standard, forms.ChoiceField)
        standard.choices = [("", "No standard"), *((key, told.name) for key, told in standards().items())]


class ScaleForm(WorkshopForm):
    name = forms.CharField(
        label="Name", max_length=60, help_text="As you call it: kitchen scale, letter scale."
    )
    step_g = StepField(
        label="Step", min_value=0.001, help_text="The smallest change that it shows.", max_value=1000
    )

    def __init__(self, *args: Any, scale: Scale | None = None, **kwargs: Any) -> None:
        initial = {"name": scale.name, "step_g": scale.step_g} if scale else {}
        super().__init__(*args, initial=initial, **kwargs)
        self.scale = scale

    def clean_name(self) -> str:
        name = str(self.cleaned_data["name"])
        others = Scale.objects.filter(name__iexact=name)
        if (others.exclude(pk=self.scale.pk) if self.scale else others).exists():
            raise forms.ValidationError("There is a scale of this name already.")
        return name


class InviteForm(WorkshopForm):
    role = buttons("Invite", [(Person.Role.HELPER, "A helper"), (Person.Role.OWNER, "An owner")])
