"""The invented workshop, and one of its loaves, while the story is told."""

from collections.abc import Mapping, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, TypeVar
from uuid import uuid5

import numpy as np
from numpy.typing import NDArray

from curelog.actions.keeping import Told
from curelog.demo.pantry import Pantry
from curelog.demo.story import Life
from curelog.models import (
    Bar,
    Batch,
    Fact,
    Handling,
    Loaf,
    Mould,
    Person,
    Place,
    Recipe,
    Scale,
    Weighing,
    Workshop,
)
from curelog.photos import TakenPhoto

F = TypeVar("F", bound=Fact)
FRESH_DAYS = 3.0
OWNER, HELPER = 0, 1


@dataclass
class Shed:
    """`air`: humidity by day, ending today. `people`: the owner, then the helper."""

    now: datetime
    workshop: Workshop
    people: Sequence[Person]
    recipes: Mapping[str, Recipe]
    moulds: Mapping[str, Mould]
    places: Mapping[str, Place]
    pantry: Pantry
    coarse: Scale
    fine: Scale
    air: NDArray[np.float64]
    pictures: Mapping[str, Future[TakenPhoto]]
    rng: np.random.Generator
    poured: dict[float, Batch] = field(default_factory=dict)
    facts: list[Fact] = field(default_factory=list)
    weighed: list[tuple[Weighing, list[Bar]]] = field(default_factory=list)
    handled: list[tuple[Handling, list[Bar]]] = field(default_factory=list)

    def poured_at(self, life: Life) -> datetime:
        """Fresh loaves to the minute, so that they want now what they are there for; older ones in the morning."""
        exact = self.now - timedelta(days=life.days_ago)
        if life.days_ago < FRESH_DAYS:
            return exact
        return self.workshop.local(exact).replace(
            hour=9, minute=int(self.rng.integers(0, 59)), second=0, microsecond=0
        )


@dataclass
class Telling:
    """A loaf and the moments of its life."""

    shed: Shed
    life: Life
    loaf: Loaf
    poured_at: datetime
    count: int = 0

    def told(self, at: datetime, note: str = "", by: int = OWNER) -> Told:
        """Keys follow from the order of telling: the same story has the same keys."""
        self.count += 1
        return Told(uuid5(self.loaf.pk, str(self.count)), at, self.shed.people[by], note=note)

    def said(self, at: datetime, note: str = "", by: int = OWNER) -> dict[str, Any]:
        """What all facts have."""
        return {"loaf": self.loaf, "received_at": at} | self.told(at, note, by).fields

    def keep(self, fact: F) -> F:
        """As an act would, but later and all together: hundreds of acts would keep the first page waiting."""
        self.shed.facts.append(fact)
        return fact

    def after_pour(self, hours: float) -> datetime:
        return self.poured_at + timedelta(hours=hours)

    @property
    def cut_at(self) -> datetime:
        assert self.life.cut_h is not None
        return self.after_pour(self.life.cut_h)

    def cure_day(self, day: float) -> datetime:
        return self.cut_at + timedelta(days=day)
