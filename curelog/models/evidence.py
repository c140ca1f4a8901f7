"""Facts in the shape the domain asks for: hours after the pour, days after the cut."""

from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise

from django.utils import timezone

from curelog.domain import cutting, drying
from curelog.models.facts import Cut, FirmnessCheck, GelSeen, Handling, Unmoulding, Weighing
from curelog.models.loaves import Batch, Loaf
from curelog.models.recipes import AdditiveRole, Recipe
from curelog.models.record import Record, with_facts
from curelog.models.room import RoomLog
from curelog.models.workshop import Workshop

# The origin of a cut that was told without its hour: good for the drying, not for the cut window.
DAY_ONLY = "file, day only"
# Enough for a workshop's own pace; more would cost time and tell little.
PAST_LOAVES = 40
PAST_BARS = 24


def hours_after(start: datetime, moment: datetime) -> float:
    return max(0.0, (moment - start).total_seconds() / 3600)


def days_after(start: datetime, moment: datetime) -> float:
    return hours_after(start, moment) / 24


def pour_facts(
    batch: Batch, loaf_g: float, room_c: float | None, gel: str | None = None
) -> cutting.PourFacts:
    return cutting.PourFacts(
        fats=tuple((part.fat, part.weighed_g / batch.fats_g) for part in batch.fats.all()),
        lye_concentration=batch.lye_concentration,
        superfat=batch.superfat,
        salt_on_fats=batch.role_on_fats(AdditiveRole.SALT),
        sodium_lactate_on_fats=batch.role_on_fats(AdditiveRole.LACTATE),
        gel=gel,  # type: ignore[arg-type]
        heat=batch.heat,  # type: ignore[arg-type]
        room_c=batch.room_c if batch.room_c is not None else room_c,
        loaf_g=loaf_g,
    )


def recipe_pour_facts(
    recipe: Recipe, heat: str, room_c: float, loaf_g: float | None = None
) -> cutting.PourFacts:
    """Of a recipe not poured yet, with the heat planned; the gel is still to be seen."""
    sums = recipe.sums
    lye_g = sums.naoh_g + sums.koh_g
    additives_water_g = sum(part.mass_g * part.water_share for part in recipe.additives.all())
    return cutting.PourFacts(
        fats=tuple((portion.fat, portion.mass_g / sums.fats_g) for portion in recipe.portions),
        lye_concentration=lye_g / (lye_g + sums.water_g + additives_water_g),
        superfat=recipe.superfat,
        salt_on_fats=recipe.role_on_fats(AdditiveRole.SALT),
        sodium_lactate_on_fats=recipe.role_on_fats(AdditiveRole.LACTATE),
        heat=heat,  # type: ignore[arg-type]
        room_c=room_c,
        loaf_g=loaf_g,
    )


def loaf_pour_facts(record: Record, workshop: Workshop) -> cutting.PourFacts:
    gel = record.last(GelSeen)
    loaf = record.loaf
    return pour_facts(loaf.batch, loaf.poured_g, workshop.room_c, gel.extent if gel else None)


def firmness_checks(record: Record, until: datetime) -> tuple[cutting.FirmnessCheck, ...]:
    """Finger checks, and the finger's word at unmoulding, in order of time."""
    poured_at = record.loaf.batch.poured_at
    unmouldings = [fact for fact in record.standing(Unmoulding) if fact.feel]
    felt: list[FirmnessCheck | Unmoulding] = [*record.standing(FirmnessCheck), *unmouldings]
    return tuple(
        cutting.FirmnessCheck(hours_after(poured_at, fact.happened_at), fact.feel)  # type: ignore[arg-type]
        for fact in sorted(felt, key=lambda fact: fact.happened_at)
        if fact.happened_at <= until
    )


def past_cut(record: Record, workshop: Workshop) -> cutting.PastCut | None:
    cut = record.cut
    if cut is None or cut.origin == DAY_ONLY or not record.loaf.sets_to_be_cut:
        return None
    return cutting.PastCut(
        facts=loaf_pour_facts(record, workshop),
        cut_hours=hours_after(record.loaf.batch.poured_at, cut.happened_at),
        result=cut.result,  # type: ignore[arg-type]
        checks=firmness_checks(record, cut.happened_at),
    )


def drying_recipe(batch: Batch, cut_at: datetime, gel: str | None) -> drying.DryingRecipe:
    return drying.DryingRecipe(
        water_share=batch.water_share,
        oil=main_fat(batch),
        superfat=batch.superfat,
        gel=gel,  # type: ignore[arg-type]
        days_pour_to_cut=days_after(batch.poured_at, cut_at),
        fragrance_share=batch.role_g(AdditiveRole.FRAGRANCE) / batch.poured_g,
    )


def main_fat(batch: Batch) -> str | None:
    return max(batch.fats.all(), key=lambda part: part.weighed_g).fat.key if batch.fats.all() else None


def bar_size(cut: Cut) -> drying.BarSize:
    return drying.BarSize(cut.bar_length_mm, cut.bar_width_mm, cut.bar_thickness_mm)


def weighings_by_bar(
    record: Record, cut_at: datetime
) -> tuple[dict[str, list[drying.Weighing]], list[drying.TrayWeighing]]:
    """Weights of single bars, by bar, and of several bars together."""
    single: dict[str, list[drying.Weighing]] = {str(bar.number): [] for bar in record.loaf.bars.all()}
    trays = []
    for fact in record.standing(Weighing):
        names = tuple(str(bar.number) for bar in fact.bars.all())
        day = days_after(cut_at, fact.happened_at)
        if len(names) == 1:
            single[names[0]].append(drying.Weighing(day, fact.weight_g))
        elif names:
            trays.append(drying.TrayWeighing(day, fact.weight_g, names))
    return single, trays


def handling_steps(record: Record, number: str, cut_at: datetime) -> tuple[drying.HandlingStep, ...]:
    return tuple(
        drying.HandlingStep(days_after(cut_at, fact.happened_at), fact.kind, fact.loss_g)
        for fact in record.standing(Handling)
        if number in {str(bar.number) for bar in fact.bars.all()}
    )


def scale_step(record: Record) -> float:
    return max((fact.step_g for fact in record.standing(Weighing)), default=1.0)


def last_known(record: Record) -> datetime:
    """When the loaf last told something about its drying. The forecast rests there until the next weighing."""
    told = [*record.standing(Weighing), *record.standing(Handling)]
    return max((fact.happened_at for fact in told), default=record.cut_at)


def known_day(record: Record) -> float:
    return days_after(record.cut_at, last_known(record))


def drying_question(
    record: Record, room: RoomLog, history: tuple[drying.PastBar, ...] = ()
) -> drying.DryingQuestion:
    cut = record.cut
    assert cut
    gel = record.last(GelSeen)
    single, trays = weighings_by_bar(record, cut.happened_at)
    bars = tuple(
        drying.BarSeries(number, bar_size(cut), tuple(told), handling_steps(record, number, cut.happened_at))
        for number, told in single.items()
    )
    batch = record.loaf.batch
    return drying.DryingQuestion(
        now_day=known_day(record),
        recipe=drying_recipe(batch, cut.happened_at, gel.extent if gel else None),
        bars=bars,
        target=None,
        trays=tuple(trays),
        climate=room.room_days(cut.happened_at, last_known(record)),
        room_usual=room.usual(cut.happened_at),
        history=history,
        resolution_g=scale_step(record),
        rule=drying.SettledRule(batch.settled_pct, batch.settled_days),
    )


def past_bars(record: Record, room: RoomLog) -> list[drying.PastBar]:
    question = drying_question(record, room)
    climate_mean = room.climate_mean(record.cut_at, last_known(record))
    return [
        drying.PastBar(
            bar_id=f"{record.loaf.number}/{bar.bar_id}",
            loaf=str(record.loaf.number),
            recipe=question.recipe,
            size=bar.size,
            resolution_g=question.resolution_g,
            weighings=bar.weighings,
            climate_mean=climate_mean,
            steps=bar.steps,
        )
        for bar in question.bars
    ]


def as_known(bar: drying.PastBar, cut_at: datetime, until: datetime, asked: datetime) -> drying.PastBar:
    """What was known of a bar at a moment, for a loaf that was cut at `asked`."""
    day = days_after(cut_at, until)
    return replace(
        bar,
        weighings=tuple(weighing for weighing in bar.weighings if weighing.day < day),
        steps=tuple(step for step in bar.steps if step.day < day),
        cut_days_earlier=(asked - cut_at).total_seconds() / 86_400,
    )


def tells_of_drying(bar: drying.PastBar) -> bool:
    return any(later.day > earlier.day for earlier, later in pairwise(bar.weighings))


@dataclass(frozen=True)
class Experience:
    """What the workshop's own past loaves teach, oldest first, and what is known of its room."""

    room: RoomLog
    cuts: tuple[tuple[datetime, str, cutting.PastCut], ...]
    bars: tuple[tuple[datetime, str, drying.PastBar], ...]

    @classmethod
    def of(cls, workshop: Workshop, room: RoomLog | None = None) -> "Experience":
        room = room or RoomLog.without_readings(workshop)
        loaves = Loaf.objects.exclude(cut=None).order_by("-batch__poured_at")[:PAST_LOAVES]
        past = [Record(loaf) for loaf in reversed(with_facts(loaves))]
        cuts: list[tuple[datetime, str, cutting.PastCut]] = []
        bars: list[tuple[datetime, str, drying.PastBar]] = []
        for record in past:
            if not record.cut:
                continue
            if told := past_cut(record, workshop):
                cuts.append((record.cut.happened_at, str(record.loaf.pk), told))
            bars.extend((record.cut_at, str(record.loaf.pk), bar) for bar in past_bars(record, room))
        return cls(room, tuple(cuts), tuple(bars))

    def cuts_before(self, moment: datetime, loaf: Loaf | None = None) -> tuple[cutting.PastCut, ...]:
        """Without a loaf: for one that is not poured yet."""
        own = str(loaf.pk) if loaf else ""
        return tuple(cut for at, pk, cut in self.cuts if at < moment and pk != own)

    def bars_before(self, moment: datetime, loaf: Loaf, cut_at: datetime) -> tuple[drying.PastBar, ...]:
        """The bars of loaves cut before this one, as they were known at the moment."""
        others = (
            as_known(bar, at, moment, cut_at)
            for at, pk, bar in self.bars
            if at < cut_at and pk != str(loaf.pk)
        )
        return tuple(bar for bar in others if tells_of_drying(bar))[-PAST_BARS:]


def start_of_day(moment: datetime, workshop: Workshop) -> datetime:
    return timezone.localtime(moment, workshop.zone).replace(hour=0, minute=0, second=0, microsecond=0)
