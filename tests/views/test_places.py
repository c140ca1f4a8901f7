"""Racks and places: where a loaf lies, and the places' own list."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from curelog.actions.place import add_place, move
from curelog.actions.release import Counts, Promise, release
from curelog.actions.withdraw import withdraw
from curelog.models import Loaf, Move, Place
from curelog.models.record import Record
from tests.factories import START, make_cut_loaf, make_loaf, told

pytestmark = pytest.mark.django_db


def post_move(client: Client, loaf: Loaf, query: str = "", **data: str) -> object:
    url = f"/loaves/{loaf.pk}/move/{query}"
    html = client.get(url).content.decode()
    found = {name: re.search(rf'name="{name}" value="([^"]+)"', html)[1] for name in ("key", "happened_at")}
    return client.post(url, found | data)


@pytest.fixture
def loaf(db) -> object:
    with time_machine.travel(START + timedelta(days=3), tick=False):
        yield make_cut_loaf()


def place_of(loaf: Loaf) -> str:
    return str(Record(Loaf.objects.get(pk=loaf.pk)).place)


def test_moving_a_loaf_takes_two_taps(owner_client: Client, loaf: Loaf) -> None:
    """The loaf's page leads to the places, each of which is a button."""
    rack = add_place("Rack 1 top")
    html = owner_client.get(f"/loaves/{loaf.pk}/").content.decode()
    assert f'href="/loaves/{loaf.pk}/move/"' in html
    form = owner_client.get(f"/loaves/{loaf.pk}/move/").content.decode()
    assert re.search(rf'<button name="place" value="{rack.pk}">Rack 1 top</button>', form)
    response = post_move(owner_client, loaf, place=str(rack.pk))
    page = owner_client.get(response.url).content.decode()
    assert "Kept: Put on Rack 1 top." in page
    assert re.search(r'on <a href="/racks/">Rack 1 top</a>', page)
    assert "Rack 1 top" in owner_client.get("/loaves/").content.decode()


def test_the_last_move_counts_by_when_it_happened(loaf: Loaf) -> None:
    top, window = add_place("Top"), add_place("Window")
    move(loaf, told(60), window)
    late = move(loaf, told(50), top)
    assert place_of(loaf) == "Window"
    withdraw(Move.objects.get(place=window), told(61), "the other loaf")
    assert place_of(loaf) == "Top"
    withdraw(late, told(62), "neither")
    assert place_of(loaf) == "None"


def test_a_move_is_corrected_by_another(owner_client: Client, loaf: Loaf) -> None:
    top, window = add_place("Top"), add_place("Window")
    wrong = move(loaf, told(50), top)
    post_move(owner_client, loaf, f"?corrects={wrong.pk}", place=str(window.pk))
    assert place_of(loaf) == "Window"
    assert Move.objects.count() == 2


def test_a_new_place_is_named_while_moving(owner_client: Client, loaf: Loaf) -> None:
    post_move(owner_client, loaf, new_place="Cellar shelf")
    post_move(owner_client, loaf, new_place="cellar SHELF")
    assert [place.name for place in Place.objects.all()] == ["Cellar shelf"]
    assert place_of(loaf) == "Cellar shelf"
    assert Move.objects.count() == 2


def test_nowhere_is_asked_about(owner_client: Client, loaf: Loaf) -> None:
    response = post_move(owner_client, loaf)
    assert response.status_code == 422
    assert "Where does it lie?" in response.content.decode()


def test_a_retired_place_is_not_offered_but_stays_with_what_lies_there(
    owner_client: Client, loaf: Loaf
) -> None:
    rack = add_place("Old rack")
    fact = move(loaf, told(50), rack)
    owner_client.post(f"/workshop/places/{rack.pk}/retire/")
    assert str(rack.pk) not in owner_client.get(f"/loaves/{loaf.pk}/move/").content.decode()
    assert post_move(owner_client, loaf, place=str(rack.pk)).status_code == 422
    assert str(rack.pk) in owner_client.get(f"/loaves/{loaf.pk}/move/?corrects={fact.pk}").content.decode()
    assert "Old rack" in owner_client.get("/racks/").content.decode()
    owner_client.post(f"/workshop/places/{rack.pk}/retire/")
    assert not Place.objects.get().is_retired


def test_racks_show_what_lies_where_in_the_order_of_the_round(owner_client: Client, loaf: Loaf) -> None:
    with time_machine.travel(START + timedelta(days=3), tick=False):
        elsewhere = make_loaf(loaf.batch.recipe, "26-002")
    top, window = add_place("Top"), add_place("Window")
    move(loaf, told(50), window)
    html = owner_client.get("/racks/").content.decode()
    order = [
        html.index(words)
        for words in ("Top</h2>", "Empty.", "Window</h2>", loaf.number, "No place noted", elsewhere.number)
    ]
    assert order == sorted(order)
    assert f"/weigh/?place={window.pk}" in html
    assert f"/weigh/?place={top.pk}" not in html


def test_places_are_added_renamed_and_put_in_order_by_helpers_too(helper_client: Client) -> None:
    for name in ("One", "Two", "Three"):
        helper_client.post("/workshop/places/", {"name": name})
    one, two, three = Place.objects.all()
    helper_client.post(f"/workshop/places/{three.pk}/shift/", {"to": "up"})
    helper_client.post(f"/workshop/places/{one.pk}/shift/", {"to": "up"})
    helper_client.post(f"/workshop/places/{two.pk}/", {"name": "Second"})
    assert [str(place) for place in Place.objects.all()] == ["One", "Three", "Second"]
    helper_client.post(f"/workshop/places/{one.pk}/shift/", {"to": "down"})
    assert [str(place) for place in Place.objects.all()] == ["Three", "One", "Second"]


def test_a_name_is_given_once(owner_client: Client) -> None:
    add_place("One")
    response = owner_client.post("/workshop/places/", {"name": "ONE"})
    assert response.status_code == 422
    assert "a place of this name already" in response.content.decode()
    assert owner_client.post("/workshop/places/", {"name": "  "}).status_code == 422


def test_the_sample_kept_back_is_moved_by_itself(owner_client: Client, loaf: Loaf) -> None:
    tin, cellar = add_place("Tin"), add_place("Cellar")
    move(loaf, told(50), cellar)
    release(loaf, told(24 * 40), Counts(9, 1, tin), Promise())
    assert "Samples kept</dt><dd>1, Tin" in owner_client.get(f"/loaves/{loaf.pk}/").content.decode()
    assert (
        "lies on Tin. Where now?" in owner_client.get(f"/loaves/{loaf.pk}/move/?part=sample").content.decode()
    )
    post_move(owner_client, loaf, part="sample", new_place="Archive")
    assert place_of(loaf) == "Cellar"
    assert "Samples kept</dt><dd>1, Archive" in owner_client.get(f"/loaves/{loaf.pk}/").content.decode()
    assert "1, Archive" in owner_client.get(reverse("trace_batch", args=[loaf.batch_id])).content.decode()
