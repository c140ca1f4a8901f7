"""One workshop, its people, and a browser for each of them."""

import pytest
from django.test import Client

from curelog.models import Person, Workshop

PASSWORD = "four words in a row"


@pytest.fixture
def workshop(db):
    return Workshop.current()


@pytest.fixture
def owner(workshop):
    return Person.objects.create_user("olga", password=PASSWORD, first_name="Olga", role=Person.Role.OWNER)


@pytest.fixture
def helper_person(workshop):
    return Person.objects.create_user("henk", password=PASSWORD, first_name="Henk", role=Person.Role.HELPER)


@pytest.fixture
def stranger(db):
    return Client()


@pytest.fixture
def owner_client(owner):
    return signed_in(owner)


@pytest.fixture
def helper_client(helper_person):
    return signed_in(helper_person)


def signed_in(person):
    client = Client()
    client.force_login(person)
    return client


def pytest_terminal_summary(terminalreporter):
    """Without Chromium the run passes, and says last what it did not look at."""
    skipped = terminalreporter.stats.get("skipped", [])
    left_out = sorted({report.nodeid.partition("[")[0] for report in skipped if "browser" in report.keywords})
    if left_out:
        terminalreporter.write_line(f"Left out, there is no Chromium here: {len(left_out)} browser tests.")
        for name in left_out:
            terminalreporter.write_line(f"  {name}")
