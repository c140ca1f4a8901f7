"""Every screen, light and dark, at 360 px: axe-core finds nothing, nothing hangs over the edge, targets are large."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from io import BytesIO
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Browser, Page

from curelog.actions import cure, mould, photo, release
from curelog.actions.place import add_place
from curelog.models import Loaf, Mould, OwnFat, Person, Scale, Weighing
from curelog.serving.authority import kept_authority
from tests import factories
from tests.browser.lot_screens import lot_screens
from tests.browser.office_screens import ANSWERS, office_screens

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")
LONG = "An olive, shea and everything else recipe with a name that nobody would call short"
PLAIN = (
    "today",
    "loaves",
    "pour",
    "recipes",
    "recipe_new",
    "settings",
    "how",
    "own_fats",
    "moulds",
    "scales",
)
PLAIN += ("people", "account", "account_password", "settings_workshop", "mould_new", "settings_label")
PLAIN += ("weigh_round", "racks", "places", "tags", "plan", "doing")
HANGING_OVER = """() => document.documentElement.scrollWidth - document.documentElement.clientWidth"""
# Links inside running text may be small (WCAG 2.2, 2.5.8); everything that acts is for wet thumbs.
SMALL = """() => [...document.querySelectorAll(`button, .button, summary, nav.bar a, .choices label, select,
  input:not([type=hidden]):not([type=radio]):not([type=checkbox])`)]
  .filter(e => e.checkVisibility() && !e.closest('.away') && !e.matches('.away'))
  .filter(e => { const b = e.getBoundingClientRect(); return b.height < 44 || b.width < 44; })
  .map(e => e.outerHTML.slice(0, 120))"""


@pytest.fixture
def screens(monkeypatch: pytest.MonkeyPatch, settings, tmp_path: Path, owner: Person) -> dict[str, str]:
    """The addresses of all screens, over loaves in every stage."""
    settings.PHOTO_DIR, settings.DATA_DIR = tmp_path, tmp_path
    monkeypatch.setattr(factories, "START", datetime.now(UTC) - timedelta(days=60))
    recipe = factories.make_recipe(LONG)
    in_mould = factories.make_loaf(recipe, "26-001", hours=24 * 59.3)
    check = mould.check_firmness(in_mould, factories.told(24 * 59.6), "dents")
    forgotten = factories.make_loaf(recipe, "26-002", hours=24 * 50)
    curing = factories.make_cut_loaf("26-003", hours=24 * 10)
    factories.weigh_course(curing, {3: 134.0, 8: 129.0, 15: 60.0, 22: 124.0})
    failed = cure.check(curing, factories.told(24 * 40, note="Pink in alcohol"), "indicator", "fail")
    bare = factories.make_cut_loaf("26-004", hours=24 * 55, weights_g={})
    sold = sold_loaf("26-005")
    Scale.objects.create(name="Fine", step_g=0.1)
    own = OwnFat.objects.create(name="Neighbour's goose fat", saponification_value=192.0)
    pages = {name: reverse(name) for name in PLAIN}
    for name, loaf in (("mould", in_mould), ("forgotten", forgotten), ("curing", curing), ("bare", bare)):
        pages[name] = reverse("loaf", args=[loaf.pk])
    for act in ("firmness", "gel", "unmould", "cut", "photo", "note"):
        pages[act] = reverse("act", args=[in_mould.pk, act])
    for act in ("weigh", "move", "handling", "check", "finish"):
        pages[act] = reverse("act", args=[curing.pk, act])
    pages["no_faces"] = reverse("faces", args=[curing.pk])
    pages["faces"] = reverse("faces", args=[photographed(sold).pk])
    pages["sold"] = reverse("loaf", args=[sold.pk])
    for act in ("release", "leave"):
        pages[act] = reverse("act", args=[sold.pk, act])
    pages["net_weight"] = f"{reverse('net_weight', args=[sold.pk])}?wanted_g=100"
    pages["no_net_weight"] = reverse("net_weight", args=[bare.pk])
    pages["label"] = reverse("label", args=[sold.pk])
    pages["batch_record"] = reverse("batch_record", args=[sold.batch_id])
    weighing = Weighing.objects.first()
    assert weighing
    pages["correct"] = f"{reverse('act', args=[weighing.loaf_id, 'weigh'])}?corrects={weighing.pk}"
    pages["answer"] = reverse("answer", args=[failed.pk])
    pages["withdraw"] = reverse("withdraw", args=["firmnesscheck", check.pk])
    pages["recipe"] = reverse("recipe", args=[recipe.pk])
    pages["recipe_edit"] = reverse("recipe_edit", args=[recipe.pk])
    pages["recipe_pour"] = reverse("recipe_pour", args=[recipe.pk])
    asked = f"recipe_1={recipe.pk}&bars_1=30&recipe_2={recipe.pk}&bars_2=5"
    pages["planned"] = f"{reverse('plan')}?day={datetime.now(UTC) + timedelta(days=70):%Y-%m-%d}&{asked}"
    pages["own_fat"] = reverse("own_fat", args=[own.pk])
    pages["mould_edit"] = reverse("mould", args=[Mould.objects.first().pk])
    pages |= lot_screens(sold)
    pages |= office_screens(sold, owner)
    # Settled while the server runs: the page of a workshop that was started with --lan.
    settings.LAN_PORT, settings.DATA_DIR = 8001, tmp_path
    kept_authority(tmp_path, [], datetime.now(UTC))
    pages["trust"] = reverse("trust")
    pages["nowhere"] = "/there-is-no-such-page/"
    return pages


def sold_loaf(number: str) -> Loaf:
    """Released early, partly sold, then failed."""
    loaf = factories.make_cut_loaf(number)
    factories.weigh_course(loaf, {3: 134.0, 8: 129.0, 22: 124.0, 40: 122.0})
    promise = release.Promise(
        100.0, "average_eu", datetime.now(UTC).date() + timedelta(days=150), "Two bars."
    )
    counts = release.Counts(9, 1, add_place("Box 3"))
    release.release(loaf, factories.told(24 * 42), counts, promise, early_why="Ordered for a wedding")
    release.leave(loaf, factories.told(24 * 43), "sold", 4, "Saturday market")
    cure.check(loaf, factories.told(24 * 50), "spots", "fail")
    return loaf


def photographed(loaf: Loaf) -> Loaf:
    for day, subject in ((1, "face"), (30, "face"), (30, "spots")):
        jpeg = BytesIO()
        Image.new("RGB", (400, 300), "tan").save(jpeg, "JPEG")
        photo.photograph(loaf, factories.told(24 + 24 * day), photo.take_in(jpeg), subject, loaf.bars.first())
    return loaf


@pytest.fixture(params=["light", "dark"])
def page(
    request: pytest.FixtureRequest, chromium: Browser, owner_client: Client, live_server
) -> Iterator[Page]:
    context = chromium.new_context(
        viewport={"width": 360, "height": 740}, color_scheme=request.param, service_workers="block"
    )
    session = owner_client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    yield context.new_page()
    context.close()


# Dark screens are the light ones in other colours.
OF_COLOURS = {"runOnly": ["color-contrast", "link-in-text-block"]}


def violations(page: Page, only: dict[str, list[str]] | None = None) -> list[str]:
    page.evaluate(AXE)
    found = page.evaluate("(only) => axe.run(only)", only or {})["violations"]
    return [
        f"{v['id']}: {v['nodes'][0]['html'][:160]} {v['nodes'][0]['failureSummary'][:200]}" for v in found
    ]


def wrongs(page: Page) -> list[str]:
    is_dark = page.evaluate("() => matchMedia('(prefers-color-scheme: dark)').matches")
    wrong = violations(page, OF_COLOURS if is_dark else None)
    if (over := page.evaluate(HANGING_OVER)) > 0:
        wrong.append(f"hangs {over} px over the edge")
    return wrong + [f"small target {html}" for html in page.evaluate(SMALL)]


def test_every_screen_is_fit_for_everybody(page: Page, screens: dict[str, str], live_server) -> None:
    wrong = []
    for name, path in screens.items():
        answer = page.goto(live_server.url + path)
        assert answer
        if answer.status >= 400 and name != "nowhere":
            wrong.append(f"{name}: HTTP {answer.status}")
            continue
        wrong += [f"{name}: {words}" for words in wrongs(page)]
    assert not wrong, "\n".join(wrong)


def test_what_a_button_answers_is_fit_too(page: Page, screens: dict[str, str], live_server) -> None:
    wrong = []
    for name, (screen, typed, button) in ANSWERS.items():
        page.goto(live_server.url + screens[screen])
        for field, words in typed.items():
            page.fill(f"[name={field}]", words)
        with page.expect_navigation():
            page.click(button)
        wrong += [f"{name}: {words}" for words in wrongs(page)]
    assert not wrong, "\n".join(wrong)
