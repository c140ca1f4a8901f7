"""Plan for a date: asked by an address, kept nowhere."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from curelog.domain.planning import Chance
from curelog.models import Loaf, Mould, Place, Recipe
from tests.factories import make_loaf, make_mould, make_recipe

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 2, 10, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def recipe() -> Recipe:
    make_mould()
    return make_recipe()


def asked(client: Client, day: str, *rows: tuple[object, object]):
    told = {"day": day}
    for number, (recipe, bars) in enumerate(rows, 1):
        told |= {f"recipe_{number}": getattr(recipe, "pk", recipe), f"bars_{number}": bars}
    return client.get(reverse("plan"), told)


def in_days(days: int) -> str:
    return (NOW.date() + timedelta(days=days)).isoformat()


def test_far_ahead_is_safe_and_the_likely_day_is_later(helper_client, recipe) -> None:
    plan = asked(helper_client, in_days(250), (recipe, 9)).context["plan"].plans[0]
    assert plan.chance is Chance.SAFE
    assert NOW.date() < plan.pour_by.safe < plan.pour_by.likely
    # The least cure of 28 days, a day to the cut and one to pack.
    assert plan.pour_by.likely <= NOW.date() + timedelta(days=220)
    assert plan.pours[-1].pour.at.date() == plan.pour_by.safe
    # 260 mm at 25 mm gives 10 bars, one is kept back.
    assert (plan.batches, plan.bars_per_batch, plan.spare_bars) == (1, 9, 0)


def test_several_batches_wait_for_the_mould(helper_client, recipe) -> None:
    plan = asked(helper_client, in_days(250), (recipe, 19)).context["plan"]
    pours = [each.pour for each in plan.plans[0].pours]
    assert len(pours) == 3
    assert all(later.at >= earlier.cut_from for earlier, later in pairwise(pours))
    assert not [clash for clash in plan.clashes if clash.mould]


def test_a_late_start_leaves_the_next_batch_its_mould(helper_client, recipe) -> None:
    with time_machine.travel(NOW.replace(hour=20), tick=False):
        plan = asked(helper_client, in_days(2), (recipe, 19)).context["plan"]
    first, *others = plan.plans[0].pours
    assert first.pour.at >= NOW.replace(hour=20)
    assert [clash for clash in plan.clashes if clash.mould] == []
    assert others[0].pour.at >= first.pour.cut_from
    assert {each.chance for each in plan.plans[0].pours} == {Chance.TOO_LATE}


def test_in_the_night_the_pour_waits_for_the_morning(helper_client, recipe, workshop) -> None:
    with time_machine.travel(NOW.replace(hour=23), tick=False):
        pours = asked(helper_client, in_days(2), (recipe, 9)).context["plan"].plans[0].pours
    assert not workshop.quiet_hours.hold(pours[0].pour.at)


def test_between_safe_and_likely_it_says_so(helper_client, recipe) -> None:
    far = asked(helper_client, in_days(250), (recipe, 9)).context["plan"].plans[0]
    likely, safe = far.course.likely_days, far.course.safe_days
    assert "Too late to be safe" in asked(helper_client, in_days(safe - 1), (recipe, 9)).content.decode()
    assert "Too late to be safe" not in asked(helper_client, in_days(safe), (recipe, 9)).content.decode()
    late = asked(helper_client, in_days(likely - 1), (recipe, 9))
    assert "Not enough time" in late.content.decode()
    assert late.context["plan"].plans[0].ready_likely == NOW.date() + timedelta(days=likely)


def test_one_mould_for_two_recipes_is_a_clash(helper_client, recipe) -> None:
    other = make_recipe("The same again")
    page = asked(helper_client, in_days(250), (recipe, 9), (other, 9))
    assert [clash.mould for clash in page.context["plan"].clashes if clash.mould] == ["Long"]
    assert "One mould for two" in page.content.decode()


def test_pours_and_cuts_keep_off_the_quiet_hours(helper_client, recipe, workshop) -> None:
    plan = asked(helper_client, in_days(250), (recipe, 9)).context["plan"].plans[0]
    for each in plan.pours:
        assert not workshop.quiet_hours.hold(each.pour.at)
        assert workshop.quiet_hours.hold(each.pour.cut_from) is not each.is_awake


def test_the_heat_and_the_mould_are_those_of_the_last_batch(helper_client, recipe) -> None:
    Mould.objects.create(name="Short", length_mm=130, width_mm=85, height_mm=65)
    make_loaf(recipe, heat="oven")
    plan = asked(helper_client, in_days(250), (recipe, 9)).context["plan"].plans[0]
    assert (plan.heat, [fit.mould.name for fit in plan.fits]) == ("oven", ["Long"])


def test_without_a_mould_it_says_what_is_missing(helper_client) -> None:
    page = asked(helper_client, in_days(250), (make_recipe(), 9))
    assert page.status_code == 200
    assert "No mould of yours" in page.content.decode()


def test_racks_are_free_or_not(helper_client, recipe) -> None:
    place = Place.objects.create(name="Window rack")
    words = asked(helper_client, in_days(250), (recipe, 9)).content.decode()
    assert "Window rack" in words
    assert "free" in words
    make_loaf(recipe).move_set.create(place=place, happened_at=NOW)
    lying = asked(helper_client, in_days(250), (recipe, 9)).context["racks"]
    assert [(rack.place, len(rack.records)) for rack in lying] == [(place, 1)]
    assert Loaf.objects.count() == 1


@pytest.mark.parametrize(
    ("day", "bars", "field"),
    [
        ("", "9", "day"),
        ("2026-02-30", "9", "day"),
        ("2026-03-02", "9", "day"),
        ("2036-01-01", "9", "day"),
        ("2026-12-12", "", "bars_1"),
        ("2026-12-12", "0", "bars_1"),
        ("2026-12-12", "lots", "bars_1"),
        ("2026-12-12", "99999", "bars_1"),
    ],
)
def test_what_cannot_be_meant_is_named_beside_the_field(helper_client, recipe, day, bars, field) -> None:
    page = asked(helper_client, day, (recipe, bars))
    assert page.status_code == 422
    assert list(page.context["form"].errors) == [field]
    assert f'id="id_{field}_error"' in page.content.decode()
    assert page.context["form"]["bars_1"].value() == bars


@pytest.mark.parametrize("rows", [[], [("", 9)], [("999", 9)], [("x", 9)]])
def test_a_recipe_is_needed(helper_client, recipe, rows) -> None:
    page = asked(helper_client, in_days(250), *rows)
    assert page.status_code == 422
    assert list(page.context["form"].errors) == ["recipe_1"]


def test_the_form_comes_with_the_recipe_that_one_came_from(helper_client, recipe) -> None:
    page = helper_client.get(reverse("plan"), {"recipe_1": recipe.pk})
    assert page.status_code == 200
    assert f'<option value="{recipe.pk}" selected' in page.content.decode()
    assert reverse("plan") in helper_client.get(reverse("recipe", args=[recipe.pk])).content.decode()


def test_without_recipes_it_points_to_the_first(helper_client) -> None:
    assert reverse("recipe_new") in helper_client.get(reverse("plan")).content.decode()


def test_queries_do_not_grow_with_the_racks(helper_client, recipe, django_assert_max_num_queries) -> None:
    for number in range(6):
        place = Place.objects.create(name=f"Rack {number}")
        make_loaf(recipe, f"26-{number:03}").move_set.create(place=place, happened_at=NOW)
    asked(helper_client, in_days(250), (recipe, 9))
    with django_assert_max_num_queries(46):
        asked(helper_client, in_days(250), (recipe, 9))
