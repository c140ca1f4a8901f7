"""The bell, where people are told, the rules, a loaf's own reminders, and the answers of a notification."""

import json
import socket
from datetime import UTC, datetime, time, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.core import mail
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from curelog.actions.reminding import set_own
from curelog.domain.reminding import Kind
from curelog.models import Delivery, FeedAddress, Receiver, Reminder, ReminderRule, ToReplan
from curelog.push.base64url import decoded
from curelog.reminders.worker import one_round
from tests.factories import make_cut_loaf, make_loaf
from tests.push.stand_in import Browser
from tests.reminders.fakes import Recorder, make_receiver

pytestmark = pytest.mark.django_db
SECOND = timedelta(seconds=1)


@pytest.fixture(autouse=True)
def fresh_cache():
    cache.clear()


@pytest.fixture
def push_place(monkeypatch, settings, tmp_path):
    """A push service somewhere in the world, by name only."""
    settings.DATA_DIR = tmp_path
    found = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", ("8.8.8.8", 443))]
    monkeypatch.setattr(socket, "getaddrinfo", lambda *args, **kwargs: found)


def subscription(**changes):
    return {
        "endpoint": "https://push.example.net/x",
        "keys": Browser().keys,
        "name": "Chrome on Android",
    } | changes


def subscribe(client, told):
    return client.post("/reminders/to/browser/", json.dumps(told), content_type="application/json")


def page(client, address):
    response = client.get(address)
    assert response.status_code == 200
    return response.content.decode()


def test_the_bell_shows_what_comes_why_and_how_it_went(owner, owner_client):
    make_receiver("Kitchen tablet", "olga")
    loaf = make_loaf()
    ToReplan.objects.all().delete()
    Reminder.objects.all().delete()
    set_own(loaf, uuid4(), timezone.now() - SECOND, "Ask Ida for lard", owner)
    set_own(loaf, uuid4(), timezone.now() + timedelta(hours=5), "Sweep the floor", owner)
    recorder = Recorder()
    one_round({"mail": recorder})
    shown = page(owner_client, "/reminders/")
    assert "Set by Olga" in shown
    assert "Sweep the floor" in shown
    assert "Kitchen tablet" in shown
    assert "sent today" in shown
    assert "Ida" not in recorder.messages[0][1].text


def test_the_bell_asks_as_often_for_many_as_for_few(owner, owner_client):
    receiver = make_receiver("Phone", "olga")
    loaf = make_cut_loaf()
    counts = []
    for count in (2, 25):
        for _ in range(count):
            set_own(loaf, uuid4(), timezone.now() + timedelta(hours=1), "x", owner)
        for row in Reminder.objects.filter(kind=Kind.OWN, deliveries=None):
            times = {"due_at": row.due_at, "next_try_at": row.due_at, "ended_at": timezone.now()}
            Delivery.objects.create(reminder=row, receiver=receiver, state="failed", trouble="x", **times)
        with CaptureQueriesContext(connection) as queries:
            page(owner_client, "/reminders/")
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_a_browser_is_added_once_and_shown_with_its_name(owner_client, push_place):
    for _ in range(2):
        assert subscribe(owner_client, subscription()).status_code == 201
    receiver = Receiver.objects.get()
    assert (receiver.name, receiver.origin) == ("Chrome on Android", "http://testserver")
    shown = page(owner_client, "/reminders/to/")
    assert "Chrome on Android" in shown
    assert "push.example.net" not in shown


def test_a_browser_that_changes_hands_tells_only_the_new_one(owner_client, helper_client, push_place):
    told = subscription()
    subscribe(owner_client, told)
    subscribe(helper_client, told)
    assert Receiver.objects.get().person.username == "henk"


def test_a_browser_with_a_new_address_stays_the_same_receiver(owner, push_place):
    """As its worker tells it, without a page: key and token come from the same address."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    made = make_receiver("Kitchen tablet", "olga")
    Receiver.objects.update(channel="push", address="https://push.example.net/old", kinds_off=["weigh"])
    told = subscription(endpoint="https://push.example.net/new") | {
        "replaces": "https://push.example.net/old"
    }
    del told["name"]
    hello = client.get("/reminders/to/browser/").json()
    assert len(decoded(hello["publicKey"])) == 65
    for _ in range(2):
        answer = client.post(
            "/reminders/to/browser/",
            json.dumps(told),
            content_type="application/json",
            headers={"X-CSRFToken": hello["csrf"]},
        )
        assert answer.status_code == 201
    receiver = Receiver.objects.get()
    assert (receiver.pk, receiver.name, receiver.kinds_off) == (made.pk, "Kitchen tablet", ["weigh"])
    assert (receiver.address, receiver.keys) == (told["endpoint"], told["keys"])


def test_an_address_of_somebody_else_is_not_taken_over(owner_client, helper_client, push_place):
    subscribe(owner_client, subscription())
    told = subscription(
        endpoint="https://push.example.net/new", replaces="https://push.example.net/x", name=""
    )
    assert subscribe(helper_client, told).status_code == 201
    kept = {
        (each.person.username, each.address.rsplit("/")[-1], each.name) for each in Receiver.objects.all()
    }
    assert kept == {("olga", "x", "Chrome on Android"), ("henk", "new", "This browser")}


@pytest.mark.parametrize(
    "told",
    [
        {},
        [],
        "x",
        subscription(endpoint="http://push.example.net/x"),
        subscription(endpoint="https://user@push.example.net/x"),
        subscription(keys={}),
    ],
)
def test_what_is_no_subscription_is_refused_in_words(owner_client, push_place, told):
    response = subscribe(owner_client, told)
    assert response.status_code == 422
    assert response.json()["error"]
    assert not Receiver.objects.exists()


def test_an_address_inside_is_refused_when_it_is_told(owner_client, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    response = subscribe(owner_client, subscription(endpoint="https://127.0.0.1/x"))
    assert response.status_code == 422
    assert "private network" in response.json()["error"]


def test_a_mailbox_is_added_tried_and_taken_out(owner_client, settings):
    settings.EMAIL_HOST = "mail.example.org"
    owner_client.post("/reminders/to/", {"address": "olga@example.org"})
    receiver = Receiver.objects.get()
    owner_client.post(f"/reminders/to/{receiver.pk}/test/")
    assert mail.outbox[0].to == ["olga@example.org"]
    owner_client.post(f"/reminders/to/{receiver.pk}/remove/")
    assert not Receiver.objects.exists()


def test_a_test_that_does_not_go_out_says_why(owner_client, push_place, monkeypatch):
    subscribe(owner_client, subscription())
    monkeypatch.setattr(
        socket, "getaddrinfo", lambda *a, **k: (_ for _ in ()).throw(OSError("no name server"))
    )
    response = owner_client.post(f"/reminders/to/{Receiver.objects.get().pk}/test/", follow=True)
    assert "The test did not go out. The push service could not be reached" in response.content.decode()


def test_what_is_told_where_is_chosen_for_each(owner_client):
    receiver = make_receiver("Phone", "olga")
    owner_client.post(f"/reminders/to/{receiver.pk}/", {"name": "Pocket", "kinds": ["cut", "cut_by"]})
    receiver.refresh_from_db()
    assert receiver.name == "Pocket"
    assert receiver.wants("cut")
    assert not receiver.wants("weigh")


@pytest.mark.parametrize("path", ["", "test/", "remove/"])
def test_nobody_reaches_another_persons_receiver(helper_client, path):
    receiver = make_receiver("Phone", "olga")
    assert helper_client.post(f"/reminders/to/{receiver.pk}/{path}", {"name": "x"}).status_code == 404
    assert Receiver.objects.filter(pk=receiver.pk, name="Phone").exists()
    assert "Phone" not in page(helper_client, "/reminders/to/")


def test_the_calendars_address_is_shown_and_renewed(owner, owner_client, stranger):
    owner_client.get("/reminders/to/")
    old = FeedAddress.objects.get(person=owner).secret
    address = f"/calendar/{owner.pk}-{old}.ics"
    assert address in page(owner_client, "/reminders/to/")
    assert "no-store" in owner_client.get("/reminders/to/").headers["Cache-Control"]
    assert stranger.get(address).status_code == 200
    owner_client.post("/reminders/to/calendar/")
    assert stranger.get(address).status_code == 404
    assert address not in page(owner_client, "/reminders/to/")


def test_a_rule_is_set_for_a_type_and_plans_everything_anew(owner_client):
    make_loaf()
    ToReplan.objects.all().delete()
    owner_client.post("/reminders/rules/cut/", {"is_on": "on", "lead": "1,5", "recipe_kind": "salt"})
    rule = ReminderRule.objects.get()
    assert (rule.kind, rule.recipe_kind, rule.lead_minutes) == ("cut", "salt", 90)
    assert ToReplan.objects.count() == 1
    assert "Salt bar: cut soon" in page(owner_client, "/reminders/rules/")
    owner_client.post(f"/reminders/rules/{rule.pk}/drop/")
    assert not ReminderRule.objects.exists()


def test_a_rule_by_date_has_whole_days_and_a_time(owner_client):
    half = owner_client.post("/reminders/rules/weigh/", {"is_on": "on", "lead": "0.5", "clock": "07:30"})
    assert half.status_code == 422
    owner_client.post("/reminders/rules/weigh/", {"lead": "1", "clock": "07:30"})
    rule = ReminderRule.objects.get()
    assert (rule.is_on, rule.lead_minutes, rule.clock) == (False, 1440, time(7, 30))


@pytest.mark.parametrize(
    "address", ["/reminders/rules/own/", "/reminders/rules/nothing/", "/reminders/rules/cut/?type=x"]
)
def test_there_is_no_rule_for_what_is_no_kind(owner_client, address):
    assert owner_client.get(address).status_code == 404


def test_a_date_and_a_note_on_a_loaf_are_kept_once_shown_and_taken_out(owner_client):
    loaf = make_loaf()
    at = f"{timezone.now() + timedelta(days=2):%Y-%m-%dT%H:%M}"
    for _ in range(2):
        sent = {"key": "11111111-1111-4111-8111-111111111111", "at": at, "note": "Show Ida"}
        assert owner_client.post(f"/reminders/loaves/{loaf.pk}/", sent).status_code == 302
    own = Reminder.objects.get(kind=Kind.OWN)
    assert "Show Ida" in page(owner_client, f"/reminders/loaves/{loaf.pk}/")
    owner_client.post(f"/reminders/loaves/{own.pk}/drop/")
    assert not Reminder.objects.filter(kind=Kind.OWN).exists()


def test_a_moment_that_is_past_is_said_beside_the_field(owner_client):
    loaf = make_loaf()
    sent = {"key": uuid4(), "at": "2020-01-01T09:00", "note": "x"}
    response = owner_client.post(f"/reminders/loaves/{loaf.pk}/", sent)
    assert response.status_code == 422
    assert "This moment is past already." in response.content.decode()


@pytest.fixture
def notification(owner):
    """What lies on somebody's lock screen."""
    make_receiver("Phone", "olga")
    set_own(make_loaf(), uuid4(), timezone.now() - SECOND, "x", owner)
    recorder = Recorder()
    one_round({"mail": recorder})
    return next(message for _, message in recorder.messages)


def say(client, answer, says):
    told = json.dumps({"answer": answer, "says": says})
    return client.post("/reminders/answer/", told, content_type="application/json")


def test_the_buttons_work_signed_out_and_without_a_cookie(notification):
    strict = Client(enforce_csrf_checks=True)
    assert say(strict, notification.answer, "hour").json()["reminders"] > 0
    assert Delivery.objects.filter(state="waiting").exists()
    assert say(strict, notification.answer, "done").json()["reminders"] > 0
    assert not Delivery.objects.filter(state="waiting").exists()
    assert set(Reminder.objects.filter(kind=Kind.OWN).values_list("outcome", flat=True)) == {"done"}


def test_the_same_answer_twice_is_one(notification, client):
    first = say(client, notification.answer, "hour")
    then = list(Delivery.objects.values_list("next_try_at", flat=True))
    assert say(client, notification.answer, "hour").json()["reminders"] == 0
    assert first.json()["reminders"] > 0
    assert list(Delivery.objects.values_list("next_try_at", flat=True)) == then


@pytest.mark.parametrize("says", ["", "never", None, 5])
def test_only_the_two_words_are_known(notification, client, says):
    assert say(client, notification.answer, says).status_code == 422


def test_a_word_that_was_not_signed_here_or_long_ago_does_nothing(notification, client):

    assert say(client, notification.answer[:-1], "done").status_code == 422
    assert say(client, "x", "done").status_code == 422
    assert client.post("/reminders/answer/", "[", content_type="application/json").status_code == 422
    with time_machine.travel(datetime.now(UTC) + timedelta(days=15)):
        assert say(client, notification.answer, "done").status_code == 422
    assert not Reminder.objects.filter(outcome="done").exists()


def test_signed_out_the_way_to_the_act_leads_over_signing_in(notification, stranger):
    response = stranger.get(notification.path)
    assert response.url == f"/sign-in/?next={notification.path}"
