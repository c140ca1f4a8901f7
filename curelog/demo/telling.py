"""Tells the lives of the loaves, each fact at the moment when it happened."""

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from uuid import UUID, uuid5

from curelog.actions.keeping import Told
from curelog.actions.lots import PartTaken
from curelog.actions.photo import photograph
from curelog.actions.pour import Circumstances, Filling, Weighed, pour
from curelog.actions.rebatch import Melted, rebatch
from curelog.demo import photographs
from curelog.demo.bars import ToldBars
from curelog.demo.selling import part, put, release
from curelog.demo.shed import HELPER, Shed, Telling
from curelog.demo.story import CheckTold, Life
from curelog.models import (
    Answer,
    Bar,
    Batch,
    Check,
    Finish,
    FirmnessCheck,
    GelSeen,
    Photo,
    Unmoulding,
)

Act = tuple[float, Callable[[], None]]  # the cure day, and what is told of it
NAMESPACE = UUID("6f1f0b0e-3c58-4c0f-9f53-0f3f1d6a9c11")
GEL_SEEN_H = 6.0
ANSWERED_AFTER = timedelta(days=21)


def tell(shed: Shed, life: Life, number: str) -> None:
    batch = melt(shed, life, number) if life.melted else pour_batch(shed, life, number)
    shed.poured[life.days_ago] = batch
    for loaf in batch.loaves.all():
        story = Telling(shed, life, loaf, batch.poured_at)
        tell_of_mould(story)
        if life.cut_h is not None:
            tell_of_cure(story)


def pour_batch(shed: Shed, life: Life, number: str) -> Batch:
    recipe, rng, at = shed.recipes[life.recipe], shed.rng, shed.poured_at(life)
    sums, size = recipe.sums, len(life.moulds)
    fat_from = [shed.pantry.on_shelf(part.key, life.days_ago) for part in recipe.fats.all()]
    extras_from = [shed.pantry.on_shelf(part.name, life.days_ago) for part in recipe.additives.all()]
    naoh, koh = (shed.pantry.on_shelf(key, life.days_ago) for key in ("naoh", "koh"))
    weighed = Weighed(
        fats_g=[round(part.mass_g * size + rng.normal(0, 0.7)) for part in recipe.fats.all()],
        naoh_g=round(sums.naoh_g * size, 1),
        koh_g=round(sums.koh_g * size, 1),
        water_g=round(sums.water_g * size),
        additives_g=[round(part.mass_g * size, 1) for part in recipe.additives.all()],
        fat_lots=[lot.code if lot else "" for lot in fat_from],
        fat_from=fat_from,
        additive_lots=[lot.code if lot else "" for lot in extras_from],
        additive_from=extras_from,
        lye_lot=naoh.code if naoh else "",
        lye_from=naoh,
        koh_lot=koh.code if koh and sums.koh_g else "",
        koh_from=koh if sums.koh_g else None,
    )
    around = Circumstances(
        heat=life.heat,
        lye_temperature_c=round(rng.normal(36, 3)),
        fats_temperature_c=round(rng.normal(38, 2)),
        trace_minutes=round(abs(rng.normal(7, 3)) + 1),
        room_c=round(rng.normal(18, 1.5)),
    )
    told = Told(uuid5(NAMESPACE, number), at, shed.people[0], note=life.note)
    fillings = [Filling(shed.moulds[name]) for name in life.moulds]
    return pour(recipe, told, number, weighed, around, fillings, shed.workshop)


def melt(shed: Shed, life: Life, number: str) -> Batch:
    """Of what was trimmed off earlier batches and kept in one box."""
    parts = [PartTaken(shed.poured[days_ago], mass_g) for days_ago, mass_g in life.melted]
    box = shed.pantry.keep_soap("Trimmings, the blue box", "BOX-3", life.days_ago + 1, parts)
    told = Told(uuid5(NAMESPACE, number), shed.poured_at(life), shed.people[0], note=life.note)
    melted = Melted(life.recipe, [PartTaken(box, box.received_g)], 60.0)
    return rebatch(told, number, melted, Filling(shed.moulds[life.moulds[0]]), shed.workshop)


def tell_of_mould(story: Telling) -> None:
    life = story.life
    for hours, feel in life.felt:
        story.keep(FirmnessCheck(feel=feel, **story.said(story.after_pour(hours), by=HELPER)))
    if life.gel:
        seen_h = min([life.cut_h or GEL_SEEN_H, GEL_SEEN_H, *(hours for hours, _ in life.felt)])
        story.keep(GelSeen(extent=life.gel, **story.said(story.after_pour(seen_h))))
    if life.unmould_h is not None:
        feel = life.felt[-1][1] if life.felt else ""
        story.keep(Unmoulding(feel=feel, **story.said(story.after_pour(life.unmould_h))))
        if life.cut_h is None:
            take(story, photographs.LOAF, story.after_pour(life.unmould_h + 0.1), Photo.Subject.WHOLE)


def tell_of_cure(story: Telling) -> None:
    life, bars = story.life, ToldBars(story)
    bars.cut()
    if life.face:
        take(story, life.face, story.cut_at + timedelta(minutes=6), Photo.Subject.FACE, bars.bars[1])
    acts: list[Act] = [(0.1, partial(put, story, life.lies_on, 0.1))]
    acts += [(day, partial(bars.weigh, day)) for day in life.rounds]
    acts += [(told.cure_day, partial(check, story, told)) for told in life.checks]
    if life.planed_day is not None:
        acts.append((life.planed_day, bars.plane))
    if life.released_day is not None:
        acts.append((life.released_day, partial(release, story, bars)))
    acts += [(parting[0], partial(part, story, parting)) for parting in life.left]
    in_order(story, acts)
    if life.finished_day is not None:
        reason = Finish.Reason.THROWN if life.thrown else Finish.Reason.GONE
        story.keep(Finish(reason=reason, **story.said(story.cure_day(life.finished_day))))


def in_order(story: Telling, acts: list[Act]) -> None:
    """Up to today, and not beyond the day the bars left."""
    last = story.life.finished_day or float("inf")
    for day, act in sorted(acts, key=lambda pair: pair[0]):
        if day < last and story.cure_day(day) < story.shed.now:
            act()


def take(story: Telling, look: str, at: datetime, subject: str, bar: Bar | None = None) -> None:
    photograph(story.loaf, story.told(at), story.shed.pictures[look].result(), subject, bar)


def check(story: Telling, told: CheckTold) -> None:
    at = story.cure_day(told.cure_day)
    said = story.said(at, told.note)
    kept = story.keep(Check(kind=told.kind, outcome=told.outcome, value=told.value, **said))
    if told.answered:
        story.keep(Answer(answers=kept, lets_go=True, **story.said(at + ANSWERED_AFTER, told.answered)))
