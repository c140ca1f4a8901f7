"""10,000 due reminders planned and claimed in the background while pages are served: how much slower the pages get.

    python -m tests.bench.bench_reminders

One run: the server of `start` on a database of its own, pages asked for one after the other; first with nothing due,
then while a worker beside the server gives out and delivers everything, then again in peace. Deliveries go to a mail
server that takes everything, so that sending costs what it costs and the network is not measured."""

import os
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from datetime import timedelta

DUE, LOAVES, PAGES = 10_000, 100, 60


def main() -> None:
    folder = tempfile.mkdtemp(prefix="curelog-bench-")
    port, mail_port = free_port(), free_port()
    os.environ |= {
        "DJANGO_SETTINGS_MODULE": "curelog.settings",
        "CURELOG_DATA": folder,
        "CURELOG_SECRET_KEY": "bench",
        "CURELOG_MAIL_HOST": "127.0.0.1",
        "CURELOG_MAIL_PORT": str(mail_port),
        "CURELOG_MAIL_TLS": "0",
    }
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    cookie = make_workshop()
    mail = take_all_mail(mail_port)
    server = subprocess.Popen([sys.executable, "-c", SERVE, str(port)])
    try:
        measure(f"http://127.0.0.1:{port}", cookie)
    finally:
        server.terminate()
        server.wait()
        mail.stop()


# The server alone: the worker is started by hand, at the moment that is measured.
SERVE = """
import sys, contextlib, django
django.setup()
from curelog.reminders import worker
worker.beside = contextlib.nullcontext
from curelog.serving.server import serve
serve("127.0.0.1", int(sys.argv[1]))
"""
REMIND = """
import django
django.setup()
from django.core.management import call_command
call_command("remind", "--once")
"""


def measure(base: str, cookie: str) -> None:
    from curelog.models import Delivery, Reminder, ToReplan

    wait_for(base)
    timed(base, cookie, 10)
    before = timed(base, cookie, PAGES)
    make_due()
    began = time.perf_counter()
    worker = subprocess.Popen([sys.executable, "-c", REMIND])
    during = []
    while worker.poll() is None:
        during += timed(base, cookie, 2)
    took_s = time.perf_counter() - began
    after = timed(base, cookie, PAGES)
    told = Delivery.objects.filter(state=Delivery.State.SENT).count()
    left = Reminder.objects.filter(due_at__isnull=False, outcome="").count()
    print(
        f"{DUE} due rows of {LOAVES} loaves: {told} deliveries sent in {took_s:.1f} s, {left} rows not due yet"
    )
    print(f"loaves planned anew: {LOAVES - ToReplan.objects.count()} of {LOAVES}")
    for name, times in (("before", before), ("meanwhile", during), ("after", after)):
        print(
            f"pages {name:9s}: {len(times):4d}, median {statistics.median(times):6.1f} ms, p95 {p95(times):6.1f} ms"
        )
    print(f"slowing: median x {statistics.median(during) / statistics.median(before + after):.2f}")


def timed(base: str, cookie: str, count: int) -> list[float]:
    """In ms. Pages as a phone asks for them, in turn."""
    times = []
    for n in range(count):
        path = ("/loaves/", "/reminders/", "/workshop/")[n % 3]
        request = urllib.request.Request(base + path, headers={"Cookie": cookie})
        began = time.perf_counter()
        with urllib.request.urlopen(request) as response:
            assert response.status == 200
            assert b"<main" in response.read()
        times.append(1000 * (time.perf_counter() - began))
    return times


def p95(times: list[float]) -> float:
    return statistics.quantiles(times, n=20)[-1]


def make_workshop() -> str:
    """Loaves, a person with a mailbox, and the cookie of her session."""
    from django.contrib.auth import HASH_SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore
    from django.utils import timezone

    from curelog.models import Person, Receiver
    from tests.factories import START, make_loaf, make_recipe

    hours = (timezone.now() - START).total_seconds() / 3600 - 3
    recipe = make_recipe()
    for n in range(LOAVES):
        make_loaf(recipe, number=f"26-{n:03d}", hours=hours)
    person = Person.objects.create_user("bench")
    Receiver.objects.create(
        person=person, channel="mail", name="Post", address="a@example.org", origin="http://localhost"
    )
    session = SessionStore()
    for name, value in (
        ("_auth_user_id", str(person.pk)),
        ("_auth_user_backend", "django.contrib.auth.backends.ModelBackend"),
        (HASH_SESSION_KEY, person.get_session_auth_hash()),
    ):
        session[name] = value
    session.create()
    return f"sessionid={session.session_key}"


def make_due() -> None:
    """Reminders of every loaf, due now, and every loaf to be planned anew."""
    from uuid import uuid4

    from django.utils import timezone

    from curelog.models import Loaf, Reminder, ToReplan

    now = timezone.now()
    Reminder.objects.bulk_create(
        Reminder(
            loaf=loaf,
            kind="own",
            series=str(uuid4()),
            due_at=now,
            planned_at=now,
            begins_at=now,
            until=now + timedelta(days=3),
            words=f"{loaf.batch.number}: your own reminder",
            why="Set by Bench",
        )
        for loaf in Loaf.objects.select_related("batch")
        for _ in range(DUE // LOAVES)
    )
    ToReplan.objects.bulk_create(ToReplan(loaf=loaf) for loaf in Loaf.objects.all())


def free_port() -> int:
    import socket

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_for(base: str) -> None:
    for _ in range(200):
        try:
            urllib.request.urlopen(f"{base}/sign-in/")
            return
        except OSError:
            time.sleep(0.1)
    sys.exit("The server did not come up.")


def take_all_mail(port: int):
    from aiosmtpd.controller import Controller

    class Taker:
        async def handle_DATA(self, server, session, envelope):
            return "250 OK"

    controller = Controller(Taker(), hostname="127.0.0.1", port=port)
    controller.start()
    return controller


if __name__ == "__main__":
    main()
