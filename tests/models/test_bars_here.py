"""Bars for sale by place: released, less those that left, where the loaf was last put."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from curelog.actions.cure import finish
from curelog.actions.place import add_place, move
from curelog.actions.release import Counts, Promise, leave, release
from curelog.models.bars_here import bars_by_place, samples_kept
from tests.factories import make_cut_loaf, told

pytestmark = pytest.mark.django_db
DAYS = 24


def released(number, place=None):
    loaf = make_cut_loaf(number)
    release(loaf, told(40 * DAYS), Counts(9, 1), Promise())
    if place:
        move(loaf, told(41 * DAYS), place)
    return loaf


def test_by_place_in_the_order_of_the_round(workshop, owner_client):
    window, cellar = add_place("Window"), add_place("Cellar")
    first, gone = released("26-001", cellar), released("26-002", window)
    released("26-003", window)
    released("26-004")
    make_cut_loaf("26-005")
    leave(first, told(42 * DAYS), "sold", 4, "market")
    leave(gone, told(42 * DAYS), "sold", 9, "shop")
    finish(released("26-006", cellar), told(43 * DAYS), "gone")
    found = [(s.place, [(b.loaf.number, b.stock.here) for b in s.loaves], s.bars) for s in bars_by_place()]
    assert found == [
        (window, [("26-003", 9)], 9),
        (cellar, [("26-001", 5)], 5),
        (None, [("26-004", 9)], 9),
    ]
    assert "23 bars for sale" in owner_client.get(reverse("bars_here")).content.decode()


def test_the_questions_do_not_grow_with_the_loaves(workshop, django_assert_num_queries):
    released("26-001")
    with CaptureQueriesContext(connection) as asked:
        bars_by_place()
    for number in range(2, 6):
        released(f"26-00{number}")
    with django_assert_num_queries(len(asked)):
        bars_by_place()


def test_samples_are_found_also_of_loaves_long_gone(workshop, owner_client):
    tin = add_place("Tin")
    gone = released("26-001")
    finish(gone, told(50 * DAYS), "gone")
    assert not move(gone, told(51 * DAYS), tin, "sample").misplaced
    released("26-002")
    assert {(kept.loaf.number, kept.count, kept.place) for kept in samples_kept()} == {
        ("26-001", 1, tin),
        ("26-002", 1, None),
    }
    assert "1, nobody said where" in owner_client.get(reverse("bars_here")).content.decode()
