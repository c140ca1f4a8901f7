"""How every act keeps its fact: once per key, in one transaction, marked when the loaf's stage did not allow it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID, uuid5

from django.db import transaction

from curelog.domain.lifecycle import ACTS, Stage
from curelog.models import Bar, Cut, Fact, Finish, Loaf, Person, Release, Unmoulding
from curelog.models.record import standing
from curelog.reminders.planning import replan_after

F = TypeVar("F", bound=Fact)
NOT_COMPARED = {"received_at", "by", "origin", "misplaced", "id", "basis"}


@dataclass(frozen=True)
class Told:
    """Who says it, when it happened, under which key (made where it was typed), and what it corrects."""

    key: UUID
    at: datetime
    by: Person | None
    origin: str = "page"
    note: str = ""
    corrects: UUID | None = None

    @property
    def fields(self) -> dict[str, Any]:
        return {
            "id": self.key,
            "happened_at": self.at,
            "by": self.by,
            "origin": self.origin,
            "note": self.note,
            "corrects_id": self.corrects,
        }

    def part(self, name: str) -> "Told":
        """For a fact that came along with this one. The same telling gives the same key."""
        return replace(self, key=uuid5(self.key, name), note="", corrects=None)


class OtherBody(Exception):
    """The key is known, with another content. Nothing was changed."""


@transaction.atomic
def keep(fact: F, act: str, bars: Iterable[Bar] = ()) -> F:
    """Stores a new fact. The same key with the same content again is harmless and gives the stored fact back."""
    wanted = list(bars)
    known = type(fact)._default_manager.filter(pk=fact.pk).first()
    if known:
        if content(known, list(known.bars.all()) if hasattr(known, "bars") else []) != content(fact, wanted):
            raise OtherBody
        return known
    fact.misplaced = fact.misplaced or misplaced(fact.loaf, act, fact.happened_at)
    fact.save(force_insert=True)
    if wanted:
        fact.bars.set(wanted)  # type: ignore[attr-defined]
    replan_after(fact)
    return fact


def content(fact: Fact, bars: list[Bar]) -> tuple[Any, ...]:
    """What was typed, without who sent it and when it came."""
    values = (
        getattr(fact, field.attname) for field in fact._meta.concrete_fields if field.name not in NOT_COMPARED
    )
    return (*values, sorted(bar.pk for bar in bars))


def misplaced(loaf: Loaf, act: str, at: datetime) -> str:
    """Why the stage the loaf had then does not fit the act; empty when it does."""
    stage = coarse_stage(loaf, at)
    if act in ACTS[stage]:
        return ""
    return f"The loaf was {stage.words.lower()} then."


def coarse_stage(loaf: Loaf, at: datetime) -> Stage:
    """The stage as far as facts tell it without a forecast, which is as far as allowed acts go."""
    ends: tuple[tuple[type[Fact], Stage], ...] = (
        (Finish, Stage.FINISHED),
        (Release, Stage.RELEASED),
        (Cut, Stage.CURING),
        (Unmoulding, Stage.UNMOULDED),
    )
    for kind, stage in ends:
        if standing(kind).filter(loaf=loaf, happened_at__lte=at).exists():
            return stage
    return Stage.MOULD
