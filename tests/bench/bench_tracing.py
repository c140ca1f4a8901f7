"""Tracing in a workshop of 5,000 batches, each released and sold to three: search, answer, and page.

.venv/bin/python tests/bench/bench_tracing.py [batches]

One lot, of salt, went into every batch as the worst case; the others into as many as is usual. Medians of five; on a
machine with other work the processor's time tells more.
"""

# Models can only be imported once Django is set up.

import os
import sys
import time
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"

import django

django.setup()

from django.db import connection
from django.test import Client
from django.test.runner import DiscoverRunner
from django.test.utils import CaptureQueriesContext, setup_test_environment
from django.urls import reverse

from curelog.models import Batch, BatchAdditive, BatchFat, Cut, Leaving, Loaf, Lot, Person, Release
from curelog.models.tracing import trace_batch, trace_lot
from curelog.models.tracing_search import search
from tests.factories import START, make_lot

BATCHES_PER_LOT = 40


def fill(count: int) -> tuple[Lot, Lot, Batch]:
    lots = [make_lot(f"L{number}") for number in range(count // BATCHES_PER_LOT + 1)]
    salt = make_lot("S1", "", "Salt", "additive")
    batches = [_batch(number) for number in range(count)]
    Batch.objects.bulk_create(batches)
    rows = list(enumerate(batches))
    facts = {"key": "lard", "name": "Lard"}
    BatchFat.objects.bulk_create(
        BatchFat(batch=batch, facts=facts, weighed_g=700, lot=lot.code, from_lot=lot)
        for number, batch in rows
        for lot in (lots[number // BATCHES_PER_LOT], lots[-1 - number // BATCHES_PER_LOT])
    )
    BatchAdditive.objects.bulk_create(
        BatchAdditive(batch=batch, name="Salt", weighed_g=9, from_lot=salt) for batch in batches
    )
    loaves = [Loaf(batch=batch, poured_g=1500) for batch in batches]
    Loaf.objects.bulk_create(loaves)
    _sell(loaves)
    return lots[0], salt, batches[0]


def _batch(number: int) -> Batch:
    at = START - timedelta(hours=5 * number)
    return Batch(
        id=uuid4(), number=f"B{number:05d}", name="Lard", poured_at=at, superfat=0.05, naoh_g=100, water_g=200
    )


def _sell(loaves: list[Loaf]) -> None:
    bar = {"bar_length_mm": 85, "bar_width_mm": 65, "bar_thickness_mm": 25}
    days = [timedelta(days=day) for day in (1, 40, 50, 60, 70)]
    told = [[loaf.batch.poured_at + day for day in days] for loaf in loaves]
    pairs = list(zip(loaves, told, strict=True))
    Cut.objects.bulk_create(
        Cut(loaf=loaf, happened_at=at[0], result="clean", bar_count=10, **bar) for loaf, at in pairs
    )
    Release.objects.bulk_create(Release(loaf=loaf, happened_at=at[1], bar_count=9) for loaf, at in pairs)
    Leaving.objects.bulk_create(
        Leaving(loaf=loaf, happened_at=day, bar_count=2, to_whom=f"Market {number % 60}")
        for number, (loaf, at) in enumerate(pairs)
        for day in at[2:]
    )


def timed(what: str, work: object) -> None:
    times = []
    for _ in range(5):
        with CaptureQueriesContext(connection) as asked:
            start, busy = time.perf_counter(), time.process_time()
            work()  # type: ignore[operator]
            times.append((time.perf_counter() - start, time.process_time() - busy))
    took, busy = sorted(times)[2]
    print(f"{what:36} {took:7.3f} s, of the processor {busy:7.3f} s  {len(asked)} queries", flush=True)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    setup_test_environment()
    DiscoverRunner(verbosity=0).setup_databases()
    lot, salt, batch = fill(count)
    client = Client()
    client.force_login(Person.objects.create_user("olga", password="x", role="owner"))
    timed("search for a code", lambda: search("L7").is_empty)
    timed("search for a buyer", lambda: search("Market 7").is_empty)
    timed(f"a lot of {2 * BATCHES_PER_LOT} batches", lambda: trace_lot(lot).buyers)
    timed(f"a lot of all {count} batches", lambda: trace_lot(salt).buyers)
    timed("a batch", lambda: trace_batch(batch).buyers)
    for words, url in (
        ("page: search", f"{reverse('tracing')}?q=L7"),
        ("page: a lot", reverse("trace_lot", args=[lot.pk])),
        ("page: the lot of all batches", reverse("trace_lot", args=[salt.pk])),
        ("page: a batch", reverse("trace_batch", args=[batch.pk])),
    ):
        timed(words, lambda url=url: client.get(url))


if __name__ == "__main__":
    main()
