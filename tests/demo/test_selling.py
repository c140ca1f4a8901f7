"""The demo has something real on every screen of selling, and its books add up."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from curelog.demo import photographs
from curelog.demo.building import build
from curelog.models import Batch, Complaint, LogEntry, Lot, Person, Release
from curelog.models.bars_here import bars_by_place
from curelog.models.record import Record
from curelog.models.shelf import on_shelf, open_lots, with_parts
from curelog.models.tracing import trace_lot

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def pictures() -> Iterator[dict[str, Any]]:
    with photographs.drawn_beside() as drawn:
        yield drawn


@pytest.fixture
def client_of_demo(pictures: dict[str, Any], client: Client) -> Client:
    build(pictures)
    client.force_login(Person.objects.get(role=Person.Role.OWNER))
    return client


def test_its_books_add_up_and_its_screens_have_something_to_say(client_of_demo: Client) -> None:
    shelf = on_shelf(with_parts(Lot.objects.all()), timezone.localdate())
    assert [str(each.lot) for each in shelf if each.left_g < 0] == []
    assert [each for each in open_lots(timezone.localdate()) if each.concerns]
    for lard in Lot.objects.filter(key="lard"):
        found = trace_lot(lard)
        # Through the box of trimmings to whom the block made of them went.
        if "Scullery block" in {batch.name for batch in found.batches}:
            break
    else:
        pytest.fail("no lard leads to the block")
    assert "Fell Bridge market" in {buyer.to_whom for buyer in found.buyers}
    assert all(
        release.declared_g and release.basis and release.hold_until for release in Release.objects.all()
    )
    assert {str(Record(release.loaf).sample_place) for release in Release.objects.all()} == {
        "Sample tin",
        "Attic box",
    }
    assert sum(each.bars for each in bars_by_place()) > 10
    assert Complaint.objects.count() == 2
    assert {entry.is_within for entry in LogEntry.objects.filter(kind="scale")} == {True, False}
    batch = Batch.objects.filter(loaves__release__isnull=False, name="Pantry bar").first()
    loaf = batch.loaves.first()
    shown = {
        reverse("label", args=[loaf.pk]): ("Linalool, Limonene, Coumarin", "best before", "Mill Ginnel"),
        reverse("batch_record", args=[batch.pk]): (
            "Tarn End Oils",
            "report 114",
            "a bar of",
            "3.1 % of the finished soap",
        ),
        reverse("trace_batch", args=[batch.pk]): ("Marrow &amp; Thistle", "Ingredients cost"),
        reverse("lots"): ("To look at first", "best-before date"),
    }
    for url, words in shown.items():
        html = client_of_demo.get(url).content.decode()
        assert [each for each in words if each not in html] == [], url
