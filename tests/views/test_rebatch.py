"""Soap melted again is a batch like any other: into the mould, cut, released, sold, and found from the lot of lard."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from curelog.actions import mould, release
from curelog.actions.cut import CutBars, cut
from curelog.actions.lots import PartTaken, keep_lot
from curelog.models import Batch, Lot
from curelog.models.shelf import left_of
from curelog.models.tracing import trace_lot
from tests.factories import make_cut_loaf, make_lot, make_mould, told

pytestmark = pytest.mark.django_db
URL = "/pour/rebatch/"


@pytest.fixture
def lard() -> Lot:
    lot = make_lot("L1")
    batch = make_cut_loaf("26-001").batch
    batch.fats.filter(facts__key="lard").update(from_lot=lot, lot="L1")
    ends = Lot(kind=Lot.Kind.SOAP, name="Ends", code="T1", received_g=300)
    keep_lot(ends, [PartTaken(batch, 300.0)])
    return lot


def post(client: Client, **typed: str):
    html = client.get(URL).content.decode()
    names = ("key", "number", "name", "poured_at")
    shown = {name: re.search(rf'name="{name}" value="([^"]+)"', html)[1] for name in names}
    return client.post(URL, shown | {"part_rows": "2", "keep": "1", "water_g": "40"} | typed)


def melted(client: Client) -> Batch:
    answer = post(
        client, part_1="Ends T1", taken_1="250", part_2="26-001", taken_2="500", mould=str(make_mould().pk)
    )
    assert answer.status_code == 302, answer.content.decode()
    return Batch.objects.get(name="Rebatch")


def test_it_is_sold_like_any_other_and_found_from_the_lot(owner_client: Client, lard: Lot) -> None:
    batch = melted(owner_client)
    loaf = batch.loaves.get()
    assert batch.poured_g == loaf.poured_g == 790
    start = (batch.poured_at - told().at).total_seconds() / 3600
    mould.unmould(loaf, told(start + 20), "firm")
    cut(loaf, told(start + 21), "clean", CutBars(6, 85, 65, 25), weights_g={2: 125.0, 5: 124.0})
    release.release(loaf, told(start + 900), release.Counts(5), release.Promise(), "Wanted")
    release.leave(loaf, told(start + 901), "sold", 3, "Saturday market")
    found = trace_lot(lard)
    assert {row.number for row in found.batches} == {"26-001", batch.number}
    assert [(buyer.to_whom, buyer.bar_count) for buyer in found.buyers] == [("Saturday market", 3)]
    for url in (
        reverse("loaf", args=[loaf.pk]),
        reverse("label", args=[loaf.pk]),
        reverse("net_weight", args=[loaf.pk]),
        reverse("batch_record", args=[batch.pk]),
        reverse("trace_batch", args=[batch.pk]),
        reverse("act", args=[loaf.pk, "release"]),
        reverse("doing"),
        "/",
        "/loaves/",
    ):
        assert owner_client.get(url).status_code == 200, url
    label = owner_client.get(reverse("label", args=[loaf.pk]) + "?names=finished").content.decode()
    assert "Adeps Suillus" in label
    assert "(as poured)" in label
    record = owner_client.get(reverse("batch_record", args=[batch.pk])).content.decode()
    assert "Soap of batch 26-001" in record
    assert ">L1" in record


def test_stock_goes_down_and_sent_twice_it_is_one_batch(owner_client: Client, lard: Lot) -> None:
    batch = melted(owner_client)
    ends, whole = Lot.objects.get(code="T1"), Lot.objects.get(code=f"26-001 in {batch}")
    assert left_of([ends, whole]) == {ends.pk: 50, whole.pk: 0}
    again = {"key": str(batch.pk), "number": batch.number, "poured_at": batch.poured_at.isoformat()[:16]}
    answer = post(
        owner_client,
        part_1="Ends T1",
        taken_1="250",
        part_2="26-001",
        taken_2="500",
        mould=str(make_mould().pk),
        **again,
    )
    assert answer.status_code == 302
    assert Batch.objects.filter(name="Rebatch").count() == 1
    assert Lot.objects.filter(kind=Lot.Kind.SOAP).count() == 2


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({}, "Which soap was melted?"),
        ({"part_1": "Lard L1", "taken_1": "20"}, "Only soap"),
        ({"part_1": "T1"}, "How much of it?"),
        ({"part_1": "T1", "taken_1": "20", "number": "26-001"}, "There is a batch 26-001 already."),
        ({"part_1": "T1", "taken_1": "20", "poured_at": "2099-01-01T10:00"}, "still to come"),
    ],
)
def test_bad_input_is_said_beside_the_field(
    owner_client: Client, lard: Lot, typed: dict[str, str], words: str
) -> None:
    answer = post(owner_client, **typed)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert Batch.objects.count() == 1
