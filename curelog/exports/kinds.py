"""What an export holds, parents before children. A test holds that every model is here or left out on purpose."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.hashers import make_password
from django.db.models import Field, Model

from curelog.models import (
    FACT_KINDS,
    Bar,
    Batch,
    BatchAdditive,
    BatchFat,
    Complaint,
    ComplaintStep,
    Loaf,
    LogEntry,
    Lot,
    LotPart,
    Mould,
    OwnFat,
    Person,
    Place,
    Recipe,
    RecipeAdditive,
    RecipeFat,
    Reminder,
    ReminderRule,
    RoomReading,
    RoomSensor,
    Scale,
    StockCount,
    Workshop,
)
from curelog.models.people import new_salt

KINDS: tuple[type[Model], ...] = (
    Person,
    Workshop,
    Scale,
    Mould,
    Place,
    OwnFat,
    Lot,
    StockCount,
    Recipe,
    RecipeFat,
    RecipeAdditive,
    Batch,
    BatchFat,
    BatchAdditive,
    LotPart,
    Loaf,
    Bar,
    *FACT_KINDS,
    Complaint,
    ComplaintStep,
    LogEntry,
    RoomSensor,
    RoomReading,
    ReminderRule,
    Reminder,
)

# By name, so that a model may come or go without this list breaking.
LEFT_OUT = {
    "invitation": "a secret that opens an account",
    "receiver": "addresses and keys of single devices",
    "delivery": "on its way to such a device",
    "feedaddress": "the secret of a calendar's address",
    "receipt": "only tells a phone that it may forget",
    "toreplan": "work in progress",
}

# Secrets and rights, and what a row gets in their place when an export is read in: nobody can sign in or send
# with it until an owner says so.
NOT_TOLD: dict[str, Callable[[], Any]] = {
    "person.password": lambda: make_password(None),
    "person.session_salt": new_salt,
    "person.last_login": lambda: None,
    "person.is_superuser": lambda: False,
    "person.is_staff": lambda: False,
    "roomsensor.token": lambda: "",
}
NOT_TOLD_SETS = {"person.groups", "person.user_permissions"}


def kind_name(model: type[Model]) -> str:
    return str(model._meta.model_name)


def told_fields(model: type[Model]) -> "list[Field[Any, Any]]":
    kind = kind_name(model)
    return [field for field in model._meta.concrete_fields if f"{kind}.{field.name}" not in NOT_TOLD]


def told_sets(model: type[Model]) -> "list[Field[Any, Any]]":
    kind = kind_name(model)
    return [field for field in model._meta.many_to_many if f"{kind}.{field.name}" not in NOT_TOLD_SETS]
