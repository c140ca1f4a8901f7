"""Inviting and removing people, and erasing photos."""

import re
from io import BytesIO

import pytest
from axes.models import AccessAttempt
from django.apps import apps
from django.test import Client
from django.urls import reverse
from PIL import Image

from curelog import photos
from curelog.actions import people
from curelog.actions.photo import photograph, take_in
from curelog.actions.withdraw import withdraw
from curelog.models import Invitation, Person, Photo
from tests.factories import make_loaf, told
from tests.views.test_account import NEW

PEOPLE = "/workshop/people/"


def invited_address(response):
    return re.search(r'class="address">http://testserver(/join/[^<]+)<', response.content.decode())[1]


def test_the_link_is_shown_once_and_works(owner_client, owner):
    response = owner_client.post(PEOPLE, {"role": "helper"})
    address = invited_address(response)
    assert "no-store" in response["Cache-Control"]
    assert address not in owner_client.get(PEOPLE).content.decode()
    assert Client().post(address, NEW).status_code == 302
    assert Person.objects.get(username="nora").role == "helper"


def test_an_owner_can_be_invited(owner_client):
    Client().post(invited_address(owner_client.post(PEOPLE, {"role": "owner"})), NEW)
    assert Person.objects.get(username="nora").is_owner


def test_a_closed_link_no_longer_works(owner_client):
    address = invited_address(owner_client.post(PEOPLE, {"role": "helper"}))
    owner_client.post(reverse("invitation_withdraw", args=[Invitation.objects.get().pk]))
    assert Client().post(address, NEW).status_code == 404


def test_a_removed_person_is_erased_and_their_facts_stay(owner_client, helper_person, helper_client):
    from curelog.actions.mould import check_firmness

    loaf = make_loaf()
    fact = check_firmness(loaf, told(5, by=helper_person), "dents")
    Client().post("/sign-in/", {"username": "henk", "password": "guess"})
    address = reverse("join", args=[people.invite("helper", helper_person)[1]])
    owner_client.post(reverse("person_remove", args=[helper_person.pk]))
    fact.refresh_from_db()
    assert (fact.feel, fact.by) == ("dents", None)
    assert not AccessAttempt.objects.exists()
    assert Client().get(address).status_code == 404
    assert helper_client.get("/workshop/").status_code == 302
    assert not traces_of("henk")


def traces_of(word):
    """Every row of every table that holds the word."""
    rows = (str(row).lower() for model in apps.get_models() for row in model.objects.values())
    return [row for row in rows if word in row]


def test_asking_removes_nobody(owner_client, helper_person):
    page = owner_client.get(reverse("person_remove", args=[helper_person.pk]))
    assert "Henk" in page.content.decode()
    assert Person.objects.count() == 2


def test_nobody_removes_their_own_account(owner_client, owner):
    assert owner_client.post(reverse("person_remove", args=[owner.pk])).status_code == 404
    assert Person.objects.get() == owner


def test_the_last_owner_stays(owner, helper_person):
    with pytest.raises(people.LastOwner):
        people.remove(owner)
    second = Person.objects.create_user("sara", role="owner")
    people.remove(owner)
    with pytest.raises(people.LastOwner):
        people.remove(second)


@pytest.fixture
def photo(workshop, settings, tmp_path):
    settings.PHOTO_DIR = tmp_path
    return take_photo(make_loaf())


def take_photo(loaf, corrects=None):
    jpeg = BytesIO()
    Image.new("RGB", (40, 30), "tan").save(jpeg, "JPEG")
    telling = told(1)
    fact = photograph(loaf, telling, take_in(jpeg), "face")
    if corrects:
        Photo.objects.filter(pk=fact.pk).update(corrects=corrects)
    return fact


def files(root):
    return [path for path in root.rglob("*") if path.is_file()]


def test_an_erased_photo_leaves_neither_file_nor_row(owner_client, photo, tmp_path):
    other = take_photo(photo.loaf)
    response = owner_client.post(reverse("photo_erase", args=[photo.pk]))
    assert response.url == reverse("loaf", args=[photo.loaf.pk])
    assert list(Photo.objects.all()) == [other]
    assert len(files(tmp_path)) == len(photos.LONG_SIDE_PX)


def test_erasing_takes_every_version_of_the_photo(owner_client, photo, tmp_path):
    second = take_photo(photo.loaf, corrects=photo)
    withdraw(second, told(2), "blurred")
    owner_client.post(reverse("photo_erase", args=[second.pk]))
    assert not Photo.objects.exists()
    assert not files(tmp_path)


def test_asking_erases_nothing(owner_client, photo, tmp_path):
    assert owner_client.get(reverse("photo_erase", args=[photo.pk])).status_code == 200
    assert Photo.objects.get() == photo
    assert files(tmp_path)
