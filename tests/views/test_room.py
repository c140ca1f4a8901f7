import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from curelog.actions.room import add_sensor
from curelog.models import RoomReading, RoomSensor, Workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def sensor(owner) -> tuple[RoomSensor, str]:
    return add_sensor("Cellar", "cellar rack", owner)


def send(token: str = "", client: Client | None = None, **told):
    """As a hub sends it: no cookies, no form token, the strictest client."""
    return (client or Client(enforce_csrf_checks=True)).post(
        reverse("sensor_reading"),
        json.dumps(told),
        content_type="application/json",
        headers={"Authorization": f"Bearer {token}"} if token else {},
    )


def rest(sensor: RoomSensor) -> None:
    RoomSensor.objects.filter(pk=sensor.pk).update(heard_at=timezone.now() - timedelta(minutes=2))


def by_hand(client: Client, **told):
    at = timezone.localtime().strftime("%Y-%m-%dT%H:%M")
    return client.post(
        reverse("room"), {"key": uuid4(), "at": at, "rh": "", "temp_c": "", "place": ""} | told
    )


def test_a_helper_reads_the_room_by_hand_with_a_decimal_comma(helper_client) -> None:
    assert by_hand(helper_client, rh="56,5", temp_c="17.8").status_code == 302
    reading = RoomReading.objects.get()
    assert (reading.rh, reading.temp_c, reading.source, reading.by.username) == (56.5, 17.8, "hand", "henk")


def test_the_same_form_sent_twice_keeps_one_reading(helper_client) -> None:
    key = uuid4()
    by_hand(helper_client, key=key, rh="56")
    by_hand(helper_client, key=key, rh="56")
    assert RoomReading.objects.count() == 1


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({}, "at least one is needed"),
        ({"rh": "156"}, "Not more than 100"),
        ({"rh": "dry"}, "Enter a number"),
        ({"temp_c": "64"}, "Is this in °C?"),
        ({"rh": "50", "at": "2099-01-01T12:00"}, "still to come"),
    ],
)
def test_what_makes_no_sense_is_said_beside_its_field(helper_client, told, words) -> None:
    answer = by_hand(helper_client, **told)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not RoomReading.objects.exists()


def test_a_reading_by_hand_is_in_the_workshops_unit(helper_client, workshop) -> None:
    Workshop.objects.update(temperature_unit="F")
    by_hand(helper_client, temp_c="64.4")
    assert RoomReading.objects.get().temp_c == pytest.approx(18.0)


def test_a_wrong_reading_is_left_out_and_taken_back_in(helper_client) -> None:
    by_hand(helper_client, rh="99")
    reading = RoomReading.objects.get()
    helper_client.post(reverse("room_leave_out", args=[reading.pk]))
    reading.refresh_from_db()
    assert reading.left_out_at
    assert "does not count" in helper_client.get(reverse("room")).content.decode()
    helper_client.post(reverse("room_leave_out", args=[reading.pk]))
    reading.refresh_from_db()
    assert reading.left_out_at is None


def test_the_page_draws_what_was_read(helper_client) -> None:
    by_hand(helper_client, rh="57", temp_c="17.8")
    page = helper_client.get(reverse("room")).content.decode()
    assert 'class="curve room-chart"' in page
    assert "Humidity from 57 to 57 %, last 57 %. Temperature from 18 to 18 °C" in page


def test_sensors_belong_to_the_owner(helper_client, owner_client) -> None:
    assert helper_client.get(reverse("sensors")).status_code == 403
    assert owner_client.get(reverse("sensors")).status_code == 200


def test_a_token_is_shown_once_and_only_its_hash_is_kept(owner_client) -> None:
    page = owner_client.post(reverse("sensors"), {"name": "Cellar", "place": ""})
    token = page.context["token"]
    assert token in page.content.decode()
    assert "no-store" in page.headers["Cache-Control"]
    assert token.partition(".")[2] not in RoomSensor.objects.get().token
    assert token.partition(".")[2] not in owner_client.get(reverse("sensors")).content.decode()
    assert send(token, rh=55).status_code == 201


def test_a_sensor_sends_json(sensor) -> None:
    answer = send(sensor[1], rh=56.5, temp_c=17.8)
    assert answer.status_code == 201
    reading = RoomReading.objects.get()
    assert (reading.rh, reading.temp_c, reading.place, reading.sensor) == (
        56.5,
        17.8,
        "cellar rack",
        sensor[0],
    )


def test_a_sensor_sends_a_form_with_the_token_in_it(sensor) -> None:
    told = {"token": sensor[1], "rh": "56.5", "temp_f": "64.4"}
    assert Client(enforce_csrf_checks=True).post(reverse("sensor_reading"), told).status_code == 201
    assert RoomReading.objects.get().temp_c == pytest.approx(18.0)


def test_an_earlier_moment_may_be_sent_again_without_harm(sensor) -> None:
    at = (timezone.now() - timedelta(hours=3)).isoformat()
    for _ in range(2):
        assert send(sensor[1], rh=55, at=at).status_code == 201
        rest(sensor[0])
    assert RoomReading.objects.get().at.isoformat() == at


def test_one_reading_a_minute(sensor) -> None:
    assert send(sensor[1], rh=55).status_code == 201
    too_soon = send(sensor[1], rh=55)
    assert too_soon.status_code == 429
    assert int(too_soon.headers["Retry-After"]) > 0
    rest(sensor[0])
    assert send(sensor[1], rh=55).status_code == 201
    assert RoomReading.objects.count() == 2


def test_no_wrong_token_opens(sensor, owner_client) -> None:
    right = sensor[1]
    name, _, secret = right.partition(".")
    wrong = ["", "x", ".", f"{name}.", f"{name}.{secret[:-1]}", f"{uuid4().hex}.{secret}", f"{name}.é", "ü.ö"]
    for token in wrong:
        told = {"token": token, "rh": "55"}
        assert Client().post(reverse("sensor_reading"), told).status_code == 401
    assert owner_client.post(reverse("sensor_reading"), {"rh": "55"}).status_code == 401
    assert not RoomReading.objects.exists()


def test_a_new_token_closes_the_old_one(sensor, owner_client) -> None:
    token = owner_client.post(reverse("sensor_renew", args=[sensor[0].pk])).context["token"]
    assert send(sensor[1], rh=55).status_code == 401
    assert send(token, rh=55).status_code == 201


def test_a_retired_sensor_is_not_heard(sensor, owner_client) -> None:
    owner_client.post(reverse("sensor_retire", args=[sensor[0].pk]))
    assert send(sensor[1], rh=55).status_code == 401
    owner_client.post(reverse("sensor_retire", args=[sensor[0].pk]))
    assert send(sensor[1], rh=55).status_code == 201


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({}, "rh"),
        ({"rh": 101}, "rh"),
        ({"rh": "NaN"}, "rh"),
        ({"rh": [1]}, "rh"),
        ({"temp_c": 64}, "temp_c"),
        ({"rh": 50, "at": "yesterday"}, "at"),
        ({"rh": 50, "at": "2099-01-01T00:00:00Z"}, "at"),
    ],
)
def test_what_a_sensor_cannot_mean_is_named(sensor, told, field) -> None:
    answer = send(sensor[1], **told)
    assert answer.status_code == 422
    assert field in answer.json()["error"]
    assert not RoomReading.objects.exists()


@pytest.mark.parametrize("body", ["[]", "{", '{"rh": 50' + " " * 5000 + "}", "[" * 4000])
def test_what_is_no_reading_is_refused(sensor, body: str) -> None:
    headers = {"Authorization": f"Bearer {sensor[1]}"}
    url = reverse("sensor_reading")
    answer = Client().post(url, body, content_type="application/json", headers=headers)
    assert answer.status_code == 400


def test_the_room_page_costs_few_queries(helper_client, sensor, django_assert_max_num_queries) -> None:
    for hours in range(30):
        send(sensor[1], rh=55, at=(timezone.now() - timedelta(hours=hours)).isoformat())
        rest(sensor[0])
    helper_client.get(reverse("room"))
    with django_assert_max_num_queries(7):
        helper_client.get(reverse("room"))


@pytest.mark.parametrize(
    ("rh", "words"), [("85", "damper than usual"), ("52", "about as usual"), ("30", "drier than usual")]
)
def test_the_air_is_told_beside_the_rooms_usual_air(owner_client, workshop, rh: str, words: str) -> None:
    by_hand(owner_client, rh=rh, temp_c=str(workshop.room_c))
    assert words in owner_client.get(reverse("room")).content.decode()
