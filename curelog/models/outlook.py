"""What the facts of a loaf come to: its stage, its cut window, its forecast. Worked out, never stored."""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any, TypeVar

from django.core.cache import cache
from django.db.models import Count, Max, QuerySet

from curelog.domain import cutting, drying, lifecycle
from curelog.domain.cure_summary import CureSummary, summary
from curelog.models import evidence
from curelog.models.facts import FACT_KINDS, Finish, Weighing
from curelog.models.loaves import Loaf
from curelog.models.record import Record, standing, with_facts
from curelog.models.room import RoomLog, RoomReading
from curelog.models.sale import Release
from curelog.models.stock import Stock, stock_of
from curelog.models.workshop import Workshop

T = TypeVar("T")


def remembered(question: object, work: Callable[[], T]) -> T:
    """Cached by the question itself: a changed fact is a new question, so nothing ever needs to be invalidated."""
    return cache.get_or_set(hashlib.sha256(repr(question).encode()).hexdigest(), work)  # type: ignore[return-value]


def once(work: Callable[..., T], *inputs: Any) -> T:
    return remembered((work.__qualname__, inputs), lambda: work(*inputs))


@dataclass
class Outlook:
    """One loaf at one moment. The expensive parts are worked out when first asked for."""

    record: Record
    workshop: Workshop
    now: datetime
    experience: evidence.Experience

    @property
    def loaf(self) -> Loaf:
        return self.record.loaf

    @cached_property
    def window(self) -> cutting.CutWindow | None:
        """Until the cut, of what sets in one piece."""
        if self.record.cut or not self.loaf.sets_to_be_cut:
            return None
        facts = evidence.loaf_pour_facts(self.record, self.workshop)
        checks = evidence.firmness_checks(self.record, self.now)
        past = self.experience.cuts_before(self.loaf.batch.poured_at, self.loaf)
        return once(cutting.cut_window, facts, checks, past)

    @cached_property
    def question(self) -> drying.DryingQuestion | None:
        if not self.record.cut:
            return None
        # What other loaves told since the last weighing waits for the next one:
        # a date moves only when a bar was weighed.
        known_until = evidence.start_of_day(evidence.last_known(self.record), self.workshop)
        past = self.experience.bars_before(known_until, self.loaf, self.record.cut_at)
        return evidence.drying_question(self.record, self.experience.room, past)

    @cached_property
    def forecast(self) -> drying.CureForecast | drying.NoForecast | None:
        """The whole of it, with its draws: for a page about one loaf."""
        return drying.forecast(self.question) if self.question else None

    @cached_property
    def summary(self) -> CureSummary | None:
        """The few numbers that lists and the stage need."""
        found = once(summary, self.question) if self.question else None
        return found if isinstance(found, CureSummary) else None

    @cached_property
    def stock(self) -> Stock | None:
        return stock_of(self.record)

    @property
    def cure_day(self) -> float | None:
        return evidence.days_after(self.record.cut_at, self.now) if self.record.cut else None

    @cached_property
    def standing(self) -> lifecycle.Standing:
        record, batch = self.record, self.loaf.batch
        finish, weighing, release = record.last(Finish), record.last(Weighing), record.first(Release)
        cure = None if finish else self.summary
        return lifecycle.standing(
            lifecycle.LoafFacts(
                poured_at=batch.poured_at,
                zone=self.workshop.zone,
                unmoulded_at=record.unmoulding.happened_at if record.unmoulding else None,
                cut_at=record.cut.happened_at if record.cut else None,
                released_at=release.happened_at if release else None,
                finished_at=finish.happened_at if finish else None,
                weighed_at=weighing.happened_at if weighing else None,
                window=self.window,
                settled_day=cure.settled_day if cure else None,
                weigh_again_day=cure.next_weighing.day if cure and cure.next_weighing else None,
                least_cure_days=batch.least_cure_days,
                open_fails=len(record.open_fails),
            ),
            self.now,
        )


def facts_mark() -> tuple[object, ...]:
    """Changes whenever a fact is added or erased. Cheap, and never wrong: facts are not changed."""
    return tuple(
        tuple(kind._default_manager.aggregate(Count("pk"), Max("received_at")).values())
        for kind in FACT_KINDS
    )


def room_log(workshop: Workshop, now: datetime) -> RoomLog:
    """Three years of a sensor take a tenth of a second to read: once, until the next reading comes."""
    mark = RoomReading.objects.aggregate(last=Max("changed_at"))["last"]
    known = (workshop.local(now).date(), workshop.time_zone, workshop.room_rh, workshop.room_c)
    return remembered(("room", mark, known), lambda: RoomLog.of(workshop, now))


def experience(workshop: Workshop, now: datetime) -> evidence.Experience:
    room = room_log(workshop, now)
    return remembered(("experience", facts_mark(), room), lambda: evidence.Experience.of(workshop, room))


def outlooks(loaves: Iterable[Loaf], workshop: Workshop, now: datetime) -> list[Outlook]:
    known = experience(workshop, now)
    return [Outlook(Record(loaf), workshop, now, known) for loaf in loaves]


def outlook(loaf: Loaf, workshop: Workshop, now: datetime) -> Outlook:
    """For one loaf; for a list use `outlooks`, which reads the workshop's experience once."""
    return outlooks([loaf], workshop, now)[0]


def active() -> QuerySet[Loaf]:
    """Loaves that still want looking after."""
    return with_facts(Loaf.objects.exclude(pk__in=standing(Finish).values("loaf")))
