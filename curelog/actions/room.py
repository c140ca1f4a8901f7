"""Readings of the room, and the sensors that send them."""

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.crypto import constant_time_compare

from curelog.models import Person, RoomReading, RoomSensor, Workshop

# A room changes slowly. One that speaks more often is told to wait.
LEAST_GAP = timedelta(seconds=55)


class TooSoon(Exception):
    """The sensor has been heard within the last minute."""


@dataclass(frozen=True)
class Air:
    """Relative humidity in per cent and temperature in °C; at least one of them."""

    rh: float | None
    temp_c: float | None


def note_reading(
    key: UUID,
    at: datetime,
    air: Air,
    workshop: Workshop,
    *,
    place: str = "",
    source: str = RoomReading.Source.HAND,
    by: Person | None = None,
    sensor: RoomSensor | None = None,
) -> RoomReading:
    """The same key again is harmless and gives the stored reading back."""
    return RoomReading.objects.get_or_create(
        pk=key,
        defaults={
            "at": at,
            "day": workshop.local(at).date(),
            "rh": air.rh,
            "temp_c": air.temp_c,
            "place": place,
            "source": source,
            "by": by,
            "sensor": sensor,
        },
    )[0]


@dataclass(frozen=True)
class ReadingTold:
    key: UUID
    at: datetime
    air: Air
    place: str


def note_many(readings: Sequence[ReadingTold], workshop: Workshop, by: Person) -> None:
    """From a file: thousands at once. A key that is known already is left as it is."""
    rows = (
        RoomReading(
            pk=reading.key,
            at=reading.at,
            day=workshop.local(reading.at).date(),
            rh=reading.air.rh,
            temp_c=reading.air.temp_c,
            place=reading.place,
            source=RoomReading.Source.FILE,
            by=by,
        )
        for reading in readings
    )
    RoomReading.objects.bulk_create(rows, batch_size=500, ignore_conflicts=True)


def leave_out(reading: RoomReading, is_wrong: bool) -> None:
    """A reading that is wrong stays in the list and counts no longer."""
    now = timezone.now()
    reading.left_out_at, reading.changed_at = now if is_wrong else None, now
    reading.save(update_fields=["left_out_at", "changed_at"])


def add_sensor(name: str, place: str, by: Person) -> tuple[RoomSensor, str]:
    """The sensor and its token, which is shown once: only its hash is kept."""
    sensor = RoomSensor(name=name, place=place, made_by=by)
    return sensor, new_token(sensor)


def new_token(sensor: RoomSensor) -> str:
    """The one before is good for nothing from now on."""
    secret = secrets.token_urlsafe(32)
    sensor.token = hashed(secret)
    sensor.save()
    return f"{sensor.pk.hex}.{secret}"


def hashed(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def retire_sensor(sensor: RoomSensor, is_retired: bool) -> None:
    """What it told so far stays."""
    sensor.is_retired = is_retired
    sensor.save(update_fields=["is_retired"])


def sensor_of(token: str) -> RoomSensor | None:
    """The token names its sensor and proves it. An unknown name costs as long as a wrong proof."""
    name, _, secret = token.partition(".")
    try:
        sensor = RoomSensor.objects.filter(pk=UUID(name), is_retired=False).first()
    except ValueError:
        sensor = None
    is_right = constant_time_compare(hashed(secret), sensor.token if sensor else hashed(""))
    return sensor if sensor and is_right else None


@transaction.atomic
def hear(sensor: RoomSensor, at: datetime | None, air: Air, workshop: Workshop) -> RoomReading:
    """A reading that a sensor sends. With its own moment it may be sent again without harm."""
    now = timezone.now()
    rested = Q(heard_at=None) | Q(heard_at__lte=now - LEAST_GAP)
    if not RoomSensor.objects.filter(rested, pk=sensor.pk).update(heard_at=now):
        raise TooSoon
    at = at or now
    return note_reading(
        uuid5(sensor.pk, at.isoformat()),
        at,
        air,
        workshop,
        place=sensor.place or sensor.name,
        source=RoomReading.Source.SENSOR,
        sensor=sensor,
    )
