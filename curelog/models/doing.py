"""How the workshop is doing: its last loaves side by side, and what was forecast of them beside what came."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from uuid import UUID

from curelog.domain import cutting, drying, review
from curelog.domain.review import LossPoint, Outcome, Told
from curelog.models import evidence
from curelog.models.facts import Check
from curelog.models.loaves import Loaf
from curelog.models.outlook import experience, once
from curelog.models.recipes import Recipe
from curelog.models.record import Record, with_facts
from curelog.models.workshop import Workshop

YEAR = timedelta(days=365)
MOST_LOAVES = 60
# Each costs some hundredths of a second once.
MOST_FORECASTS = 16


@dataclass(frozen=True)
class LoafDone:
    """A loaf that is cut. `told` is known of the latest whose forecast can be judged."""

    record: Record
    cut: cutting.PastCut | None
    course: tuple[LossPoint, ...]
    came: Outcome | None
    failed: bool
    told: Told | None = None

    @property
    def loaf(self) -> Loaf:
        return self.record.loaf

    @property
    def lost_share(self) -> float | None:
        return 1 - self.course[-1].share if len(self.course) > 1 else None

    @property
    def settled_day(self) -> float | None:
        return self.came.day if self.came and self.came.is_settled else None

    @property
    def is_held_back(self) -> bool:
        return bool(self.record.open_fails)


@dataclass(frozen=True)
class Doing:
    """Newest loaf first. `is_whole` unless the year had more loaves than are looked at."""

    loaves: tuple[LoafDone, ...]
    is_whole: bool

    @property
    def cuts(self) -> list[LoafDone]:
        return [done for done in self.loaves if done.cut]

    @property
    def clean_cuts(self) -> int:
        return sum(done.cut.result == "clean" for done in self.loaves if done.cut)

    @property
    def weighed(self) -> list[LoafDone]:
        return [done for done in self.loaves if len(done.course) > 1]

    @property
    def settled(self) -> int:
        return sum(done.settled_day is not None for done in self.loaves)

    @cached_property
    def forecast(self) -> list[LoafDone]:
        return [done for done in self.loaves if done.told]

    @property
    def honesty(self) -> review.Honesty:
        return review.honesty([done.told for done in self.forecast if done.told])

    @property
    def failed(self) -> int:
        return sum(done.failed for done in self.loaves)

    @property
    def held_back(self) -> int:
        return sum(done.is_held_back for done in self.loaves)

    @property
    def failed_share(self) -> float:
        return self.failed / len(self.loaves)


def doing(workshop: Workshop, now: datetime, family: UUID | None = None) -> Doing:
    """Of loaves poured in the last year and cut since, of one recipe in all its versions or of all."""
    loaves = Loaf.objects.exclude(cut=None).filter(batch__poured_at__gt=now - YEAR, batch__poured_at__lte=now)
    if family:
        loaves = loaves.filter(batch__recipe__family=family)
    # One more than is shown tells whether there are more.
    found = list(with_facts(loaves.distinct().order_by("-batch__poured_at", "letter")[: MOST_LOAVES + 1]))
    records = [record for record in map(Record, found[:MOST_LOAVES]) if record.cut]
    return Doing(tuple(with_forecasts(records, workshop, now)), len(found) <= MOST_LOAVES)


def with_forecasts(records: Sequence[Record], workshop: Workshop, now: datetime) -> list[LoafDone]:
    known = experience(workshop, now)
    done: list[LoafDone] = []
    asked = 0
    for record in records:
        told = None
        course, came = drying_of(record)
        if came and asked < MOST_FORECASTS:
            asked += 1
            told = told_early(record, known, came, workshop)
        if told and not told.is_due(evidence.days_after(record.cut_at, now)):
            told = None
        failed = any(check.outcome == Check.Outcome.FAIL for check in record.standing(Check))
        cut = evidence.past_cut(record, workshop)
        done.append(LoafDone(record, cut, course, came, failed, told))
    return done


def drying_of(record: Record) -> tuple[tuple[LossPoint, ...], Outcome | None]:
    """The course of the bars that nobody planed, and what came of it by the rule of its batch."""
    batch = record.loaf.batch
    single, trays = evidence.weighings_by_bar(record, record.cut_at)
    whole = {
        number: told
        for number, told in single.items()
        if not evidence.handling_steps(record, number, record.cut_at)
    }
    fragrance = evidence.drying_recipe(batch, record.cut_at, None).fragrance_share
    course = review.loss_course(whole, 1 - batch.water_share - fragrance, trays)
    return course, review.outcome(course, drying.SettledRule(batch.settled_pct, batch.settled_days))


def told_early(record: Record, known: evidence.Experience, came: Outcome, workshop: Workshop) -> Told | None:
    """With what was known after its first weighings. None where these reach up to the day itself."""
    question = evidence.drying_question(record, known.room)
    until_day = review.early_day(question.bars)
    if until_day is None or until_day >= came.day:
        return None
    early = review.asked_early(question, until_day)
    known_until = evidence.start_of_day(record.cut_at + timedelta(days=early.now_day), workshop)
    past = known.bars_before(known_until, record.loaf, record.cut_at)
    spread = once(review.told_settled, replace(early, history=past))
    return Told(spread, came) if spread else None


def recipes_done(now: datetime) -> list[Recipe]:
    """Recipes with a loaf cut in the last year, to choose from."""
    cut = Loaf.objects.exclude(cut=None).filter(batch__poured_at__gt=now - YEAR)
    families = cut.values("batch__recipe__family")
    return list(Recipe.objects.filter(is_current=True, family__in=families))
