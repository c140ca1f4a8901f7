"""Tracing, forward and back, and the list for a recall."""

from dataclasses import dataclass
from datetime import datetime
from functools import cache
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.formats import date_format

from curelog.models import Batch, Lot, Workshop
from curelog.models.costs import cost_of
from curelog.models.sources import sources_of
from curelog.models.tracing import Left, Trace, TracedBatch, trace_batch, trace_lot
from curelog.models.tracing_search import search
from curelog.views.access import Request


@dataclass(frozen=True)
class Row:
    """One batch of the list. Its words are put together here: a template would take seconds for thousands."""

    batch: TracedBatch
    poured: str
    kept: str
    went: str


def rows(trace: Trace, workshop: Workshop) -> list[Row]:
    zone = workshop.zone
    day = cache(lambda local: date_format(local, "j M Y"))

    def on(at: datetime) -> str:
        return day(at.astimezone(zone).date())

    def went(left: Left) -> str:
        return f"{left.bar_count} {left.to_whom or left.way}, {on(left.at)}"

    return [
        Row(
            batch,
            on(batch.poured_at),
            ", ".join([str(batch.retained), *filter(None, batch.kept_at)]) if batch.retained else "",
            "; ".join(map(went, batch.left)),
        )
        for batch in trace.batches
    ]


def tracing(request: Request) -> HttpResponse:
    words = request.GET.get("q", "").strip()[:80]
    return render(request, "tracing/index.html", {"q": words, "found": search(words) if words else None})


def lot(request: Request, key: UUID) -> HttpResponse:
    traced = get_object_or_404(Lot, pk=key)
    trace = trace_lot(traced)
    context = {"lot": traced, "trace": trace, "rows": rows(trace, request.workshop)}
    return render(request, "tracing/lot.html", context)


def batch(request: Request, key: UUID) -> HttpResponse:
    traced = get_object_or_404(Batch, pk=key)
    trace, sources = trace_batch(traced), sources_of(traced)
    context = {
        "batch": traced,
        "sources": sources,
        "cost": cost_of(sources, next(row.bars for row in trace.batches if row.key == traced.pk)),
        "loaves": traced.loaves.order_by("letter"),
        "complaints": traced.complaints.all(),
        "trace": trace,
        "rows": rows(trace, request.workshop),
    }
    return render(request, "tracing/batch.html", context)
