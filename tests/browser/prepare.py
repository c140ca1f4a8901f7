"""Prepares a data folder for a real server and prints what the tests need to know of it, as JSON."""

import json
import os
import sys

import django

django.setup()

from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY  # noqa: E402
from django.contrib.sessions.backends.db import SessionStore  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.utils import timezone  # noqa: E402

from curelog.models import Person  # noqa: E402
from tests import factories  # noqa: E402


def session_of(person):
    session = SessionStore()
    session[SESSION_KEY] = str(person.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = person.get_session_auth_hash()
    session.create()
    return session.session_key


def prepare():
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False, clear=True)
    # Poured two days before the tests run: a loaf that is cut and curing, and one still in its mould.
    factories.START = timezone.now() - timezone.timedelta(days=2)
    curing = factories.make_cut_loaf()
    factories.weigh_course(curing, {0.4: 138.2, 0.8: 136.9})
    in_mould = factories.make_loaf(curing.batch.recipe, number="26-002", hours=40)
    people = [
        Person.objects.create_user(name, role=role) for name, role in (("olga", "owner"), ("henk", "helper"))
    ]
    return {
        "people": {person.username: {"pk": person.pk, "session": session_of(person)} for person in people},
        "curing": str(curing.pk),
        "in_mould": str(in_mould.pk),
        "recipe": curing.batch.recipe_id,
        "bars": [bar.pk for bar in curing.bars.all()],
    }


def collect():
    call_command("collectstatic", verbosity=0, interactive=False, clear=True)
    return {}


if __name__ == "__main__":
    os.umask(0o077)
    json.dump({"prepare": prepare, "collect": collect}[sys.argv[1]](), sys.stdout)
