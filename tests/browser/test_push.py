"""A push delivered to the real service worker in Chromium: shown, tapped, answered, with and without a network."""

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.browser.bad_network import BadNetwork
from tests.browser.phone import Phone
from tests.browser.real_server import ROOT, RealServer, free_port

pytestmark = pytest.mark.browser

# One reminder as it is after it was told: its signed answer and the key of its delivery.
TELL_ONE = """
import json, sys, uuid
import django
django.setup()
from datetime import timedelta
from django.core import signing
from django.utils import timezone
from curelog.actions.reminding import set_own
from curelog.models import Delivery, Loaf, Person, Receiver
from curelog.reminders.composing import ANSWER_SALT
now, person = timezone.now(), Person.objects.get(username="olga")
receiver = Receiver.objects.create(person=person, channel="mail", name="Post", address="a@example.org", origin="x")
row = set_own(Loaf.objects.get(pk=sys.argv[1]), uuid.uuid4(), now - timedelta(minutes=1), "x", person)
row.due_at, row.told_occasion = None, ""
row.save()
told = {"reminder": row, "receiver": receiver, "state": "sent", "due_at": now, "next_try_at": now, "ended_at": now}
delivery = Delivery.objects.create(**told)
print(json.dumps([delivery.pk, signing.dumps([delivery.pk], salt=ANSWER_SALT)]))
"""
SHOWN = """async () => (await (await navigator.serviceWorker.ready).getNotifications())
  .map(({ title, body, actions, data }) => ({ title, body, actions: actions.map((a) => a.action), data }))"""
# A synthetic tap may open no windows, so what it would open is noted instead.
TAP = """async (action) => {
  const [notification] = await self.registration.getNotifications();
  const opened = [];
  Object.defineProperty(self.clients, "openWindow", { value: async (path) => opened.push(path), configurable: true });
  self.dispatchEvent(new NotificationEvent("notificationclick", { notification, action }));
  await new Promise((resolve) => setTimeout(resolve, 1500));
  return opened;
}"""


@pytest.fixture
def scene(
    chromium: Browser, tmp_path: Path
) -> Iterator[tuple[Phone, RealServer, BadNetwork, dict[str, Any]]]:
    server = RealServer(tmp_path, free_port())
    told = server.prepare()
    server.start()
    try:
        with BadNetwork(free_port(), server.port) as network:
            base = f"http://127.0.0.1:{network.port}"
            phone = Phone(chromium, base, told["people"]["olga"])
            phone.context.grant_permissions(["notifications"], origin=base)
            phone.open("/")
            phone.until("() => navigator.serviceWorker.controller?.state === 'activated'")
            yield phone, server, network, told
    finally:
        server.kill()


def deliver(phone: Phone, message: dict[str, object]) -> list[dict[str, Any]]:
    """What is shown then. Chromium loses one such delivery in some: it is delivered again until something shows."""
    devtools = phone.context.new_cdp_session(phone.page)
    found: list[str] = []
    devtools.on(
        "ServiceWorker.workerRegistrationUpdated",
        lambda event: found.extend(each["registrationId"] for each in event["registrations"]),
    )
    devtools.send("ServiceWorker.enable")
    end = time.monotonic() + 20
    while time.monotonic() < end:
        phone.page.wait_for_timeout(300)
        if found:
            told = {"origin": phone.base, "registrationId": found[-1], "data": json.dumps(message)}
            devtools.send("ServiceWorker.deliverPushMessage", told)
            phone.page.wait_for_timeout(700)
            if shown := phone.page.evaluate(SHOWN):
                return list(shown)
    return []


def tell_one(server: RealServer, loaf: str) -> tuple[int, str]:
    done = subprocess.run(
        [sys.executable, "-c", TELL_ONE, loaf],
        cwd=ROOT,
        env=server.environment,
        capture_output=True,
        text=True,
    )
    assert not done.returncode, done.stderr
    key, answer = json.loads(done.stdout)
    return key, answer


def state_of(server: RealServer, key: int) -> str:
    ((state,),) = server.rows("SELECT state FROM curelog_delivery WHERE id = ?", key)
    return str(state)


def until_state(server: RealServer, phone: Phone, key: int, wanted: str) -> bool:
    for _ in range(50):
        if state_of(server, key) == wanted:
            return True
        phone.page.wait_for_timeout(200)
    return False


def test_a_push_shows_and_its_buttons_answer(
    scene: tuple[Phone, RealServer, BadNetwork, dict[str, Any]],
) -> None:
    phone, server, network, told = scene
    act = f"/loaves/{told['in_mould']}/cut/"
    key, answer = tell_one(server, told["in_mould"])
    message = {
        "title": "Cut: 26-002",
        "body": "26-002: cut by Tue 22:00",
        "url": act,
        "tag": "t",
        "answer": answer,
    }
    (shown,) = deliver(phone, message | {"opens": True})
    assert (shown["title"], shown["body"]) == ("Cut: 26-002", "26-002: cut by Tue 22:00")
    assert shown["actions"] == ["done", "hour"]

    (worker,) = phone.context.service_workers
    assert worker.evaluate(TAP, "hour") == []
    assert until_state(server, phone, key, "waiting")

    deliver(phone, message | {"opens": True})
    assert worker.evaluate(TAP, "") == [act]

    network.is_down = True
    deliver(phone, message | {"opens": True})
    assert worker.evaluate(TAP, "done") == [act]
    assert state_of(server, key) == "waiting"
    network.is_down = False
    # The next push takes the kept answer along.
    deliver(phone, {"title": "Test", "body": "x", "tag": "u"})
    assert until_state(server, phone, key, "dropped")
    ((outcome,),) = server.rows("SELECT outcome FROM curelog_reminder WHERE kind = 'own'")
    assert outcome == "done"


# The browser's own push service cannot be asked from here: what it would give stands in for it.
CHANGE = """async (endpoint) => {
  const fresh = { toJSON: () => ({ endpoint: "https://8.8.8.8/new", keys: {
    p256dh: "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4",
    auth: "BTBZMqHH6r4Tts7J_aSIgg" } }) };
  Object.defineProperty(self.registration.pushManager, "subscribe", { value: async () => fresh, configurable: true });
  const event = new ExtendableEvent("pushsubscriptionchange");
  event.oldSubscription = { endpoint };
  self.dispatchEvent(event);
}"""
PUSHED = """insert into curelog_receiver
  (person_id, channel, name, address, keys, origin, kinds_off, made_at, closed_why)
  values (?, 'push', 'Kitchen tablet', ?, '{}', 'x', '[]', '2026-01-12', '')"""


def test_a_new_address_of_the_browser_reaches_the_workshop_without_a_page_also_later(
    scene: tuple[Phone, RealServer, BadNetwork, dict[str, Any]],
) -> None:
    phone, server, network, told = scene
    old = "https://8.8.8.8/old"
    server.write(PUSHED, told["people"]["olga"]["pk"], old)
    (worker,) = phone.context.service_workers
    network.is_down = True
    worker.evaluate(CHANGE, old)
    phone.page.wait_for_timeout(500)
    assert server.rows("select address from curelog_receiver") == [(old,)]
    network.is_down = False
    phone.open("/")
    for _ in range(50):
        if (found := server.rows("select name, address from curelog_receiver")) != [("Kitchen tablet", old)]:
            break
        phone.page.wait_for_timeout(200)
    assert found == [("Kitchen tablet", "https://8.8.8.8/new")]


def test_a_tap_when_signed_out_leads_over_signing_in_to_the_act(
    scene: tuple[Phone, RealServer, BadNetwork, dict[str, Any]],
) -> None:
    phone, _, _, told = scene
    phone.context.clear_cookies()
    phone.open(f"/loaves/{told['in_mould']}/cut/")
    assert phone.page.url.endswith(f"/sign-in/?next=/loaves/{told['in_mould']}/cut/")
