"""The demo has what it is there to show, and the same each time."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from curelog import photos
from curelog.actions.keeping import misplaced
from curelog.demo import photographs
from curelog.demo.building import SignIn, build
from curelog.domain.lifecycle import Need, Stage
from curelog.forms.acts import ACT_OF_KIND
from curelog.models import FACT_KINDS, Handling, Loaf, Person, Photo, Weighing, Workshop
from curelog.models.outlook import outlooks
from curelog.models.record import with_facts

MOMENT = timedelta(seconds=1)
ACTS_OF_KINDS = ACT_OF_KIND | {"photo": "photo", "answer": "check", "release": "release", "leaving": "leave"}


@dataclass(frozen=True)
class Demo:
    now: datetime
    people: list[SignIn]
    pictures: dict[str, Any]


@pytest.fixture(scope="module")
def pictures() -> Iterator[dict[str, Any]]:
    with photographs.drawn_beside() as drawn:
        yield drawn


@pytest.fixture
def demo(pictures: dict[str, Any], db: None) -> Demo:
    now = timezone.now()
    return Demo(now, build(pictures, now), pictures)


def test_every_stage_and_need_is_there(demo: Demo) -> None:
    loaves = with_facts(Loaf.objects.all())
    assert 24 <= len(loaves) <= 28
    stages, needs, is_held_back = set(), set(), False
    # Newest first, and no further than needed: each forecast takes its time.
    for seen in outlooks(loaves, Workshop.current(), demo.now):
        stages.add(seen.standing.stage)
        needs.update(seen.standing.needs)
        is_held_back |= seen.standing.is_held_back
        if stages == set(Stage) and needs == set(Need):
            break
    assert (stages, needs, is_held_back) == (set(Stage), set(Need), True)


def test_nothing_is_out_of_place(demo: Demo) -> None:
    for kind in FACT_KINDS:
        facts = kind._default_manager.select_related("loaf__batch")
        act = ACTS_OF_KINDS[kind._meta.model_name]
        assert [fact.words for fact in facts if misplaced(fact.loaf, act, fact.happened_at - MOMENT)] == []
        assert all(fact.loaf.batch.poured_at < fact.happened_at <= demo.now for fact in facts)
        assert all(fact.received_at == fact.happened_at for fact in facts)
    assert Loaf.objects.order_by("batch__poured_at").first().batch.poured_at < demo.now - timedelta(days=290)


def test_weights_are_such_as_scales_show(demo: Demo) -> None:
    weighings = Weighing.objects.prefetch_related("bars")
    assert {weighing.step_g for weighing in weighings} == {0.1, 1.0}
    for weighing in weighings:
        steps = weighing.weight_g / weighing.step_g
        assert steps == pytest.approx(round(steps), abs=1e-6)
        assert len(weighing.bars.all()) in (1, 3)
    assert weighings.exclude(corrects=None).count() == 1
    assert weighings.exclude(questioned="").count() == 2
    assert Handling.objects.get().bars.count() == 3


def test_its_people_can_sign_in(demo: Demo) -> None:
    for who in demo.people:
        person = Person.objects.get(username=who.username)
        assert person.check_password(who.password)
        assert person.role == who.role


def test_photos_are_kept_like_any_other(demo: Demo) -> None:
    assert Photo.objects.count() >= 10
    for photo in Photo.objects.all():
        assert photos.path(settings.PHOTO_DIR, photo.pk, "thumb").stat().st_size > 1000


@pytest.mark.django_db
def test_the_same_moment_gives_the_same_workshop(pictures: dict[str, Any]) -> None:
    now = datetime(2027, 3, 28, 0, 30, tzinfo=UTC)  # an hour before a clock change in much of Europe
    first, second = told_at(pictures, now), told_at(pictures, now)
    assert first == second
    assert len(first) > 300


def told_at(pictures: dict[str, Any], now: datetime) -> list[tuple[Any, ...]]:
    with transaction.atomic():
        build(pictures, now)
        told = list(Weighing.objects.order_by("pk").values_list("pk", "happened_at", "weight_g"))
        transaction.set_rollback(True)
    return told
