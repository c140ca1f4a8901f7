"""Today and Loaves with a thousand loaves, 150 of them active: cold (nothing cached) and warm.

.venv/bin/python tests/bench/bench_lists.py [loaves] [active]
"""

import os
import sys
import time
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"

import django

django.setup()

from django.core.cache import cache
from django.test import Client
from django.test.runner import DiscoverRunner
from django.test.utils import setup_test_environment

from curelog.actions import cure
from curelog.models import Person
from tests import factories


def fill(loaves: int, active: int) -> None:
    recipe = factories.make_recipe()
    days = loaves / 3
    factories.START = factories.datetime.now(factories.UTC) - timedelta(days=days)
    for number in range(loaves):
        hours = number * 8
        loaf = factories.make_cut_loaf(f"B{number:05d}", hours, recipe=recipe)
        factories.weigh_course(
            loaf, {day: round(140 - 4 * day**0.5) for day in (3, 10, 24) if day < days - number / 3 - 1}
        )
        if number < loaves - active:
            cure.finish(loaf, factories.told(hours + 48), "gone")


def main() -> None:
    loaves, active = (int(arg) for arg in (sys.argv[1:] + ["1000", "150"][len(sys.argv) - 1 :])[:2])
    setup_test_environment()
    DiscoverRunner(verbosity=0).setup_databases()
    fill(loaves, active)
    client = Client()
    client.force_login(Person.objects.create_user("olga", password="x", role="owner"))
    for page in ("/", "/loaves/", "/loaves/?page=20", "/loaves/?stage=curing"):
        cache.clear()
        for state in ("cold", "warm"):
            start = time.perf_counter()
            status = client.get(page).status_code
            print(f"{page:28} {state} {status} {time.perf_counter() - start:7.3f} s", flush=True)


if __name__ == "__main__":
    main()
