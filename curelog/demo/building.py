"""Builds the demo workshop in an empty database."""

import secrets
from collections.abc import Mapping
from concurrent.futures import Future
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from uuid import uuid5
from zoneinfo import available_timezones

import numpy as np
from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from curelog.actions.recipes import note_assessor, write_recipe
from curelog.actions.settings import add_scale, change_workshop
from curelog.demo import room
from curelog.demo.pantry import Pantry
from curelog.demo.recipes import ASSESSED, MOULDS, RECIPES
from curelog.demo.registers import write_books
from curelog.demo.shed import HELPER, Shed
from curelog.demo.story import LIVES, PLACES
from curelog.demo.telling import NAMESPACE, tell
from curelog.models import (
    FACT_KINDS,
    Batch,
    Mould,
    Person,
    Photo,
    Place,
    Recipe,
    RoomReading,
    Weighing,
    Workshop,
)
from curelog.photos import TakenPhoto
from curelog.reminders.planning import replan_all

SEED = 20
READ_EVERY_DAYS = 2
WORKSHOP = {
    "name": "The Brindlecote Shed",
    "label_address": "The Brindlecote Shed\nIlsabe Thornquill\n3 Mill Ginnel, Brindlecote",
    "label_cautions": "Keep out of the eyes. Rinse with plenty of water if it gets into them.",
    "best_before_months": 24,
    "soap_standard": "",
}


@dataclass(frozen=True)
class SignIn:
    username: str
    password: str
    role: str


@transaction.atomic
def build(pictures: Mapping[str, Future[TakenPhoto]], now: datetime | None = None) -> list[SignIn]:
    """The whole workshop in one transaction; gives back how to sign in."""
    people, password = make_people()
    rng = np.random.default_rng(SEED)
    now, workshop = now or timezone.now(), furnish()
    shed = Shed(
        now=now,
        workshop=workshop,
        people=people,
        recipes=write_recipes(people[0]),
        moulds={name: make_mould(name, *size_mm) for name, size_mm in MOULDS.items()},
        places=lay_out(),
        pantry=Pantry(workshop.local(now).date(), people[0]),
        coarse=add_scale("Bench scale", 1.0),
        fine=add_scale("Fine scale", 0.1),
        air=room.humidity(int(max(life.days_ago for life in LIVES)) + 10, rng),
        pictures=pictures,
        rng=rng,
    )
    # Newest first: a fresh loaf is planned at each of its acts, the slower the more loaves are known.
    lives = reversed(list(zip(LIVES, numbers(shed), strict=True)))
    # What was melted again comes last: the soap in it has to be there.
    for life, number in sorted(lives, key=lambda pair: bool(pair[0].melted)):
        tell(shed, life, number)
    store(shed)
    write_books(shed)
    read_room(shed)
    replan_all()
    return [SignIn(person.username, password, person.role) for person in people]


def make_people() -> tuple[list[Person], str]:
    """One password for both, hashed once: hashing is slow on purpose."""
    password = f"soap-{secrets.randbelow(1_000_000):06}"
    kept = make_password(password)
    owner = Person(username="ilsabe", first_name="Ilsabe Thornquill", role=Person.Role.OWNER, password=kept)
    helper = Person(
        username="corvin", first_name="Corvin Maddlestone", role=Person.Role.HELPER, password=kept
    )
    return Person.objects.bulk_create([owner, helper]), password


def furnish() -> Workshop:
    workshop = Workshop.current()
    change_workshop(workshop, WORKSHOP | {"time_zone": zone_of_this_machine()})
    return workshop


def zone_of_this_machine() -> str:
    """The demo's clock times should be those on the wall."""
    name = Path("/etc/localtime").resolve().as_posix().rpartition("zoneinfo/")[2]
    return name if name in available_timezones() else "UTC"


def make_mould(name: str, length_mm: float, width_mm: float, height_mm: float) -> Mould:
    return Mould.objects.create(name=name, length_mm=length_mm, width_mm=width_mm, height_mm=height_mm)


def write_recipes(by: Person) -> dict[str, Recipe]:
    written = [write_recipe(draft, by, uuid5(NAMESPACE, draft.name)) for draft in RECIPES]
    for recipe in written:
        if recipe.name in ASSESSED:
            note_assessor(recipe, ASSESSED[recipe.name])
    return {recipe.name: recipe for recipe in written}


def lay_out() -> dict[str, Place]:
    places = [Place(id=uuid5(NAMESPACE, name), name=name, order=order) for order, name in enumerate(PLACES)]
    return {place.name: place for place in Place.objects.bulk_create(places)}


def numbers(shed: Shed) -> list[str]:
    """As the workshop would have given them, one after the other within each year."""
    years = [f"{shed.now - timedelta(days=life.days_ago):%y}" for life in LIVES]
    return [f"{year}-{years[: place + 1].count(year):03d}" for place, year in enumerate(years)]


def read_room(shed: Shed) -> None:
    """The gauge on the wall, read every other morning."""
    readings = []
    for days_ago in range(len(shed.air) - 1, 0, -READ_EVERY_DAYS):
        at = shed.workshop.local(shed.now - timedelta(days=days_ago)).replace(hour=8, minute=30)
        rh, temp_c = round(shed.air[-1 - days_ago]), round(room.USUAL_C + shed.rng.normal(0, 1.2), 1)
        readings.append(
            RoomReading(
                id=uuid5(NAMESPACE, f"air {days_ago}"),
                at=at,
                day=at.date(),
                rh=rh,
                temp_c=temp_c,
                source=RoomReading.Source.HAND,
                by=shed.people[HELPER],
                changed_at=at,
            )
        )
    RoomReading.objects.bulk_create(readings)


def store(shed: Shed) -> None:
    """All facts in a few statements. What an act would note as arriving now arrived as it happened."""
    for kind in FACT_KINDS:
        kind._default_manager.bulk_create(fact for fact in shed.facts if type(fact) is kind)
    link = Weighing.bars.through
    link.objects.bulk_create(link(weighing=fact, bar=bar) for fact, bars in shed.weighed for bar in bars)
    for handling, bars in shed.handled:
        handling.bars.set(bars)
    Photo.objects.update(received_at=F("happened_at"))
    Batch.objects.update(received_at=F("poured_at"))
