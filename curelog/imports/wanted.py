"""What can be taken in from a spreadsheet, and what each kind asks for."""

from dataclasses import dataclass
from typing import Literal

FieldKind = Literal["text", "mass", "length", "temperature", "number", "date", "clock"]


@dataclass(frozen=True)
class Wanted:
    """One thing that a row may tell. `hints`: what makers call its column, the likeliest first."""

    name: str
    label: str
    kind: FieldKind
    hints: tuple[str, ...]
    is_required: bool = False


@dataclass(frozen=True)
class SheetKind:
    """`one` and `many` of what a row becomes. `most_rows`: as many as can be kept in some seconds, in which nobody
    else can write."""

    name: str
    title: str
    one: str
    many: str
    most_rows: int
    fields: tuple[Wanted, ...]

    def uses(self, *kinds: FieldKind) -> bool:
        return any(field.kind in kinds for field in self.fields)


WEIGHTS = SheetKind(
    "weights",
    "Weights of test bars",
    "weight",
    "weights",
    5000,
    (
        Wanted(
            "loaf",
            "Loaf or batch number",
            "text",
            ("loaf number", "loaf", "batch number", "batch no", "batch"),
            True,
        ),
        Wanted(
            "bar", "Bar number", "number", ("bar number", "bars number", "bar no", "bar", "test bar"), True
        ),
        Wanted("date", "Date", "date", ("date", "happened at", "day", "weighed", "weighed on", "when"), True),
        Wanted("clock", "Time", "clock", ("time", "clock", "hour")),
        Wanted(
            "weight",
            "Weight",
            "mass",
            ("weight", "weight g", "weight oz", "mass", "grams", "ounces", "g"),
            True,
        ),
        Wanted("note", "Note", "text", ("note", "notes", "remark", "comment")),
    ),
)
LOAVES = SheetKind(
    "loaves",
    "Past loaves",
    "loaf",
    "loaves",
    300,
    (
        Wanted("number", "Batch number", "text", ("batch number", "batch no", "number", "no", "batch"), True),
        Wanted("recipe", "Recipe", "text", ("recipe", "recipe name", "name", "soap"), True),
        Wanted(
            "date",
            "Poured on",
            "date",
            ("poured", "poured on", "pour date", "poured at", "date", "made"),
            True,
        ),
        Wanted("clock", "Poured at (time)", "clock", ("pour time", "poured time", "time")),
        Wanted(
            "poured",
            "Mass poured",
            "mass",
            ("poured g", "mass poured", "batch weight", "batch mass", "total"),
        ),
        Wanted("heat", "Warmth after the pour", "text", ("heat", "insulated", "oven", "insulation")),
        Wanted("gel", "Gel", "text", ("gel", "gelled", "gel phase")),
        Wanted("cut_date", "Cut on", "date", ("cut", "cut on", "cut date", "cut at")),
        Wanted("cut_clock", "Cut at (time)", "clock", ("cut time", "time of cut")),
        Wanted("result", "How it cut", "text", ("cut result", "result", "how it cut")),
        Wanted("count", "Number of bars", "number", ("bars", "number of bars", "bar count", "count")),
        Wanted("length", "Bar length", "length", ("bar length", "length")),
        Wanted("width", "Bar width", "length", ("bar width", "width")),
        Wanted("thickness", "Bar thickness", "length", ("bar thickness", "thickness")),
        Wanted(
            "gone", "Sold, used or given away by", "date", ("gone", "finished", "sold out", "sold", "done")
        ),
        Wanted("note", "Note", "text", ("note", "notes", "remark", "comment")),
    ),
)
READINGS = SheetKind(
    "room",
    "Humidity and temperature of the room",
    "reading",
    "readings",
    20_000,
    (
        Wanted("date", "Date", "date", ("date", "timestamp", "at", "datetime", "date time", "day"), True),
        Wanted("clock", "Time", "clock", ("time", "clock", "hour")),
        Wanted("rh", "Humidity", "number", ("humidity", "rh", "relative humidity")),
        Wanted("temp", "Temperature", "temperature", ("temperature", "temp", "temp c", "celsius")),
        Wanted("place", "Place", "text", ("place", "room", "location", "sensor")),
    ),
)
SHEET_KINDS = {kind.name: kind for kind in (WEIGHTS, LOAVES, READINGS)}
