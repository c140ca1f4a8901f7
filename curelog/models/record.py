"""All facts about a loaf, sorted out: what stands, what was corrected, in which order."""

from collections.abc import Iterable
from datetime import datetime
from functools import cached_property
from typing import TypeVar

from django.db.models import Prefetch, QuerySet

from curelog.models.conflicts import Conflict, out_of_order, rivals
from curelog.models.fact import Fact
from curelog.models.facts import FACT_KINDS, Answer, Check, Cut, Handling, Photo, Unmoulding, Weighing
from curelog.models.loaves import Loaf
from curelog.models.places import Move, Place
from curelog.models.sale import Release

F = TypeVar("F", bound=Fact)
EXTRAS = {Weighing: ("bars",), Handling: ("bars",), Photo: ("bar",), Answer: ("answers",)}
EXTRAS |= {Move: ("place",), Release: ("sample_place",)}


def standing(kind: type[F]) -> "QuerySet[F]":
    """Facts of a kind that nobody has corrected or withdrawn, for a query; a Record does the same in memory."""
    return kind._default_manager.filter(corrections=None, withdrawn="")


def with_facts(loaves: QuerySet[Loaf]) -> QuerySet[Loaf]:
    """Loaves with everything a Record reads, in a number of queries that does not depend on how many there are."""
    facts = [
        Prefetch(
            f"{kind._meta.model_name}_set",
            queryset=kind._default_manager.select_related("by").prefetch_related(*EXTRAS.get(kind, ())),
        )
        for kind in FACT_KINDS
    ]
    return loaves.select_related("batch", "batch__recipe").prefetch_related(
        "batch__fats", "batch__additives", "bars", *facts
    )


class Record:
    """Read-only view of one loaf's facts. Load the loaf by `with_facts` when there are many."""

    def __init__(self, loaf: Loaf) -> None:
        self.loaf = loaf

    @cached_property
    def facts(self) -> dict[type[Fact], list[Fact]]:
        return {kind: list(getattr(self.loaf, f"{kind._meta.model_name}_set").all()) for kind in FACT_KINDS}

    @cached_property
    def corrected(self) -> set[object]:
        return {fact.corrects_id for facts in self.facts.values() for fact in facts if fact.corrects_id}

    def stands(self, fact: Fact) -> bool:
        return not fact.withdrawn and fact.pk not in self.corrected

    def standing(self, kind: type[F]) -> list[F]:
        """Facts of a kind that hold, oldest first. Of facts that contradict each other, the one that counts."""
        return [fact for fact in self.facts[kind] if self.stands(fact) and fact.pk not in self.overruled]  # type: ignore[misc]

    def first(self, kind: type[F]) -> F | None:
        return next(iter(self.standing(kind)), None)

    def last(self, kind: type[F]) -> F | None:
        return next(reversed(self.standing(kind)), None)

    @cached_property
    def history(self) -> list[Fact]:
        """Everything, corrected entries too, newest first."""
        every = [fact for facts in self.facts.values() for fact in facts]
        return sorted(every, key=lambda fact: (fact.happened_at, fact.received_at), reverse=True)

    @property
    def unmoulding(self) -> Unmoulding | None:
        return self.first(Unmoulding)

    @property
    def cut(self) -> Cut | None:
        return self.first(Cut)

    @cached_property
    def rivals(self) -> list[Conflict]:
        return rivals(self.facts, self.stands)

    @cached_property
    def overruled(self) -> set[object]:
        return {fact.pk for conflict in self.rivals for fact in conflict.facts[1:]}

    @property
    def conflicts(self) -> list[Conflict]:
        """What somebody has to decide about."""
        return self.rivals + out_of_order(self.unmoulding, self.cut)

    @property
    def place(self) -> Place | None:
        return self._last_put(Move.Part.BARS)

    @property
    def sample_place(self) -> Place | None:
        """Of the bar kept back: where it was last put, or as told at the release."""
        release = self.first(Release)
        return self._last_put(Move.Part.SAMPLE) or (release.sample_place if release else None)

    def _last_put(self, part: str) -> Place | None:
        return next((move.place for move in reversed(self.standing(Move)) if move.part == part), None)

    @property
    def cut_at(self) -> datetime:
        """Day 0 of the cure. Only to be asked of a loaf that is cut."""
        assert self.cut
        return self.cut.happened_at

    @cached_property
    def open_fails(self) -> list[Check]:
        answered = {answer.answers_id for answer in self.standing(Answer) if answer.lets_go}
        return [c for c in self.standing(Check) if c.outcome == Check.Outcome.FAIL and c.pk not in answered]


def records(loaves: Iterable[Loaf]) -> list[Record]:
    return [Record(loaf) for loaf in loaves]
