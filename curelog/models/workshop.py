"""The one workshop of this installation, its scales and its moulds."""

import zoneinfo
from datetime import datetime, time
from typing import Self

from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone

from curelog.domain.quiet import QuietHours


def zone_choices() -> list[tuple[str, str]]:
    return [
        (name, name.replace("_", " "))
        for name in sorted(zoneinfo.available_timezones())
        if "/" in name or name == "UTC"
    ]


class Workshop(models.Model):
    """Names, units and habits. One row."""

    class Mass(models.TextChoices):
        GRAM = "g", "grams"
        OUNCE = "oz", "ounces"

    class Temperature(models.TextChoices):
        CELSIUS = "C", "Celsius"
        FAHRENHEIT = "F", "Fahrenheit"

    class Length(models.TextChoices):
        MILLIMETRE = "mm", "millimetres"
        INCH = "in", "inches"

    name = models.CharField(max_length=80, default="My workshop")
    time_zone = models.CharField(max_length=64, default="UTC")
    quiet_from = models.TimeField(default=time(22, 0))
    quiet_until = models.TimeField(default=time(6, 30))
    mass_unit = models.CharField(max_length=2, choices=Mass.choices, default=Mass.GRAM)
    temperature_unit = models.CharField(
        max_length=1, choices=Temperature.choices, default=Temperature.CELSIUS
    )
    length_unit = models.CharField(max_length=2, choices=Length.choices, default=Length.MILLIMETRE)
    currency = models.CharField(max_length=8, default="EUR", help_text="Of prices and costs, as printed.")
    room_c = models.FloatField(default=18.0)
    room_rh = models.FloatField(default=55.0)
    settled_pct = models.FloatField(default=4.0)
    settled_days = models.PositiveSmallIntegerField(default=28)
    label_address = models.TextField(blank=True, help_text="Who answers for the soap, as printed.")
    label_cautions = models.TextField(blank=True, help_text="Cautions as printed.")
    label_names = models.CharField(
        max_length=8, default="poured", help_text="Ingredients as poured or as finished."
    )
    best_before_months = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Months from the pour; empty: none is printed."
    )
    net_rule = models.CharField(max_length=12, default="average_eu", help_text="Rule of the net weight.")
    sell_within_days = models.PositiveSmallIntegerField(
        default=180, help_text="How long after release the weight is to hold, unless told otherwise."
    )
    soap_standard = models.CharField(
        max_length=40, blank=True, help_text="Published standard to be held against."
    )

    @classmethod
    def current(cls) -> Self:
        return cls.objects.get_or_create(pk=1)[0]

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.time_zone)

    @property
    def quiet_hours(self) -> QuietHours:
        return QuietHours(self.quiet_from, self.quiet_until, self.zone)

    def local(self, moment: datetime) -> datetime:
        return timezone.localtime(moment, self.zone)


class Scale(models.Model):
    name = models.CharField(max_length=60)
    step_g = models.FloatField(default=1.0, validators=[MinValueValidator(0.001)])
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.name


class Mould(models.Model):
    """Inner size. A mould with cavities gives so many bars without a cut."""

    name = models.CharField(max_length=60)
    length_mm = models.FloatField(validators=[MinValueValidator(1)])
    width_mm = models.FloatField(validators=[MinValueValidator(1)])
    height_mm = models.FloatField(validators=[MinValueValidator(1)])
    cavities = models.PositiveSmallIntegerField(default=0)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def volume_ml(self) -> float:
        return self.length_mm * self.width_mm * self.height_mm * max(1, self.cavities) / 1000
