"""Bars are released for sale, and leave."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from curelog.actions.keeping import Told, keep
from curelog.models import Leaving, Loaf, Place, Release


@dataclass(frozen=True)
class Promise:
    """The net weight for the label, the rule it was worked out under, how long it is to hold, and why we think so."""

    declared_g: float | None = None
    rule: str = ""
    hold_until: date | None = None
    basis: str = ""


@dataclass(frozen=True)
class Counts:
    """Bars for sale, and bars kept back with their place; `weights_g` of each bar when all were weighed."""

    bars: int
    retained: int = 1
    sample_place: Place | None = None
    weights_g: Sequence[float] = ()


def release(
    loaf: Loaf, told: Told, counts: Counts, promise: Promise, early_why: str = "", questioned: str = ""
) -> Release:
    fact = Release(
        loaf=loaf,
        bar_count=counts.bars,
        retained_count=counts.retained,
        sample_place=counts.sample_place,
        weights_g=list(counts.weights_g),
        declared_g=promise.declared_g,
        rule=promise.rule,
        hold_until=promise.hold_until,
        basis=promise.basis,
        early_why=early_why,
        questioned=questioned,
        **told.fields,
    )
    return keep(fact, "release")


def leave(
    loaf: Loaf, told: Told, kind: str, bar_count: int, to_whom: str = "", questioned: str = ""
) -> Leaving:
    fact = Leaving(
        loaf=loaf, kind=kind, bar_count=bar_count, to_whom=to_whom, questioned=questioned, **told.fields
    )
    return keep(fact, "leave")
