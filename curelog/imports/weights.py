"""Weights of test bars, of loaves that are here already."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from curelog import units
from curelog.actions.imports import WeightTold, weigh_many
from curelog.actions.keeping import Told
from curelog.imports.matching import Matching, RowReader
from curelog.imports.plan import (
    ORIGIN,
    Plan,
    PlannedRow,
    Repeats,
    bad_row,
    check_past,
    good_row,
    in_words,
    make_plan,
    moved_after,
)
from curelog.imports.sheet import Sheet
from curelog.imports.wanted import WEIGHTS
from curelog.models import Cut, Loaf, Person, Scale, Weighing
from curelog.models.record import standing

# Of the mean bar: hand-cut bars and months of drying stay well inside, ounces taken for grams do not.
LEAST_OF_USUAL, MOST_OF_USUAL = 0.2, 4.0


class WeightPlanner:
    def __init__(self, scale: Scale | None) -> None:
        self.scale, self.repeats = scale, Repeats()
        self.loaves = {loaf.number.casefold(): loaf for loaf in Loaf.objects.select_related("batch")}
        self.cuts = {cut.loaf_id: cut for cut in standing(Cut).order_by("-received_at")}
        self.keys = set(Weighing.objects.filter(origin=ORIGIN).values_list("pk", flat=True))
        told = standing(Weighing).values_list("loaf", "bars__number", "happened_at", "weight_g")
        self.told = {(loaf, bar, at, round(weight_g, 3)) for loaf, bar, at, weight_g in told}

    def plan(self, reader: RowReader, key: UUID) -> PlannedRow:
        loaf = self.loaf(reader)
        bar = self.bar(reader, loaf)
        weight_g = self.weight_g(reader, loaf)
        moment = reader.needed_moment("date", "clock", "The date")
        if not (loaf and bar and weight_g and moment):
            return bad_row(reader, key)
        check_past(reader, moment)
        at = moved_after(moment, self.cut_at(loaf))
        if at < loaf.batch.poured_at:
            reader.problems.append("This is before the pour.")
        self.repeats.note(reader, (loaf.pk, bar, at), "the same bar at the same moment")
        is_known = key in self.keys or (loaf.pk, bar, at, round(weight_g, 3)) in self.told
        fact = WeightTold(loaf, bar, Told(key, at, None, ORIGIN, reader.text("note")), weight_g)
        shown = units.mass_words(weight_g, reader.matching.shown_mass_unit, 2)
        words = f"{loaf.number}, bar {bar}: {shown}, {in_words(moment)}"
        return good_row(reader, key, words, fact, is_known)

    def keep(self, facts: Sequence[WeightTold], by: Person) -> None:
        weigh_many([replace(fact, told=replace(fact.told, by=by)) for fact in facts], self.scale)

    def loaf(self, reader: RowReader) -> Loaf | None:
        name = reader.needed("loaf", "The loaf")
        loaf = self.loaves.get(name.casefold())
        if name and not loaf:
            reader.problems.append(f"There is no loaf {name}.")
        return loaf

    def bar(self, reader: RowReader, loaf: Loaf | None) -> int | None:
        if not reader.needed("bar", "The bar"):
            return None
        bar, cut = reader.count("bar", "The bar"), self.cuts.get(loaf.pk) if loaf else None
        if bar and cut and bar > cut.bar_count:
            reader.problems.append(f"There is no bar {bar}: it was cut into {cut.bar_count}.")
        return bar

    def weight_g(self, reader: RowReader, loaf: Loaf | None) -> float | None:
        if not reader.needed("weight", "The weight"):
            return None
        weight_g = reader.mass_g("weight")
        if weight_g is not None and weight_g <= 0:
            reader.problems.append("A weight is more than nothing.")
            return None
        if weight_g and loaf and weight_g > loaf.poured_g:
            reader.problems.append(f"{weight_g:.0f} g is more than the whole loaf. Is the unit right?")
        elif weight_g and loaf and (cut := self.cuts.get(loaf.pk)):
            usual_g = loaf.poured_g / cut.bar_count
            if not LEAST_OF_USUAL <= weight_g / usual_g <= MOST_OF_USUAL:
                words = f"{weight_g:.1f} g, where bars of this loaf weigh about {usual_g:.0f} g. Is the unit right?"
                reader.problems.append(words)
        return weight_g

    def cut_at(self, loaf: Loaf) -> datetime | None:
        cut = self.cuts.get(loaf.pk)
        return cut.happened_at if cut else None


def plan_weights(sheet: Sheet, matching: Matching, scale: Scale | None) -> Plan:
    return make_plan(sheet, WEIGHTS.name, matching, WeightPlanner(scale))
