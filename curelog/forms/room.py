"""Readings of the room by hand and by a sensor, and the sensors themselves."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from curelog import units
from curelog.actions.room import Air
from curelog.forms.base import WorkshopForm
from curelog.forms.fields import MomentField, NumberField, TemperatureField
from curelog.models import RoomReading, Workshop
from curelog.models.room import COLDEST_C, WARMEST_C

SLACK = timedelta(minutes=10)
EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)


def check_moment(at: datetime) -> datetime:
    if at > timezone.now() + SLACK:
        raise forms.ValidationError("This moment is still to come. Is the date right?")
    if at < EARLIEST:
        raise forms.ValidationError("This is long ago. Is the year right?")
    return at


def check_temperature(temp_c: float | None, unit: str) -> float | None:
    if temp_c is not None and not COLDEST_C <= temp_c <= WARMEST_C:
        raise forms.ValidationError(f"No room to cure in. Is this in °{unit}?")
    return temp_c


class AirForm(WorkshopForm):
    """Humidity, temperature or both. `temp_c` is a field of those who know its unit."""

    rh = NumberField(label="Humidity", min_value=0, max_value=100, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["rh"].unit = "%"  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not self.errors and data.get("rh") is None and data.get("temp_c") is None:
            self.add_error("rh", "Humidity, temperature or both: at least one is needed.")
        return data

    @property
    def air(self) -> Air:
        return Air(self.cleaned_data["rh"], self.cleaned_data["temp_c"])


class ReadingForm(AirForm):
    """By hand."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    temp_c = TemperatureField(label="Temperature", required=False)
    at = MomentField(label="When")
    place = forms.CharField(
        label="Place",
        max_length=60,
        required=False,
        help_text="If there is more than one: rack by the door, cellar.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        last = RoomReading.objects.filter(source=RoomReading.Source.HAND).first()
        usual = {"key": uuid.uuid4(), "at": timezone.now(), "place": last.place if last else ""}
        super().__init__(*args, initial=usual, **kwargs)

    def clean_temp_c(self) -> float | None:
        return check_temperature(self.cleaned_data["temp_c"], self.workshop.temperature_unit)

    def clean_at(self) -> datetime:
        return check_moment(self.cleaned_data["at"])


class SentForm(AirForm):
    """What a sensor sends, always in the units named in its fields, whatever the workshop uses."""

    temp_c = NumberField(required=False)
    temp_f = NumberField(required=False)
    at = forms.CharField(required=False, max_length=40)

    def __init__(self, sent: dict[str, Any], workshop: Workshop) -> None:
        super().__init__({name: told for name, told in sent.items() if told is not None}, workshop=workshop)

    def clean_temp_c(self) -> float | None:
        return check_temperature(self.cleaned_data["temp_c"], "C")

    def clean_temp_f(self) -> float | None:
        temp_f = self.cleaned_data["temp_f"]
        return None if temp_f is None else check_temperature(units.celsius(temp_f, "F"), "F")

    def clean_at(self) -> datetime | None:
        """ISO 8601; without an offset it is the workshop's clock."""
        words = self.cleaned_data["at"]
        if not words:
            return None
        try:
            at = datetime.fromisoformat(words)
        except ValueError:
            raise forms.ValidationError("Not a moment as in 2026-01-12T09:00:00+01:00.") from None
        return check_moment(at if at.tzinfo else at.replace(tzinfo=self.workshop.zone))

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("temp_c") is None:
            data["temp_c"] = data.get("temp_f")
        return super().clean()

    @property
    def words(self) -> dict[str, str]:
        return {name: " ".join(str(error) for error in errors) for name, errors in self.errors.items()}


class SensorForm(WorkshopForm):
    name = forms.CharField(label="Name", max_length=60)
    place = forms.CharField(
        label="Place", max_length=60, required=False, help_text="Sensors of one place count as one."
    )
