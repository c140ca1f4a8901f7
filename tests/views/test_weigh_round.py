"""The weigh round's page: whose turn it is, in which order, and what each bar should weigh."""

import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from curelog.actions import cure
from curelog.actions.place import add_place, move
from curelog.domain.lifecycle import Need
from curelog.models import Loaf, Scale, Workshop
from curelog.models.outlook import outlook
from curelog.models.record import with_facts
from curelog.models.weighing import weighing_rows
from tests.factories import START, make_cut_loaf, make_loaf, make_recipe, told, weigh_course

pytestmark = pytest.mark.django_db

NOW = START + timedelta(days=40)


@pytest.fixture(autouse=True)
def forty_days_on() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def wanting() -> Loaf:
    """Weighed for the last time three weeks ago."""
    loaf = make_cut_loaf("26-001")
    weigh_course(loaf, {3: 134.0, 8: 129.0, 15: 126.0})
    return loaf


@pytest.fixture
def fresh() -> Loaf:
    """Cut yesterday: nothing to weigh yet."""
    return make_cut_loaf("26-002", hours=24 * 37.5)


def shown(html: str) -> list[tuple[str, str]]:
    """Batch and bar of every line that is not hidden, in order."""
    sections = re.findall(
        r'<section class="of-loaf" data-loaf="[^"]*" data-batch="([^"]*)"([^>]*)>(.*?)</section>', html, re.S
    )
    return [
        (batch, number)
        for batch, told_of, part in sections
        if not told_of.endswith(" hidden")
        for number in re.findall(r'data-number="(\d+)"', part)
    ]


def look(client: Client, query: str = "") -> list[tuple[str, str]]:
    return shown(client.get(f"/weigh/{query}").content.decode())


def test_todays_round_holds_the_bars_of_loaves_that_want_weighing(
    owner_client: Client, wanting, fresh
) -> None:
    assert look(owner_client) == [("26-001", "2"), ("26-001", "5")]
    assert look(owner_client, "?which=all") == [
        ("26-001", "2"),
        ("26-001", "5"),
        ("26-002", "2"),
        ("26-002", "5"),
    ]
    assert "Weigh round: 2 bars" in owner_client.get("/").content.decode()


def test_all_bars_travel_with_the_page_so_that_it_serves_offline_for_every_choice(
    owner_client: Client, wanting, fresh
) -> None:
    html = owner_client.get("/weigh/").content.decode()
    assert html.count("data-bar=") == 4
    assert html.count(" data-due") == 1


def test_in_rack_order_and_by_place(owner_client: Client, wanting, fresh) -> None:
    third = make_cut_loaf("26-003", hours=24 * 30)
    top, window = add_place("Rack 1 top"), add_place("Window shelf")
    move(third, told(24 * 32), window)
    move(fresh, told(24 * 39), top)
    batches = [batch for batch, number in look(owner_client, "?which=all") if number == "2"]
    assert batches == ["26-002", "26-003", "26-001"]
    assert look(owner_client, f"?place={window.pk}") == [("26-003", "2"), ("26-003", "5")]
    assert look(owner_client, f"?loaf={wanting.pk}") == [("26-001", "2"), ("26-001", "5")]
    assert look(owner_client, "?place=nonsense") == look(owner_client)


def test_what_is_not_cut_has_no_bars_or_is_gone_is_left_out(owner_client: Client, wanting) -> None:
    recipe = make_recipe()
    make_loaf(recipe, "26-010", hours=24 * 39)
    make_cut_loaf("26-011", hours=24 * 30, weights_g={})
    gone = make_cut_loaf("26-012", hours=24 * 10)
    cure.finish(gone, told(24 * 39), "gone")
    assert {batch for batch, _ in look(owner_client, "?which=all")} == {"26-001"}


def test_each_bar_tells_what_the_weigh_form_would(owner_client: Client, wanting) -> None:
    html = owner_client.get("/weigh/").content.decode()
    seen = outlook(with_facts(Loaf.objects.all()).get(), Workshop.current(), NOW)
    for row in weighing_rows(seen):
        line = re.search(rf'<a [^>]*data-bar="{row.bar.pk}"[^>]*>', html)
        assert line
        told_of = dict(re.findall(r'data-([a-z0-9-]+)="([\d.]*)"', line[0]))
        assert float(told_of["last-g"]) == row.last.weight_g
        # The day is told to the forecast in half days.
        assert float(told_of["low-g"]) == pytest.approx(row.expected.p05, abs=0.3)
        assert float(told_of["high-g"]) == pytest.approx(row.expected.p95, abs=0.3)
        assert float(told_of["least-g"]) == pytest.approx(row.least_g, abs=0.01)


def test_bars_weighed_today_are_marked_and_not_counted(owner_client: Client, wanting) -> None:
    cure.weigh(wanting, told(24 * 39.9), [wanting.bars.get(number=2)], 124.0)
    html = owner_client.get("/weigh/?which=all").content.decode()
    assert re.search(r'data-number="2"[^>]*data-weighed-today', html)
    assert not re.search(r'data-number="5"[^>]*data-weighed-today', html)


def test_a_name_is_told_as_text(owner_client: Client) -> None:
    make_cut_loaf("26-001", recipe=make_recipe('Oat "and" <milk>'))
    html = owner_client.get("/weigh/?which=all").content.decode()
    assert "<milk>" not in html
    assert "Oat &quot;and&quot; &lt;milk&gt;" in html


def test_nothing_due_is_said(owner_client: Client, fresh) -> None:
    html = owner_client.get("/weigh/").content.decode()
    assert "No bar wants weighing today." in html
    assert "Weigh round:" not in owner_client.get("/").content.decode()


@pytest.mark.parametrize("page", ["/weigh/", "/racks/", "/loaves/", "/"])
def test_queries_do_not_grow_with_the_loaves(owner_client: Client, page: str) -> None:
    place = add_place("Rack")
    recipe = make_recipe()

    def add(first: int, count: int) -> None:
        for number in range(first, first + count):
            loaf = make_cut_loaf(f"26-{number:03d}", hours=number, recipe=recipe)
            weigh_course(loaf, {3: 134.0, 8: 129.0})
            move(loaf, told(number + 30), place)

    def queries() -> int:
        owner_client.get(page)
        with CaptureQueriesContext(connection) as seen:
            owner_client.get(page)
        return len(seen)

    add(1, 2)
    few = queries()
    add(10, 6)
    assert queries() == few


def test_a_weight_sent_by_a_scale_keeps_how_finely_it_was_sent(owner_client: Client, wanting) -> None:
    html = owner_client.get(f"/loaves/{wanting.pk}/weigh/").content.decode()
    key = re.search(r'name="key" value="([^"]+)"', html)
    assert key
    data = {
        "key": key[1],
        "happened_at": "2026-02-21T09:00",
        "weight_g": "125",
        "sent_step_g": "5",
        "bars": wanting.bars.first().pk,
    }
    assert owner_client.post(f"/loaves/{wanting.pk}/weigh/", data).status_code == 302
    assert wanting.weighing_set.get(weight_g=125).step_g == 5.0


def test_bars_that_the_plan_wants_together_are_led_to_together(owner_client: Client) -> None:
    """A coarse scale cannot show one bar's last grams: the plan asks for the sum."""
    weights_g = {2: 140.0, 5: 139.0, 8: 141.0}
    loaf = make_cut_loaf("26-001", weights_g=weights_g)
    coarse = Scale.objects.create(name="Kitchen", step_g=5.0)
    first_hours = (loaf.batch.poured_at - START).total_seconds() / 3600 + 24
    for day, weight_g in ((5, 130.0), (10, 125.0), (20, 125.0)):
        for number in weights_g:
            bars = [loaf.bars.get(number=number)]
            cure.weigh(loaf, told(first_hours + 24 * day), bars, weight_g, coarse)
    seen = outlook(with_facts(Loaf.objects.all()).get(), Workshop.current(), NOW)
    assert seen.summary.next_weighing.bar_ids == ("2", "5", "8")
    url = f"/weigh/?loaf={loaf.pk}&amp;bars=2,5,8"
    assert (
        f'<a href="{url}">Put them on the scale</a>'
        in owner_client.get(f"/loaves/{loaf.pk}/").content.decode()
    )
    assert Need.WEIGH in seen.standing.needs
    assert f'href="{url}"' in owner_client.get("/").content.decode()
    assert 'data-together="2 5 8"' in owner_client.get("/weigh/").content.decode()


def test_one_bar_by_itself_is_not_led_to_the_others(owner_client: Client, wanting) -> None:
    assert "Put them on the scale" not in owner_client.get(f"/loaves/{wanting.pk}/").content.decode()
    assert "data-together" not in owner_client.get("/weigh/").content.decode()
    assert f'href="/loaves/{wanting.pk}/weigh/"' in owner_client.get("/").content.decode()
