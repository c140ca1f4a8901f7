"""Real workers: threads side by side, the loop beside the server, and a process that is killed while it sends."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from datetime import timedelta
from uuid import uuid4

import pytest
import time_machine
from django.conf import settings as django_settings
from django.core.cache import cache
from django.core.management import call_command
from django.db import connection, connections
from django.utils import timezone

from curelog.actions.reminding import set_own
from curelog.channels.mail import MailChannel
from curelog.models import Delivery, Loaf, Reminder, ToReplan
from curelog.reminders import worker
from tests.channels.conftest import MailStand
from tests.factories import make_loaf
from tests.reminders.fakes import Recorder, make_receiver

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("known_window")]


@pytest.fixture(autouse=True)
def fresh_cache():
    cache.clear()


def own_reminders(count, receiver):
    loaf = make_loaf()
    ToReplan.objects.all().delete()
    for _ in range(count):
        set_own(loaf, uuid4(), timezone.now() - timedelta(minutes=1), "x", receiver.person)
    return loaf


def test_four_workers_at_once_tell_each_receiver_of_each_thing_once():
    receivers = [make_receiver(name) for name in ("Phone", "Tablet", "Post")]
    own_reminders(120, receivers[0])
    recorder, start = Recorder(), threading.Barrier(4)
    recorder.hook = lambda: time.sleep(0.005)

    def work():
        start.wait()
        worker.one_round({"mail": recorder})
        connections.close_all()

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    states = Counter(Delivery.objects.values_list("state", flat=True))
    assert states == {"sent": 360}
    assert Counter(Delivery.objects.values_list("reminder", "receiver")).most_common(1)[0][1] == 1
    told = Counter((name, message.tag) for name, message in recorder.messages)
    assert set(told.values()) == {1}


def test_the_loop_beside_the_server_tells_and_ends_when_told(settings, tmp_path, monkeypatch):
    settings.DATA_DIR = tmp_path
    recorder = Recorder()
    monkeypatch.setattr(worker, "real_channels", lambda: {"mail": recorder})
    monkeypatch.setattr(worker, "EVERY_S", 0.05)
    own_reminders(1, make_receiver())
    with worker.beside():
        until = time.monotonic() + 10
        while not recorder.messages and time.monotonic() < until:
            time.sleep(0.02)
    assert len(recorder.messages) == 1
    assert (tmp_path / "push.key").exists()
    assert "reminders" not in {thread.name for thread in threading.enumerate()}


def test_the_loop_survives_a_database_that_is_away(monkeypatch, caplog):
    rounds = []

    def trip(*args):
        rounds.append(1)
        if len(rounds) == 2:
            stop.set()
        raise OSError("disk")

    stop = threading.Event()
    monkeypatch.setattr(worker, "EVERY_S", 0.01)
    monkeypatch.setattr(worker, "one_round", trip)
    worker.run(stop, {})
    assert len(rounds) == 2
    assert "A round of reminders failed" in caplog.text


def test_one_round_by_command(settings, tmp_path, capsys):
    settings.DATA_DIR = tmp_path
    call_command("remind", "--once")
    assert "Messages: 0" in capsys.readouterr().out


@pytest.mark.skipif(
    connection.vendor != "sqlite", reason="the other process opens the test's own database file"
)
def test_a_process_killed_between_send_and_mark_costs_one_repeat(settings):
    """A real SIGKILL, at the moment when the mail server has the mail and has not yet answered."""
    stand = MailStand(settings)
    taken = threading.Event()

    async def take_and_wait(server, session, envelope):
        stand.box.mail.append((envelope.rcpt_tos, envelope.content.decode()))
        taken.set()
        return "250 OK"

    stand.box.handle_DATA = take_and_wait
    own_reminders(1, make_receiver())
    process = start_worker(stand.server.port, wait_before_mark_s=30)
    try:
        assert taken.wait(60)
        time.sleep(0.2)
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert len(stand.box.mail) == 1
    assert Delivery.objects.get().state == Delivery.State.SENDING
    with time_machine.travel(timezone.now() + timedelta(minutes=3), tick=False):
        for _ in range(3):
            worker.one_round({"mail": MailChannel()})
    stand.close()
    assert Delivery.objects.get().state == Delivery.State.SENT
    assert len(stand.box.mail) == 2
    marks = {
        line for _, mail in stand.box.mail for line in mail.splitlines() if line.startswith("Message-ID")
    }
    assert len(marks) == 1
    assert Loaf.objects.count() == Reminder.objects.filter(kind="own").count() == 1


SLOW_TO_MARK = """
import sys, time
import django
django.setup()
from curelog.reminders import delivering, worker
from curelog.channels import channels
delivering.note = lambda *args: time.sleep(float(sys.argv[1]))
worker.one_round(channels())
"""


def start_worker(port, wait_before_mark_s):
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "curelog.settings",
        "CURELOG_DATABASE_URL": f"sqlite:///{connection.settings_dict['NAME']}",
        "CURELOG_MAIL_HOST": "127.0.0.1",
        "CURELOG_MAIL_PORT": str(port),
        "CURELOG_MAIL_TLS": "0",
        "CURELOG_MAIL_FROM": "curelog@example.org",
    }
    command = [sys.executable, "-c", SLOW_TO_MARK, str(wait_before_mark_s)]
    return subprocess.Popen(command, env=environment, cwd=django_settings.BASE_DIR)
