"""Signing in and out, joining by a link, one's own account."""

import threading
from datetime import timedelta
from urllib.parse import quote

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from curelog.actions import people
from curelog.models import Invitation, Person, Workshop
from tests.conftest import PASSWORD, signed_in

SIGN_IN = "/sign-in/"
NEW = {"name": "Nora", "username": "Nora", "password": "soap on a rope", "password_again": "soap on a rope"}


def join_url(role="helper", by=None):
    return reverse("join", args=[people.invite(role, by)[1]])


def is_signed_in(client):
    return client.get(reverse("account")).status_code == 200


def errors(response):
    assert response.status_code == 422
    return response.context["form"].errors


@pytest.mark.parametrize("name", ["olga", "Olga", " OLGA "])
def test_the_name_to_sign_in_with_knows_no_capitals(stranger, owner, name):
    stranger.post(SIGN_IN, {"username": name, "password": PASSWORD})
    assert is_signed_in(stranger)


def test_a_wrong_password_is_said_and_signs_nobody_in(stranger, owner):
    response = stranger.post(SIGN_IN, {"username": "olga", "password": PASSWORD.upper()})
    assert "do not go together" in response.content.decode()
    assert not is_signed_in(stranger)


def test_signing_in_goes_on_to_the_page_asked_for(stranger, owner):
    asked = stranger.get("/workshop/people/")
    assert asked.url == "/sign-in/?next=/workshop/people/"
    form = stranger.get(asked.url).context
    response = stranger.post(SIGN_IN, {"username": "olga", "password": PASSWORD, "next": form["next"]})
    assert response.url == "/workshop/people/"


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://evil.example/",
        "//evil.example/",
        "/\\evil.example",
        "javascript:alert(1)",
        "http:///evil.example",
    ],
)
def test_signing_in_does_not_lead_elsewhere(stranger, owner, elsewhere):
    data = {"username": "olga", "password": PASSWORD}
    by_form = stranger.post(SIGN_IN, data | {"next": elsewhere})
    by_address = Client().post(f"{SIGN_IN}?next={quote(elsewhere)}", data)
    assert by_form.url == by_address.url == "/"


def test_tries_are_counted_whatever_the_capitals(stranger, owner, settings):
    settings.AXES_FAILURE_LIMIT = 3
    for name in ("olga", "OLGA", "Olga"):
        response = stranger.post(SIGN_IN, {"username": name, "password": "guess"})
    assert response.status_code == 429
    assert "15 minutes" in response.content.decode()
    right = stranger.post(SIGN_IN, {"username": "olga", "password": PASSWORD})
    assert right.status_code == 429
    assert not is_signed_in(stranger)


def test_after_the_rest_the_right_password_signs_in(stranger, owner, settings, time_machine):
    settings.AXES_FAILURE_LIMIT = 2
    for _ in range(3):
        stranger.post(SIGN_IN, {"username": "olga", "password": "guess"})
    time_machine.move_to(timezone.now() + timedelta(minutes=16))
    stranger.post(SIGN_IN, {"username": "olga", "password": PASSWORD})
    assert is_signed_in(stranger)


def test_signing_out_needs_a_post(owner_client):
    assert owner_client.get(reverse("sign_out")).status_code == 405
    assert owner_client.post(reverse("sign_out")).url == SIGN_IN
    assert not is_signed_in(owner_client)


@pytest.mark.parametrize("name", ["sign_out", "sign_out_everywhere"])
def test_signing_out_takes_along_what_the_browser_keeps_of_pages(owner_client, name):
    assert owner_client.post(reverse(name))["Clear-Site-Data"] == '"cache"'


def test_the_first_owner_names_the_workshop_and_its_clock(stranger, workshop):
    url = join_url("owner")
    data = NEW | {"workshop_name": "Lower Mill", "time_zone": "Europe/Lisbon"}
    assert stranger.post(url, data).url == reverse("today")
    person, workshop = Person.objects.get(), Workshop.current()
    assert (person.username, person.shown_name, person.role) == ("nora", "Nora", "owner")
    assert (workshop.name, workshop.time_zone) == ("Lower Mill", "Europe/Lisbon")
    assert is_signed_in(stranger)


def test_the_first_owner_ends_the_other_links_of_the_start(stranger, workshop):
    other = join_url("owner")
    stranger.post(join_url("owner"), NEW | {"workshop_name": "Lower Mill", "time_zone": "UTC"})
    assert Client().get(other).status_code == 404


def test_a_helper_is_not_asked_about_the_workshop(stranger, owner):
    url = join_url("helper", owner)
    assert "workshop_name" not in stranger.get(url).context["form"].fields
    stranger.post(url, NEW | {"workshop_name": "Mine", "role": "owner"})
    assert Person.objects.get(username="nora").role == "helper"
    assert Workshop.current().name != "Mine"


def test_looking_at_a_link_does_not_use_it_up(stranger, owner):
    url = join_url()
    assert stranger.get(url).status_code == stranger.get(url).status_code == 200
    assert "username" in errors(stranger.post(url, NEW | {"username": "two words"}))
    assert stranger.post(url, NEW).status_code == 302


@pytest.mark.parametrize("is_from_start", [True, False])
def test_a_link_makes_one_account_only(stranger, owner, is_from_start):
    url = join_url(by=None if is_from_start else owner)
    stranger.post(url, NEW)
    response = Client().post(url, NEW | {"username": "second"})
    assert response.status_code == 404
    assert not Person.objects.filter(username="second").exists()


def test_a_link_closes_after_seven_days(stranger, owner, time_machine):
    url, made_at = join_url(), timezone.now()
    time_machine.move_to(made_at + timedelta(days=6, hours=23))
    assert stranger.get(url).status_code == 200
    time_machine.move_to(made_at + timedelta(days=7, minutes=1))
    assert stranger.get(url).status_code == stranger.post(url, NEW).status_code == 404
    assert not Person.objects.filter(username="nora").exists()


def test_only_the_hash_of_a_link_is_kept(workshop):
    invitation, token = people.invite("helper", None)
    assert len(token) >= 43
    assert token not in str(Invitation.objects.values().get())
    assert invitation.token != token


@pytest.mark.django_db(transaction=True)
def test_of_two_who_use_a_link_at_once_one_gets_in():
    owner = Person.objects.create_user("olga", role="owner")
    token, outcomes = people.invite("helper", owner)[1], []
    together = threading.Barrier(4)

    def come(name):
        together.wait()
        try:
            outcomes.append(people.accept(token, people.Newcomer(name, name, PASSWORD)))
        except people.InvitationClosed:
            outcomes.append(None)
        finally:
            connection.close()

    threads = [threading.Thread(target=come, args=[name]) for name in ("ada", "ben", "cleo", "dirk")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(outcomes) == 4
    assert [person for person in outcomes if person] == [Person.objects.exclude(pk=owner.pk).get()]


def test_a_name_that_is_taken_leaves_the_link_open(stranger, owner):
    url = join_url()
    assert "username" in errors(stranger.post(url, NEW | {"username": "OLGA"}))
    assert stranger.post(url, NEW).status_code == 302


def test_a_name_taken_in_the_same_moment_is_said_too(stranger, owner, monkeypatch):
    monkeypatch.setattr("curelog.forms.account.JoinForm.clean_username", lambda form: "olga")
    assert "username" in errors(stranger.post(join_url(), NEW))
    assert Invitation.objects.get().used_at is None


@pytest.mark.parametrize("password", ["nine char", "password12", "1234567890", "noraboucher"])
def test_weak_passwords_are_refused_beside_the_field(stranger, owner, password):
    data = NEW | {"username": "nora.boucher", "password": password, "password_again": password}
    assert set(errors(stranger.post(join_url(), data))) == {"password"}


def test_two_passwords_must_be_the_same(stranger, owner):
    assert set(errors(stranger.post(join_url(), NEW | {"password_again": "another one"}))) == {
        "password_again"
    }


def test_a_new_name_is_shown(owner_client, owner):
    owner_client.post(reverse("account"), {"name": "Olga van der Berg"})
    owner.refresh_from_db()
    assert owner.shown_name == "Olga van der Berg"
    assert set(errors(owner_client.post(reverse("account"), {"name": " "}))) == {"name"}


def test_a_new_password_needs_the_old_one(owner_client, owner):
    data = {"old_password": "a guess", "password": "soap on a rope", "password_again": "soap on a rope"}
    assert set(errors(owner_client.post(reverse("account_password"), data))) == {"old_password"}
    owner.refresh_from_db()
    assert owner.check_password(PASSWORD)


def test_a_new_password_signs_out_the_other_devices_only(owner_client, owner):
    other = signed_in(owner)
    data = {"old_password": PASSWORD, "password": "soap on a rope", "password_again": "soap on a rope"}
    assert owner_client.post(reverse("account_password"), data).url == reverse("account")
    assert is_signed_in(owner_client)
    assert not is_signed_in(other)


def test_signing_out_everywhere_ends_every_session(owner_client, owner, helper_client):
    other = signed_in(owner)
    assert is_signed_in(other)
    owner_client.post(reverse("sign_out_everywhere"))
    assert not is_signed_in(owner_client)
    assert not is_signed_in(other)
    assert is_signed_in(helper_client)
