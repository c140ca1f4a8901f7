"""What a workshop has written down comes through an upgrade."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone


def at(migration: str):
    executor = MigrationExecutor(connection)
    executor.migrate([("curelog", migration)])
    return executor.loader.project_state([("curelog", migration)]).apps


@pytest.mark.django_db(transaction=True)
def test_places_of_samples_become_places_of_the_workshop() -> None:
    try:
        old = at("0001_initial")
        batch = old.get_model("curelog", "Batch").objects.create(
            number="26-001", name="Olive", poured_at=timezone.now(), superfat=0.05, water_g=100
        )
        loaf = old.get_model("curelog", "Loaf").objects.create(batch=batch, poured_g=1000)
        known = old.get_model("curelog", "Place").objects.create(name="Tin")
        release = old.get_model("curelog", "Release")
        for place in ("tin", "Box 3", ""):
            release.objects.create(loaf=loaf, bar_count=9, retained_place=place, happened_at=timezone.now())
        new = at("0002_place_of_the_sample").get_model("curelog", "Release")
        places = {fact.sample_place and fact.sample_place.name for fact in new.objects.all()}
        assert places == {"Tin", "Box 3", None}
        assert new.objects.get(sample_place__name="Tin").sample_place_id == known.pk
    finally:
        MigrationExecutor(connection).migrate(
            MigrationExecutor(connection).loader.graph.leaf_nodes("curelog")
        )
