"""Loaves of the time before: poured by a recipe that is written down here, cut or not."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from curelog.actions.cure import finish
from curelog.actions.cut import CutBars, cut
from curelog.actions.keeping import Told
from curelog.actions.mould import see_gel
from curelog.actions.pour import Circumstances, Filling, Weighed, pour
from curelog.domain.batch import BatchError
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
from curelog.imports.wanted import LOAVES
from curelog.models import Batch, Cut, Finish, Gel, Heat, Person, Recipe, Workshop
from curelog.models.evidence import DAY_ONLY

LONGEST_NUMBER = 20
# Else Today would ask to cut what has long been used up.
CUT_BY_THEN = timedelta(days=30)


@dataclass(frozen=True)
class PastCut:
    at: datetime
    origin: str
    result: str
    bars: CutBars


@dataclass(frozen=True)
class PastLoaf:
    told: Told
    number: str
    recipe: Recipe
    weighed: Weighed
    heat: str
    gel: str
    cut: PastCut | None
    gone_at: datetime | None


@transaction.atomic
def keep(past: PastLoaf, workshop: Workshop, by: Person) -> None:
    told = replace(past.told, by=by)
    circumstances = Circumstances(heat=past.heat)
    batch = pour(past.recipe, told, past.number, past.weighed, circumstances, [Filling(None)], workshop)
    loaf = batch.loaves.get()
    if past.gel:
        see_gel(loaf, told.part("gel"), past.gel)
    if past.cut:
        cut_told = replace(told.part("cut"), at=past.cut.at, origin=past.cut.origin)
        cut(loaf, cut_told, past.cut.result, past.cut.bars)
    if past.gone_at:
        finish(loaf, replace(told.part("gone"), at=past.gone_at), Finish.Reason.GONE)


class LoafPlanner:
    def __init__(self, workshop: Workshop) -> None:
        self.workshop, self.repeats = workshop, Repeats()
        current = Recipe.objects.filter(is_current=True).prefetch_related("fats__own", "additives")
        self.recipes = {recipe.name.casefold(): recipe for recipe in current}
        self.numbers = {number.casefold() for number in Batch.objects.values_list("number", flat=True)}

    def plan(self, reader: RowReader, key: UUID) -> PlannedRow:
        number, recipe = self.number(reader), self.recipe(reader)
        weighed = self.weighed(reader, recipe)
        heat = reader.choice("heat", dict(Heat.choices), "Warmth") or Heat.NONE
        gel = reader.choice("gel", dict(Gel.choices), "Gel")
        moment = reader.needed_moment("date", "clock", "The date of the pour")
        if not (number and recipe and weighed and moment):
            return bad_row(reader, key)
        check_past(reader, moment)
        past_cut = self.cut(reader, recipe, moment.at, moment.has_clock)
        gone_at = self.gone_at(reader, past_cut.at if past_cut else moment.at)
        if not past_cut and not gone_at and timezone.now() - moment.at > CUT_BY_THEN:
            reader.problems.append("Poured long ago, neither cut nor gone: when was it?")
        self.repeats.note(reader, number.casefold(), f"batch {number}")
        told = Told(key, moment.at, None, ORIGIN, reader.text("note"))
        past = PastLoaf(told, number, recipe, weighed, heat, gel, past_cut, gone_at)
        words = f"{number}, {recipe.name}, poured {in_words(moment)}"
        if past_cut:
            words += f", cut into {past_cut.bars.count}"
        is_known = number.casefold() in self.numbers
        return good_row(reader, key, words, past, is_known)

    def keep(self, facts: Sequence[PastLoaf], by: Person) -> None:
        for past in facts:
            keep(past, self.workshop, by)

    def number(self, reader: RowReader) -> str:
        number = reader.needed("number", "The batch number")
        if len(number) > LONGEST_NUMBER:
            reader.problems.append(f"A batch number has at most {LONGEST_NUMBER} letters.")
        return number

    def recipe(self, reader: RowReader) -> Recipe | None:
        name = reader.needed("recipe", "The recipe")
        recipe = self.recipes.get(name.casefold())
        if name and not recipe:
            reader.problems.append(f"There is no recipe “{name}”: write it down first.")
        return recipe

    def weighed(self, reader: RowReader, recipe: Recipe | None) -> Weighed | None:
        """The amounts of the recipe, as large as the batch was; without its mass, as they are written."""
        poured_g = reader.mass_g("poured")
        if poured_g is not None and poured_g <= 0:
            reader.problems.append("The mass poured is more than nothing.")
            return None
        if not recipe:
            return None
        try:
            sums = recipe.sums
        except BatchError as why:
            reader.problems.append(f"The recipe does not add up: {why}")
            return None
        times = poured_g / sums.batch_g if poured_g else 1.0
        return Weighed(
            fats_g=[part.mass_g * times for part in recipe.fats.all()],
            naoh_g=sums.naoh_g * times,
            koh_g=sums.koh_g * times,
            water_g=sums.water_g * times,
            additives_g=[part.share_of_fats * sums.fats_g * times for part in recipe.additives.all()],
        )

    def cut(
        self, reader: RowReader, recipe: Recipe, poured_at: datetime, has_pour_clock: bool
    ) -> PastCut | None:
        """Without an hour of pour and cut, the cut is kept and the cut window learns nothing from it."""
        moment = reader.moment("cut_date", "cut_clock")
        if not moment:
            return None
        check_past(reader, moment)
        knows_hours = has_pour_clock and moment.has_clock
        at = moment.at if knows_hours else max(moment.at, poured_at)
        if moment.at.date() < poured_at.date() or at < poured_at:
            reader.problems.append("The cut is before the pour.")
        result = reader.choice("result", dict(Cut.Result.choices), "The cut")
        if not result and not reader.problems:
            reader.problems.append("How it cut is missing: too soft, clean or too hard.")
        bars = self.bars(reader, recipe)
        return PastCut(at, ORIGIN if knows_hours else DAY_ONLY, result, bars) if bars else None

    def gone_at(self, reader: RowReader, earliest: datetime) -> datetime | None:
        moment = reader.moment("gone", "")
        if not moment:
            return None
        check_past(reader, moment)
        at = moved_after(moment, earliest)
        if at < earliest:
            reader.problems.append("It was gone before it was poured or cut.")
        return at

    def bars(self, reader: RowReader, recipe: Recipe) -> CutBars | None:
        count = reader.count("count", "The number of bars")
        length_mm, width_mm = reader.length_mm("length"), reader.length_mm("width")
        thickness_mm = reader.length_mm("thickness") or recipe.bar_thickness_mm
        if not (count and length_mm and width_mm):
            reader.problems.append("A cut needs the number of bars, their length and their width.")
            return None
        if not all(5 <= side <= 500 for side in (length_mm, width_mm, thickness_mm)):
            reader.problems.append("A side of a bar lies between 5 and 500 mm. Is the unit right?")
        return CutBars(count, length_mm, width_mm, thickness_mm)


def plan_loaves(sheet: Sheet, matching: Matching, workshop: Workshop) -> Plan:
    return make_plan(sheet, LOAVES.name, matching, LoafPlanner(workshop))
