"""A forgotten password, and who is an owner."""

import re
from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from axes.models import AccessAttempt
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from curelog.actions import passwords, people
from curelog.models import Invitation, Person

NEW = {"password": "four soft words here", "password_again": "four soft words here"}


def link_for(client: Client, person: Person) -> str:
    page = client.post(reverse("person_password", args=[person.pk])).content.decode()
    return re.search(r'class="address">http://testserver(/new-password/[^<]+)<', page)[1]


def test_the_link_sets_a_password_once_and_signs_out_elsewhere(owner_client, helper_client, helper_person):
    Client().post("/sign-in/", {"username": "henk", "password": "guess"})
    link, other = link_for(owner_client, helper_person), link_for(owner_client, helper_person)
    fresh = Client()
    assert "signs in as <b>henk</b>" in fresh.get(link).content.decode()
    assert fresh.post(link, NEW).url == "/"
    assert fresh.get("/workshop/").status_code == 200
    assert helper_client.get("/workshop/").status_code == 302
    assert not AccessAttempt.objects.exists()
    for used in (link, other):
        assert Client().get(used).status_code == 404
    assert Client().post("/sign-in/", {"username": "henk", "password": NEW["password"]}).status_code == 302


def test_what_is_wrong_stands_beside_the_field_and_the_link_stays_good(owner_client, helper_person):
    link = link_for(owner_client, helper_person)
    answer = Client().post(link, {"password": "short", "password_again": "short"})
    assert answer.status_code == 422
    assert "at least 10 characters" in answer.content.decode()
    assert "The two passwords differ." in Client().post(link, NEW | {"password_again": "x"}).content.decode()
    assert Client().get(link).status_code == 200


def test_a_link_is_for_a_day_and_for_one_person(owner_client, helper_person, owner):
    link = link_for(owner_client, helper_person)
    token = link.rstrip("/").rpartition("/")[2]
    assert Client().get(reverse("new_password", args=[owner.pk, token])).status_code == 404
    assert Client().get(reverse("new_password", args=[99, token])).status_code == 404
    with time_machine.travel(timezone.now() + timedelta(hours=25)):
        assert Client().post(link, NEW).status_code == 404


@pytest.mark.parametrize("act", ["password", "sign_out"])
def test_what_the_person_does_meanwhile_closes_the_link(owner_client, helper_person, act):
    link = link_for(owner_client, helper_person)
    if act == "password":
        people.change_password(helper_person, "another good one")
    else:
        people.sign_out_everywhere(helper_person)
    assert Client().get(link).status_code == 404


@pytest.mark.parametrize("end", [people.remove, lambda person: people.change_role(person, "helper")])
def test_who_is_an_owner_no_longer_cannot_come_back_by_a_link_for_another_owner(owner, end):
    leaver = Person.objects.create_user("lena", role=Person.Role.OWNER)
    client = Client()
    client.force_login(leaver)
    link = link_for(client, owner)
    assert Client().get(link).status_code == 200
    end(leaver)
    assert Client().post(link, NEW).status_code == 404


def test_of_two_who_come_at_once_one_gets_through(owner_client, helper_person, monkeypatch):
    link, set_new = link_for(owner_client, helper_person), passwords.set_new

    def slower_than_another(pk, token, password):
        set_new(pk, token, "the words of the other one")
        return set_new(pk, token, password)

    monkeypatch.setattr(passwords, "set_new", slower_than_another)
    answer = Client().post(link, NEW)
    assert answer.status_code == 404
    assert "This link is closed" in answer.content.decode()
    helper_person.refresh_from_db()
    assert helper_person.check_password("the words of the other one")


def test_nobody_makes_a_link_for_themselves_there(owner_client, owner):
    assert owner_client.post(reverse("person_password", args=[owner.pk])).status_code == 404


@pytest.mark.django_db
def test_the_command_prints_a_link_for_the_owner(owner):
    out = StringIO()
    call_command("newpassword", owner.username.upper(), address="https://soap.example/", stdout=out)
    path = out.getvalue().strip().removeprefix("https://soap.example")
    assert Client().post(path, NEW).status_code == 302
    owner.refresh_from_db()
    assert owner.check_password(NEW["password"])
    with pytest.raises(CommandError, match="Nobody signs in as nobody"):
        call_command("newpassword", "nobody")


def test_a_helper_becomes_an_owner_and_back_and_links_close(owner_client, helper_person):
    page = owner_client.get(reverse("person", args=[helper_person.pk])).content.decode()
    assert "Make an owner" in page
    owner_client.post(reverse("person_role", args=[helper_person.pk]), {"role": "owner"})
    helper_person.refresh_from_db()
    assert helper_person.is_owner
    people.invite("owner", helper_person)
    owner_client.post(reverse("person_role", args=[helper_person.pk]), {"role": "helper"})
    helper_person.refresh_from_db()
    assert not helper_person.is_owner
    assert not Invitation.objects.exists()


@pytest.mark.django_db
def test_the_last_owner_stays_one(owner):
    with pytest.raises(people.LastOwner):
        people.change_role(owner, "helper")
    owner.refresh_from_db()
    assert owner.is_owner


def test_no_owner_turns_their_own_role(owner_client, owner):
    assert owner_client.post(reverse("person_role", args=[owner.pk]), {"role": "helper"}).status_code == 404


@pytest.mark.django_db
def test_a_closed_account_gets_no_link(helper_person):
    token = passwords.token_for(helper_person)
    helper_person.is_active = False
    helper_person.save()
    assert passwords.person_by(helper_person.pk, token) is None
