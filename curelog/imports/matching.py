"""A row read as the person said: which column is what, in which units. What cannot be read is remembered."""

from dataclasses import dataclass, field
from datetime import datetime, time
from zoneinfo import ZoneInfo

from curelog import units
from curelog.imports import values
from curelog.imports.sheet import SheetRow
from curelog.imports.values import LENGTH_UNITS, MASS_UNITS, DateOrder, DecimalMark, Unreadable

NOON = time(12)
# Near the ends of the calendar a moment cannot even be told in UTC.
YEARS = range(1970, 2200)


@dataclass(frozen=True)
class Matching:
    """`columns`: field to the place of its column. `same`: field to what holds for all rows.

    Units are those of the file; the shown ones are the workshop's.
    """

    columns: dict[str, int]
    same: dict[str, str]
    zone: ZoneInfo
    date_order: DateOrder = "ymd"
    decimal_mark: DecimalMark = "."
    mass_unit: str = "g"
    length_unit: str = "mm"
    temperature_unit: str = "C"
    shown_mass_unit: str = "g"
    shown_temperature_unit: str = "C"


@dataclass(frozen=True)
class Moment:
    """`has_clock`: the hour was told; else it stands at noon."""

    at: datetime
    has_clock: bool


@dataclass
class RowReader:
    row: SheetRow
    matching: Matching
    problems: list[str] = field(default_factory=list)

    def text(self, name: str) -> str:
        """The cell, or what holds for all rows."""
        column = self.matching.columns.get(name)
        told = self.row.cell(column) if column is not None else ""
        return told or self.matching.same.get(name, "")

    def needed(self, name: str, label: str) -> str:
        told = self.text(name)
        if not told:
            self.problems.append(f"{label} is missing.")
        return told

    def number(self, name: str, unit: str = "") -> float | None:
        told = self.text(name)
        try:
            return values.number(told, self.matching.decimal_mark, unit) if told else None
        except Unreadable as why:
            self.problems.append(str(why))
            return None

    def count(self, name: str, label: str, most: int = 500) -> int | None:
        told = self.number(name)
        if told is not None and (told != int(told) or not 1 <= told <= most):
            self.problems.append(f"{label} is a whole number from 1 to {most}, not {self.text(name)}.")
            return None
        return None if told is None else int(told)

    def mass_g(self, name: str) -> float | None:
        told = self.number(name, self.matching.mass_unit)
        return None if told is None else told * MASS_UNITS[self.matching.mass_unit]

    def length_mm(self, name: str) -> float | None:
        told = self.number(name, self.matching.length_unit)
        return None if told is None else told * LENGTH_UNITS[self.matching.length_unit]

    def temp_c(self, name: str) -> float | None:
        told = self.number(name, self.matching.temperature_unit)
        return None if told is None else units.celsius(told, self.matching.temperature_unit)

    def moment(self, day_name: str, clock_name: str) -> Moment | None:
        """A date with its hour in the same cell or in one of its own; with an offset it is not the workshop's clock."""
        told = self.text(day_name)
        if not told:
            return None
        try:
            moment = self.exact_moment(told) or self.local_moment(told, self.text(clock_name))
        except Unreadable as why:
            self.problems.append(str(why))
            return None
        if moment.at.year in YEARS:
            return moment
        self.problems.append(f"“{told}”: a year from {YEARS[0]} to {YEARS[-1]} is meant, is it not?")
        return None

    def exact_moment(self, told: str) -> Moment | None:
        try:
            exact = datetime.fromisoformat(told) if self.matching.date_order == "ymd" else None
        except ValueError:
            return None
        return Moment(exact, True) if exact and exact.tzinfo else None

    def local_moment(self, told: str, clock_told: str) -> Moment:
        day_words, clock_words = values.split_moment(told)
        clock_words = clock_told or clock_words
        clock = values.clock(clock_words) if clock_words else NOON
        at = datetime.combine(values.day(day_words, self.matching.date_order), clock, self.matching.zone)
        return Moment(at, bool(clock_words))

    def needed_moment(self, day_name: str, clock_name: str, label: str) -> Moment | None:
        return self.moment(day_name, clock_name) if self.needed(day_name, label) else None

    def choice(self, name: str, choices: dict[str, str], label: str) -> str:
        """A value by its own name, by its label, or by the beginning of one of them."""
        told = self.text(name).casefold().replace("_", " ")
        if not told:
            return ""
        for fits in (str.__eq__, str.startswith):
            for value, words in choices.items():
                if fits(value.replace("_", " "), told) or fits(words.casefold(), told):
                    return value
        self.problems.append(f"{label}: “{self.text(name)}” is none of {', '.join(choices.values())}.")
        return ""
