"""The air of the curing room, as read by hand or told by a sensor, and what it comes to day by day."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from django.db import models
from django.utils import timezone

from curelog.domain.drying import RoomDay
from curelog.models.people import Person
from curelog.models.workshop import Workshop

NOON = time(12)
# No curing room lies outside; a value that does is another unit or a slip.
COLDEST_C, WARMEST_C = -20.0, 50.0
LONGEST_AGO = timedelta(days=3 * 365)
# Fewer days tell the weather, not the room.
LEAST_DAYS_FOR_USUAL = 28


class RoomSensor(models.Model):
    """Something that sends readings by itself. Of its token only the hash is kept."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    name = models.CharField(max_length=60)
    place = models.CharField(max_length=60, blank=True)
    token = models.CharField(max_length=64)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    heard_at = models.DateTimeField(null=True, blank=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["is_retired", "name"]

    def __str__(self) -> str:
        return self.name


class RoomReading(models.Model):
    """Humidity, temperature or both at one moment. One that is wrong is left out, not erased."""

    class Source(models.TextChoices):
        HAND = "hand", "Read by hand"
        FILE = "file", "From a file"
        SENSOR = "sensor", "From a sensor"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    at = models.DateTimeField()
    day = models.DateField(help_text="The day on the workshop's clock.")
    rh = models.FloatField(null=True, blank=True, help_text="Relative humidity in per cent.")
    temp_c = models.FloatField(null=True, blank=True)
    place = models.CharField(max_length=60, blank=True)
    source = models.CharField(max_length=10, choices=Source.choices)
    sensor = models.ForeignKey(
        RoomSensor, null=True, blank=True, on_delete=models.SET_NULL, related_name="readings"
    )
    by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    changed_at = models.DateTimeField(
        default=timezone.now, db_index=True, help_text="When it arrived, was left out, or was taken back in."
    )
    left_out_at = models.DateTimeField(
        null=True, blank=True, help_text="When somebody said that it is wrong."
    )

    class Meta:
        ordering = ["-at"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(rh__isnull=False) | models.Q(temp_c__isnull=False),
                name="room_tells_something",
            )
        ]
        indexes = [
            # Holds all that a day's mean is made of: a sensor tells a hundred thousand readings a year.
            models.Index(
                fields=["day", "place", "rh", "temp_c"],
                condition=models.Q(left_out_at=None),
                name="room_readings_by_day",
            ),
            models.Index(fields=["at"], name="room_readings_by_moment"),
        ]


@dataclass(frozen=True, slots=True)
class RoomDayMean:
    """One day on the workshop's clock, all places alike."""

    day: date
    rh: float | None
    temp_c: float | None


def day_means(first: date, before: date) -> list[RoomDayMean]:
    """Oldest first. Each place counts once, however often its sensor speaks."""
    told = (
        RoomReading.objects.filter(left_out_at=None, day__gte=first, day__lt=before)
        .order_by("day")
        .values("day", "place")
        .annotate(rh=models.Avg("rh"), temp_c=models.Avg("temp_c"))
        .values_list("day", "rh", "temp_c")
    )
    found = []
    for day, rows in groupby(told, key=lambda row: row[0]):
        _, rhs, temps_c = zip(*rows, strict=True)
        found.append(RoomDayMean(day, mean(rhs), mean(temps_c)))
    return found


def mean(values: Iterable[float | None]) -> float | None:
    """Of those that are known, to the tenth: no sensor knows it better, and equal questions stay equal."""
    known = [value for value in values if value is not None]
    return round(sum(known) / len(known), 1) if known else None


@dataclass(frozen=True)
class RoomLog:
    """The whole days of the room that tell its humidity, oldest first: read once for many loaves.

    A day counts when it is over: else every reading of a sensor would be a new question to every forecast.
    `usual_rh` in per cent and `usual_c` in °C, as they are set, stand in where nothing was read.
    """

    usual_rh: float
    usual_c: float
    zone: ZoneInfo
    days: tuple[RoomDayMean, ...] = ()

    @classmethod
    def of(cls, workshop: Workshop, now: datetime) -> "RoomLog":
        today = workshop.local(now).date()
        humid = [day for day in day_means(today - LONGEST_AGO, today) if day.rh is not None]
        return cls(workshop.room_rh, workshop.room_c, workshop.zone, tuple(humid))

    @classmethod
    def without_readings(cls, workshop: Workshop) -> "RoomLog":
        return cls(workshop.room_rh, workshop.room_c, workshop.zone)

    def between(self, start: datetime, until: datetime) -> list[RoomDayMean]:
        """From the day of `start` to the day before that of `until`."""
        first, before = start.astimezone(self.zone).date(), until.astimezone(self.zone).date()
        return [day for day in self.days if first <= day.day < before]

    def room_days(self, start: datetime, until: datetime) -> tuple[RoomDay, ...]:
        """Each day at its noon, in days after `start`, a cut."""
        return tuple(
            RoomDay(
                day=round((datetime.combine(day.day, NOON, self.zone) - start) / timedelta(days=1), 3),
                rh=day.rh,  # type: ignore[arg-type]  # only days that tell it are kept
                temp_c=self.usual_c if day.temp_c is None else day.temp_c,
            )
            for day in self.between(start, until)
        )

    def climate_mean(self, start: datetime, until: datetime) -> tuple[float, float]:
        """Humidity in per cent and temperature in °C over a cure."""
        return self._means(self.between(start, until))

    def usual(self, before: datetime) -> tuple[float, float]:
        """By the readings of the year before, when there are enough of them."""
        found = self.between(before - timedelta(days=365), before)
        return self._means(found if len(found) >= LEAST_DAYS_FOR_USUAL else [])

    def _means(self, found: list[RoomDayMean]) -> tuple[float, float]:
        rh, temp_c = mean([day.rh for day in found]), mean([day.temp_c for day in found])
        return self.usual_rh if rh is None else rh, self.usual_c if temp_c is None else temp_c
