from curelog.models.fact import Fact
from curelog.models.facts import (
    FACT_KINDS,
    Answer,
    Bar,
    Check,
    Cut,
    Feel,
    Finish,
    FirmnessCheck,
    Gel,
    GelSeen,
    Handling,
    Note,
    Photo,
    Unmoulding,
    Weighing,
)
from curelog.models.loaves import Batch, BatchAdditive, BatchFat, Heat, Loaf
from curelog.models.lots import Lot, LotPart, StockCount
from curelog.models.people import Invitation, Person
from curelog.models.places import Move, Place
from curelog.models.receipts import Receipt
from curelog.models.receivers import Delivery, FeedAddress, Receiver
from curelog.models.recipes import AdditiveRole, LimitOf, OwnFat, Recipe, RecipeAdditive, RecipeFat
from curelog.models.registers import Complaint, ComplaintStep, LogEntry
from curelog.models.reminders import Reminder, ReminderKind, ReminderRule, ToReplan
from curelog.models.room import RoomReading, RoomSensor
from curelog.models.sale import Leaving, Release
from curelog.models.workshop import Mould, Scale, Workshop

__all__ = [
    "FACT_KINDS",
    "AdditiveRole",
    "Answer",
    "Bar",
    "Batch",
    "BatchAdditive",
    "BatchFat",
    "Check",
    "Complaint",
    "ComplaintStep",
    "Cut",
    "Delivery",
    "Fact",
    "FeedAddress",
    "Feel",
    "Finish",
    "FirmnessCheck",
    "Gel",
    "GelSeen",
    "Handling",
    "Heat",
    "Invitation",
    "Leaving",
    "LimitOf",
    "Loaf",
    "LogEntry",
    "Lot",
    "LotPart",
    "Mould",
    "Move",
    "Note",
    "OwnFat",
    "Person",
    "Photo",
    "Place",
    "Receipt",
    "Receiver",
    "Recipe",
    "RecipeAdditive",
    "RecipeFat",
    "Release",
    "Reminder",
    "ReminderKind",
    "ReminderRule",
    "RoomReading",
    "RoomSensor",
    "Scale",
    "StockCount",
    "ToReplan",
    "Unmoulding",
    "Weighing",
    "Workshop",
]
