"""What will come of each row, before anything is written."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Protocol
from uuid import NAMESPACE_OID, UUID, uuid5

from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format

from curelog.imports import ImportRefused
from curelog.imports.matching import Matching, Moment, RowReader
from curelog.imports.sheet import Sheet
from curelog.models import Person

SLACK = timedelta(minutes=10)
ORIGIN = "file"


@dataclass(frozen=True)
class PlannedRow:
    """`words`: what it would be kept as. A bad row has problems; a known one is there already and left as it is.
    `fact`: what its planner will keep."""

    number: int
    key: UUID
    words: str
    problems: tuple[str, ...] = ()
    is_known: bool = False
    fact: Any = None


class Planner(Protocol):
    """Reads once what is known here, then looks at row by row."""

    def plan(self, reader: RowReader, key: UUID) -> PlannedRow: ...

    def keep(self, facts: Sequence[Any], by: Person) -> None: ...


@dataclass(frozen=True)
class Plan:
    rows: Sequence[PlannedRow]
    planner: Planner

    @property
    def bad(self) -> list[PlannedRow]:
        return [row for row in self.rows if row.problems]

    @property
    def known(self) -> list[PlannedRow]:
        return [row for row in self.rows if row.is_known and not row.problems]

    @property
    def new(self) -> list[PlannedRow]:
        return [row for row in self.rows if not row.is_known and not row.problems]


@transaction.atomic
def take_in(plan: Plan, by: Person) -> int:
    """All new rows, or none: the first that cannot be kept takes the others back."""
    if plan.bad:
        raise ImportRefused("There are rows that cannot be read.")
    plan.planner.keep([row.fact for row in plan.new], by)
    return len(plan.new)


def make_plan(sheet: Sheet, kind: str, matching: Matching, planner: Planner) -> Plan:
    rows = [planner.plan(RowReader(row, matching), key_of(sheet, kind, row.number)) for row in sheet.rows]
    return Plan(rows, planner)


def key_of(sheet: Sheet, kind: str, number: int) -> UUID:
    """The same row of the same file has the same key: taken in twice, it is kept once."""
    return uuid5(uuid5(NAMESPACE_OID, f"curelog file {sheet.digest}"), f"{kind} row {number}")


def good_row(reader: RowReader, key: UUID, words: str, fact: Any, is_known: bool) -> PlannedRow:
    """Good, unless something about it was found fault with."""
    return PlannedRow(reader.row.number, key, words, tuple(reader.problems), is_known, fact)


def bad_row(reader: RowReader, key: UUID) -> PlannedRow:
    """Shown as it stands in the file."""
    words = " · ".join(cell for cell in reader.row.cells if cell)
    return PlannedRow(reader.row.number, key, words, tuple(reader.problems))


def check_past(reader: RowReader, moment: Moment) -> None:
    if moment.at > timezone.now() + SLACK:
        reader.problems.append(f"{in_words(moment)} is still to come.")


def in_words(moment: Moment) -> str:
    local = timezone.localtime(moment.at)
    return date_format(local, "j F Y") + (f" {local:%H:%M}" if moment.has_clock else "")


class Repeats:
    """Rows that say something about the same thing at the same moment."""

    def __init__(self) -> None:
        self.first: dict[Any, int] = {}

    def note(self, reader: RowReader, what: Any, words: str) -> None:
        first = self.first.setdefault(what, reader.row.number)
        if first != reader.row.number:
            reader.problems.append(f"Row {first} tells of {words}, too.")


def moved_after(moment: Moment, earliest: datetime | None) -> datetime:
    """A day without its hour stands at noon, or right after what must have come before on that day."""
    if moment.has_clock or earliest is None or moment.at >= earliest:
        return moment.at
    same_day = timezone.localtime(earliest).date() == timezone.localtime(moment.at).date()
    return earliest if same_day else moment.at
