"""What leaves the workshop on paper: the batch record as a PDF, and sheets of labels whose figures are high enough."""

import io
import re
import shutil
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Browser, Page

from curelog.actions import cure, mould, release
from curelog.actions.photo import photograph, take_in
from curelog.actions.place import add_place
from curelog.actions.recipes import note_assessor
from curelog.actions.withdraw import withdraw
from curelog.models import BatchAdditive, Complaint, Loaf, Person, RecipeAdditive, Workshop
from tests import factories

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WORDS = {
    "lots": ("Tarn End", "saponification value 186.4", "4.40 EUR"),
    "declared": ("3.1 % of the finished soap", "Linalool, Limonene, Coumarin", "Dr Q, report 114"),
    "complaints": ("It itches Open.", "Asked for the bar back"),
    "what went in": ("Olive oil", "550.0 g", "L-77", "Lavender 40/42", "1436.0 g"),
    "pour and gel": ("Warm oven", "full", "5 % as weighed"),
    "cut": ("Cut into 10 bars, clean", "85 mm"),
    "checks": ("0.032 % NaOH", "Flask was dirty", "It may go on"),
    "curve and weights": ("Bar 2: 119.6 g", "Weight in g of the mean test bar"),
    "release": ("9 bars", "107 g until", "Box 3", "Saturday market"),
    "corrections": ("Corrected later: Bar 5: 193 g", "Correction: Bar 5: 118.6 g", "Withdrawn (wrong loaf)"),
    "who": ("Olga",),
}


@pytest.fixture
def loaf(monkeypatch: pytest.MonkeyPatch, settings, tmp_path: Path, owner: Person) -> Loaf:
    """A batch with a whole life."""
    settings.PHOTO_DIR = tmp_path / "photos"
    monkeypatch.setattr(factories, "START", datetime.now(UTC) - timedelta(days=90))
    told = factories.told
    Workshop.objects.update_or_create(
        pk=1,
        defaults={
            "label_address": "Zoutkamer,\nTrijntje Wapstra\nDijkweg 3, 9001 AB Grou",
            "label_cautions": "Keep out of the eyes. Rinse with plenty of water.",
            "best_before_months": 24,
        },
    )
    recipe = factories.make_recipe("Olive and shea", {"olive": 550.0, "coconut": 280.0, "shea": 170.0})
    loaf = factories.make_cut_loaf("26-003", recipe=recipe)
    oil = factories.make_lot(
        "L-77", "olive", "Olive oil", supplier="Tarn End", saponification_value=186.4, price=40.0
    )
    loaf.batch.fats.filter(facts__key="olive").update(lot="L-77", from_lot=oil)
    scent = {"name": "Lavender 40/42", "role": "fragrance"}
    BatchAdditive.objects.create(batch=loaf.batch, weighed_g=30, **scent)
    RecipeAdditive.objects.create(
        recipe=recipe,
        share_of_fats=0.03,
        limit_share=0.031,
        allergens="Linalool, Limonene, Coumarin",
        **scent,
    )
    note_assessor(recipe, "Dr Q, report 114")
    itch = Complaint.objects.create(at=told(24 * 87).at, batch=loaf.batch, what="It itches", who="Ann")
    itch.steps.create(at=told(24 * 88).at, done="Asked for the bar back")
    mould.see_gel(loaf, told(20), "full")
    factories.weigh_course(loaf, {3: 134.0, 8: 129.0, 15: 126.0, 22: 124.0, 40: 121.4, 60: 120.2, 80: 119.6})
    factories.weigh_course(loaf, {8: 128.2, 22: 123.0, 60: 119.2}, bar_number=5)
    slip = cure.weigh(loaf, told(24 * 80, owner), [loaf.bars.get(number=5)], 193.0)
    mended = factories.told(24 * 80, owner)
    cure.weigh(
        loaf,
        type(mended)(mended.key, mended.at, owner, corrects=slip.pk),
        [loaf.bars.get(number=5)],
        118.6,
    )
    withdraw(cure.note(loaf, told(24 * 50, owner, "Smells of nothing.")), told(24 * 51, owner), "wrong loaf")
    failed = cure.check(loaf, told(24 * 30), "titration", "fail", "0.2 % NaOH")
    cure.answer(failed, told(24 * 31, owner, "Flask was dirty."), lets_go=True)
    cure.check(loaf, told(24 * 31), "titration", "pass", "0.032 % NaOH, free caustic")
    for colour in ("tan", "wheat", "peru"):
        jpeg = io.BytesIO()
        Image.new("RGB", (1200, 900), colour).save(jpeg, "JPEG")
        photograph(loaf, told(30), take_in(jpeg), "face")
    until = (datetime.now(UTC) + timedelta(days=150)).date()
    promise = release.Promise(107.0, "average_eu", until, "107 g borne.")
    release.release(loaf, told(24 * 85, owner), release.Counts(9, 1, add_place("Box 3")), promise)
    release.leave(loaf, told(24 * 86, owner), "sold", 4, "Saturday market")
    return loaf


@pytest.fixture(params=["light", "dark"])
def page(
    request: pytest.FixtureRequest, chromium: Browser, owner_client: Client, live_server
) -> Iterator[Page]:
    context = chromium.new_context(color_scheme=request.param, service_workers="block")
    session = owner_client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    yield context.new_page()
    context.close()


def page_boxes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each page in mm, read from the file itself."""
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    return [(float(wide) / 72 * 25.4, float(high) / 72 * 25.4) for wide, high in boxes]


def text_of(pdf: bytes, folder: Path) -> str:
    (folder / "record.pdf").write_bytes(pdf)
    subprocess.run(["pdftotext", "-layout", "record.pdf"], cwd=folder, check=True)
    return " ".join((folder / "record.txt").read_text(encoding="utf-8").split())


def test_the_batch_record_is_a_few_pages_with_everything(
    page: Page, loaf: Loaf, live_server, tmp_path: Path
) -> None:
    page.goto(live_server.url + reverse("batch_record", args=[loaf.batch_id]))
    pdf = page.pdf(prefer_css_page_size=True, format="A4")
    assert 3 <= len(page_boxes(pdf)) <= 6
    page.emulate_media(media="print")
    # On paper the ink is dark on white, whatever the screen's scheme.
    assert (
        page.evaluate("getComputedStyle(document.querySelector('.curve .strong')).fill") == "rgb(33, 31, 26)"
    )
    assert not page.locator("nav.bar").is_visible()
    shown = " ".join(page.locator("main").inner_text().split())
    if shutil.which("pdftotext"):
        shown = text_of(pdf, tmp_path)
    missing = [f"{part}: {words}" for part, told in WORDS.items() for words in told if words not in shown]
    assert not missing
    assert all(page.evaluate("[...document.images].map(i => i.complete && i.naturalWidth > 0)"))


@pytest.mark.parametrize(("paper", "wide", "high"), [("a4", 210, 297), ("letter", 215.9, 279.4)])
@pytest.mark.parametrize(("grid", "count"), [("2x3", 6), ("2x4", 8), ("2x5", 10), ("3x5", 15)])
def test_labels_fill_one_page_and_no_word_is_cut_off(
    page: Page, loaf: Loaf, live_server, paper: str, wide: float, high: float, grid: str, count: int
) -> None:
    address = reverse("label", args=[loaf.pk])
    page.goto(f"{live_server.url}{address}?paper={paper}&grid={grid}&names=finished")
    (box,) = page_boxes(page.pdf(prefer_css_page_size=True))
    assert box == pytest.approx((wide, high), abs=0.5)
    page.emulate_media(media="print")
    assert page.locator(".sheet .label").count() == count
    cut_off = "[...document.querySelectorAll('.sheet .label')].map(l => l.scrollHeight - l.clientHeight)"
    assert max(page.evaluate(cut_off)) <= 1


def test_figures_are_as_high_as_the_rule_asks(page: Page, loaf: Loaf, live_server) -> None:
    """Measured in the font that is really used, for each height of the table."""
    page.goto(live_server.url + reverse("label", args=[loaf.pk]))
    measure = """(height) => {
      const weight = document.querySelector('.preview .label-weight');
      weight.className = `label-weight fig-${height}`;
      const style = getComputedStyle(weight), pen = document.createElement('canvas').getContext('2d');
      pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
      return Math.min(...[...'0123456789'].map(d => pen.measureText(d).actualBoundingBoxAscent)) / 96 * 25.4;
    }"""
    assert "fig-3" in (page.locator(".preview .label-weight").get_attribute("class") or "")
    for height_mm in (2, 3, 4, 6):
        assert page.evaluate(measure, height_mm) >= height_mm
