"""The pages of a tracing."""

import pytest
from django.urls import reverse

from curelog.actions.place import add_place
from curelog.actions.release import Counts, Promise, leave, release
from curelog.models import BatchFat
from tests.factories import make_cut_loaf, make_lot, told

pytestmark = pytest.mark.django_db


@pytest.fixture
def sold(workshop):
    loaf, lard = make_cut_loaf("26-001"), make_lot("L77", supplier="Mill")
    BatchFat.objects.filter(facts__key="lard").update(from_lot=lard, lot="L77")
    release(loaf, told(24 * 40), Counts(9, 1, add_place("Shelf 2")), Promise())
    leave(loaf, told(24 * 41), "sold", 4, "Winter <market>")
    return loaf, lard


def text(response):
    return response.content.decode()


@pytest.mark.parametrize("words", ["L77", "26-001", "winter", "mill"])
def test_a_search_leads_on(helper_client, sold, words):
    page = helper_client.get(reverse("tracing"), {"q": words})
    loaf, lard = sold
    links = {reverse("trace_lot", args=[lard.pk]), reverse("trace_batch", args=[loaf.batch_id])}
    assert any(link in text(page) for link in links)


def test_a_search_for_nothing(helper_client, sold):
    assert "Nothing has" in text(helper_client.get(reverse("tracing"), {"q": "<b>zz"}))
    assert "&lt;b&gt;zz" in text(helper_client.get(reverse("tracing"), {"q": "<b>zz"}))


def test_the_recall_list_of_a_lot(helper_client, sold):
    page = text(helper_client.get(reverse("trace_lot", args=[sold[1].pk])))
    for words in ("Winter &lt;market&gt;", "26-001", "Shelf 2", "As known on", "local rules decide"):
        assert words in page


def test_a_batch_back_and_forth(helper_client, sold):
    page = text(helper_client.get(reverse("trace_batch", args=[sold[0].batch_id])))
    for words in ("L77</a>, Mill", "Winter &lt;market&gt;", "Coconut"):
        assert words in page


def test_what_a_bar_cost(helper_client, sold):
    lard = sold[1]
    lard.price = 50.0
    lard.save()
    page = text(helper_client.get(reverse("trace_batch", args=[sold[0].batch_id])))
    assert "7.00 EUR" in page  # 700 g of 5 kg
    assert "0.70 EUR a bar of 10" in page
    assert "Without a price: Coconut oil, Sodium hydroxide" in page
