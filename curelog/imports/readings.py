"""Readings of the room, as a logger writes them."""

from collections.abc import Sequence
from uuid import UUID

from curelog import units
from curelog.actions.room import Air, ReadingTold, note_many
from curelog.imports.matching import Matching, RowReader
from curelog.imports.plan import Plan, PlannedRow, Repeats, bad_row, check_past, good_row, in_words, make_plan
from curelog.imports.sheet import Sheet
from curelog.imports.wanted import READINGS
from curelog.models import Person, RoomReading, Workshop
from curelog.models.room import COLDEST_C, WARMEST_C


class ReadingPlanner:
    def __init__(self, workshop: Workshop) -> None:
        self.workshop, self.repeats = workshop, Repeats()
        from_files = RoomReading.objects.filter(source=RoomReading.Source.FILE)
        told = list(from_files.values_list("pk", "at", "place"))
        self.keys = {key for key, _, _ in told}
        self.told = {(at, place) for _, at, place in told}

    def plan(self, reader: RowReader, key: UUID) -> PlannedRow:
        air, moment = self.air(reader), reader.needed_moment("date", "clock", "The date")
        if not moment:
            return bad_row(reader, key)
        check_past(reader, moment)
        place = reader.text("place")[:60]
        self.repeats.note(reader, (moment.at, place), "the same moment")
        is_known = key in self.keys or (moment.at, place) in self.told
        words = f"{shown(air, reader.matching.shown_temperature_unit)}, {in_words(moment)}"
        return good_row(reader, key, words, ReadingTold(key, moment.at, air, place), is_known)

    def keep(self, facts: Sequence[ReadingTold], by: Person) -> None:
        note_many(facts, self.workshop, by)

    def air(self, reader: RowReader) -> Air:
        rh, temp_c = reader.number("rh"), reader.temp_c("temp")
        if rh is not None and not 0 <= rh <= 100:
            reader.problems.append(f"Humidity lies between 0 and 100 %, not at {rh:g}.")
        if temp_c is not None and not COLDEST_C <= temp_c <= WARMEST_C:
            reader.problems.append(f"{reader.text('temp')} is no room to cure in. Is the unit right?")
        if rh is None and temp_c is None and not reader.problems:
            reader.problems.append("Neither humidity nor temperature is told.")
        return Air(rh, temp_c)


def shown(air: Air, unit: str) -> str:
    told = [f"{units.plain(air.rh, 1)} %"] if air.rh is not None else []
    if air.temp_c is not None:
        told.append(f"{units.plain(units.from_celsius(air.temp_c, unit), 1)} °{unit}")
    return ", ".join(told)


def plan_readings(sheet: Sheet, matching: Matching, workshop: Workshop) -> Plan:
    return make_plan(sheet, READINGS.name, matching, ReadingPlanner(workshop))
