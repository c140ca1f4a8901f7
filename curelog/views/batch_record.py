"""Everything known of a batch on pages to print: for the folder, and for an assessor."""

from dataclasses import dataclass
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from curelog import wording
from curelog.charts import Curve, curve
from curelog.models import (
    Answer,
    Batch,
    Check,
    Fact,
    FirmnessCheck,
    GelSeen,
    Handling,
    Photo,
    Weighing,
)
from curelog.models.costs import cost_of
from curelog.models.ingredient_list import declared_in
from curelog.models.lots import ALKALI_NAMES
from curelog.models.outlook import Outlook, outlooks
from curelog.models.poured import poured_of
from curelog.models.record import with_facts
from curelog.models.sources import sources_of
from curelog.views.access import Request


@dataclass(frozen=True)
class Row:
    """One ingredient as weighed in."""

    name: str
    mass_g: float
    share: float
    inci: str = ""


@dataclass(frozen=True)
class Declared:
    """What the supplier of an additive says of it, and how much of it was weighed in."""

    name: str
    share_of_fats: float
    limit_share: float | None
    limit_of: str
    allergens: str


@dataclass(frozen=True)
class Part:
    """One loaf of the batch."""

    seen: Outlook
    curve: Curve | None
    gel: list[GelSeen]
    felt: list[FirmnessCheck]
    weighings: list[Weighing]
    handlings: list[Handling]
    checks: list[tuple[Check, list[Answer]]]
    photos: list[Photo]
    history: list[tuple[Fact, bool]]


def batch_record(request: Request, key: UUID) -> HttpResponse:
    batch = get_object_or_404(Batch.objects.select_related("recipe", "by"), pk=key)
    poured, loaves = poured_of(batch), with_facts(batch.loaves.select_related("mould").order_by("letter"))
    parts = [part(seen) for seen in outlooks(loaves, request.workshop, timezone.now())]
    sources = sources_of(batch)
    context = {
        "batch": batch,
        "rows": rows(batch),
        "sources": [source for source in sources if source.lot or source.batch or source.code],
        "declared": declared(batch),
        "complaints": batch.complaints.prefetch_related("steps__by").order_by("at"),
        "cost": cost_of(sources, bars_of(parts)),
        "parts": parts,
        "sums": poured.sums if poured else None,
        "superfat_as_weighed": poured.superfat if poured else None,
        "rule_words": wording.rule_words(batch.settled_pct, batch.settled_days),
    }
    return render(request, "record/record.html", context)


def rows(batch: Batch) -> list[Row]:
    fats = [(part.fat.name, part.weighed_g, part.fat.inci) for part in batch.fats.all()]
    lye = [(ALKALI_NAMES[key], getattr(batch, f"{key}_g"), "") for key in ALKALI_NAMES]
    added = [(part.name, part.weighed_g, "") for part in batch.additives.all()]
    pot = [*fats, *lye, ("Water", batch.water_g, ""), *added]
    return [Row(name, mass_g, mass_g / batch.poured_g, inci) for name, mass_g, inci in pot if mass_g]


def declared(batch: Batch) -> list[Declared]:
    """Of the recipe's version that was poured, for each additive of which a limit or allergens are known."""
    weighed_g = {extra.name: extra.weighed_g for extra in batch.additives.all()}
    told = [extra for extra in declared_in(batch) if extra.limit_share is not None or extra.allergens]
    return [
        Declared(
            extra.name,
            weighed_g.get(extra.name, 0.0) / batch.fats_g if batch.fats_g else 0.0,
            extra.limit_share,
            extra.get_limit_of_display(),
            extra.allergens,
        )
        for extra in told
    ]


def bars_of(parts: list[Part]) -> int | None:
    """Known once every loaf is cut."""
    cuts = [part.seen.record.cut for part in parts]
    return sum(cut.bar_count for cut in cuts if cut) if all(cuts) else None


def part(seen: Outlook) -> Part:
    record = seen.record
    answers = record.standing(Answer)
    return Part(
        seen=seen,
        curve=curve(seen),
        gel=record.standing(GelSeen),
        felt=record.standing(FirmnessCheck),
        weighings=record.standing(Weighing),
        handlings=record.standing(Handling),
        checks=[
            (check, [a for a in answers if a.answers_id == check.pk]) for check in record.standing(Check)
        ],
        photos=record.standing(Photo),
        history=[(fact, record.stands(fact)) for fact in reversed(record.history)],
    )
