"""The whole job at 360 x 740: sign up, recipe, pour, feel, unmould, cut with a photo, weigh over weeks, check, ready.

It runs twice, with JavaScript and without.
"""

import io
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from curelog.actions.people import invite
from curelog.models import Loaf, Photo, Weighing

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

START = datetime(2026, 1, 12, 8, 0, tzinfo=UTC)
# Invented: a bar that loses about an eighth of its weight, on a scale of 1 g.
COURSE_G = {4: 134, 10: 129, 20: 125, 35: 122}


@pytest.fixture(params=[True, False], ids=["with JavaScript", "without JavaScript"])
def page(request: pytest.FixtureRequest, chromium: Browser) -> Iterator[Page]:
    context = chromium.new_context(
        viewport={"width": 360, "height": 740}, java_script_enabled=request.param, service_workers="block"
    )
    yield context.new_page()
    context.close()


class Clock:
    """Of the workshop and of the phone: else the phone would ask about the difference."""

    def __init__(self, traveller: time_machine.Traveller, page: Page) -> None:
        self.traveller, self.page = traveller, page

    def move_to(self, moment: datetime) -> None:
        self.traveller.move_to(moment)
        self.page.context.clock.set_fixed_time(moment)


@pytest.fixture
def clock(page: Page) -> Iterator[Clock]:
    with time_machine.travel(START, tick=True) as traveller:
        moves = Clock(traveller, page)
        moves.move_to(START)
        yield moves


def sign_up(page: Page, address: str) -> None:
    _, token = invite("owner", None)
    page.goto(f"{address}/join/{token}/")
    page.get_by_label("Name of the workshop").fill("Zoutkamer")
    page.get_by_label("Your name").fill("Ilse Vermaak")
    page.get_by_label("Name to sign in with").fill("ilse")
    page.get_by_label("Password", exact=True).fill("four words in a row")
    page.get_by_label("The same password again").fill("four words in a row")
    page.get_by_role("button", name="Open the workshop").click()
    expect(page.get_by_role("link", name="Write the first recipe")).to_be_visible()


def write_recipe(page: Page) -> None:
    page.get_by_role("link", name="Write the first recipe").click()
    page.get_by_label("Name", exact=True).fill("Winter lard")
    page.locator("[name=fat_1]").select_option("lard")
    page.locator("[name=amount_1]").fill("700")
    page.locator("[name=fat_2]").select_option("coconut")
    page.locator("[name=amount_2]").fill("300")
    page.get_by_role("button", name="Keep").last.click()
    expect(page.get_by_role("link", name="Pour now")).to_be_visible()


def pour(page: Page) -> None:
    page.get_by_role("link", name="Pour now").click()
    expect(page.get_by_text("goggles")).to_be_visible()
    page.locator("[name=fat_lot_1]").fill("L-2201")
    page.get_by_label("Warm oven").check()
    page.get_by_role("button", name="Keep pour").click()
    expect(page.get_by_role("heading", name="Cut window")).to_be_visible()


def act(page: Page, loaf_url: str, name: str) -> None:
    page.goto(loaf_url)
    page.get_by_role("link", name=name, exact=True).first.click()


def picture() -> dict[str, object]:
    out = io.BytesIO()
    Image.new("RGB", (900, 700), "#c9a77a").save(out, "JPEG")
    return {"name": "face.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


def cut(page: Page) -> None:
    page.get_by_label("Clean").check()
    page.get_by_label("Number of bars").fill("10")
    for label, mm in (("Bar thickness", "25"), ("Bar length", "85"), ("Bar width", "65")):
        page.get_by_label(label).fill(mm)
    page.get_by_label("Bar in row 1").fill("2")
    page.get_by_label("Weight in row 1").fill("140")
    page.get_by_role("button", name="Keep cut").click()
    expect(page.get_by_text("Now the cut faces.")).to_be_visible()
    page.get_by_label("Pictures").set_input_files([picture()])
    page.get_by_role("button", name="Keep photos").click()
    expect(page.get_by_role("heading", name="Photos")).to_be_visible()


def weigh(page: Page, loaf_url: str, weight_g: float) -> None:
    act(page, loaf_url, "Weigh")
    page.get_by_label("Weight", exact=True).fill(f"{weight_g:g}")
    page.get_by_role("button", name="Keep weight").click()
    expect(page.get_by_text("Drying curve")).to_be_attached()


def test_from_pour_to_ready(page: Page, live_server, clock: Clock) -> None:
    sign_up(page, live_server.url)
    write_recipe(page)
    pour(page)
    loaf = Loaf.objects.get()
    loaf_url = f"{live_server.url}/loaves/{loaf.pk}/"
    assert loaf.batch.fats.first().lot == "L-2201"

    clock.move_to(START + timedelta(hours=14))
    act(page, loaf_url, "Finger check")
    page.get_by_label("Firm").check()
    page.get_by_role("button", name="Keep finger check").click()
    # On a busy machine the form itself says for a moment what it keeps.
    expect(page).to_have_url(loaf_url)
    expect(page.get_by_text("1 finger check")).to_be_visible()

    clock.move_to(START + timedelta(hours=15))
    act(page, loaf_url, "Unmould")
    page.get_by_role("button", name="Firm").click()
    expect(page.get_by_text("Kept: Unmoulded, firm.")).to_be_visible()
    act(page, loaf_url, "Cut")
    cut(page)
    assert Photo.objects.count() == 1

    for day, weight_g in COURSE_G.items():
        clock.move_to(START + timedelta(days=day, hours=15))
        weigh(page, loaf_url, weight_g)
    expect(page.get_by_text("Weight settled: likely")).to_contain_text("safe by")

    act(page, loaf_url, "Check")
    page.get_by_label("Look: ash, sweat, warp").check()
    page.get_by_label("Pass").check()
    page.get_by_role("button", name="Keep check").click()
    expect(page.get_by_text("Kept: Look: ash, sweat, warp: pass.")).to_be_visible()

    clock.move_to(START + timedelta(days=110))
    weigh(page, loaf_url, 119)
    expect(page.get_by_text("Ready: old enough")).to_be_visible()
    assert Weighing.objects.count() == 6
