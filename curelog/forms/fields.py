"""Fields in the workshop's units. What they clean to is in g, mm, °C and UTC."""

from datetime import date, datetime
from typing import Any

from django import forms

from curelog import units
from curelog.models import Workshop

# Shorter than Django's own, as they stand under half of a phone's width.
BOUNDS = {"min_value": "Not less than %(limit_value)s.", "max_value": "Not more than %(limit_value)s."}


class NumberField(forms.FloatField):
    """A number typed with either decimal mark; shown with the numeric keypad."""

    default_error_messages = {**BOUNDS}
    unit = ""
    sign = ""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]  # the stubs name the parent's
        if isinstance(value, str):
            value = value.strip().replace(",", ".").replace(" ", "")
        return super().to_python(value)

    def prepare_value(self, value: Any) -> Any:
        return units.plain(value, 4) if isinstance(value, float) else value

    def in_unit_of(self, workshop: Workshop) -> None:
        """Called by the form; a plain number has no unit."""


class MeasuredField(NumberField):
    """A number with a unit that the workshop chooses."""

    digits = {"g": 2, "oz": 3, "mm": 1, "in": 3, "C": 1, "F": 1}

    def shown_unit(self, workshop: Workshop) -> str:
        raise NotImplementedError

    def inside(self, value: float) -> float:
        raise NotImplementedError

    def outside(self, value: float) -> float:
        raise NotImplementedError

    def in_unit_of(self, workshop: Workshop) -> None:
        self.unit = self.shown_unit(workshop)

    def clean(self, value: Any) -> float | None:
        number = super().clean(value)
        return None if number is None else self.inside(number)

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, int | float):
            return units.plain(self.outside(value), self.digits[self.unit])
        return value


class MassField(MeasuredField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"min_value": 0, "max_value": 1_000_000} | kwargs)

    def shown_unit(self, workshop: Workshop) -> str:
        return workshop.mass_unit

    def inside(self, value: float) -> float:
        return units.grams(value, self.unit)

    def outside(self, value: float) -> float:
        return units.from_grams(value, self.unit)


class LengthField(MeasuredField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"min_value": 0.1, "max_value": 5_000} | kwargs)

    def shown_unit(self, workshop: Workshop) -> str:
        return workshop.length_unit

    def inside(self, value: float) -> float:
        return units.millimetres(value, self.unit)

    def outside(self, value: float) -> float:
        return units.from_millimetres(value, self.unit)


class TemperatureField(MeasuredField):
    sign = "°"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"min_value": -50, "max_value": 400} | kwargs)

    def shown_unit(self, workshop: Workshop) -> str:
        return workshop.temperature_unit

    def inside(self, value: float) -> float:
        return units.celsius(value, self.unit)

    def outside(self, value: float) -> float:
        return units.from_celsius(value, self.unit)


class PercentField(NumberField):
    """Typed in per cent, cleaned to a share."""

    unit = "%"

    def clean(self, value: Any) -> float | None:
        number = super().clean(value)
        return None if number is None else number / 100

    def prepare_value(self, value: Any) -> Any:
        return units.plain(100 * value, 2) if isinstance(value, int | float) else value


class CountField(forms.IntegerField):
    """A whole number from 1 on, shown with the numeric keypad."""

    default_error_messages = {**BOUNDS}

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}))
        super().__init__(**{"min_value": 1} | kwargs)


# Beyond lies a slip of the finger, and in the end what a calendar can no longer count.
FIRST_YEAR, LAST_YEAR = 1990, 2100


def check_year(told: date | None) -> None:
    if told and not FIRST_YEAR <= told.year <= LAST_YEAR:
        raise forms.ValidationError(f"Which year? {told.year} cannot be meant.")


class MomentField(forms.DateTimeField):
    """A moment on the workshop's clock, to the minute."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("input_formats", ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"])
        kwargs.setdefault(
            "widget", forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"})
        )
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> datetime | None:
        # Before the zone is applied, which cannot count beyond its years either.
        told = str(value)[:4] if value else ""
        if told.isdigit():
            check_year(date(max(1, int(told)), 1, 1))
        return super().to_python(value)


class DayField(forms.DateField):
    """A day, by the browser's own calendar."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        super().__init__(**kwargs)

    def validate(self, value: Any) -> None:
        super().validate(value)
        check_year(value)


class FilesInput(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Any number of files. Cleans to a list."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", FilesInput(attrs={"accept": "image/*", "capture": "environment"}))
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        files = data if isinstance(data, list | tuple) else [data] if data else []
        if self.required and not files:
            raise forms.ValidationError(self.error_messages["required"], code="required")
        return list(files)
