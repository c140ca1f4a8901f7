"""Cut faces in a browser: several pictures in a row, each with its own place; two compared by slider and fingers."""

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from curelog.actions.photo import photograph, take_in
from curelog.demo_pictures import cut_face
from curelog.models import Loaf, Photo
from tests.browser.test_screens import HANGING_OVER, SMALL, violations
from tests.factories import make_cut_loaf, told

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KEPT_SIZES = """async (person) => {
  const database = await new Promise((resolve) => {
    const opening = indexedDB.open(`curelog-${person}`);
    opening.onsuccess = () => resolve(opening.result);
  });
  const files = await new Promise((resolve) => {
    const asking = database.transaction("files").objectStore("files").getAll();
    asking.onsuccess = () => resolve(asking.result.flat());
  });
  const images = await Promise.all(files.map(({ bytes, type }) => createImageBitmap(new Blob([bytes], { type }))));
  return images.map(({ width, height }) => [width, height]);
}"""
FULL_AFTER_ONE = """() => {
  const { add } = IDBObjectStore.prototype;
  let count = 0;
  window.makeRoom = () => { IDBObjectStore.prototype.add = add; };
  IDBObjectStore.prototype.add = function (...told) {
    if (this.name === "entries" && (count += 1) > 1) throw new DOMException("full", "QuotaExceededError");
    return add.apply(this, told);
  };
}"""


@pytest.fixture
def loaf(workshop: object, settings, tmp_path: Path) -> Loaf:
    settings.PHOTO_DIR = tmp_path
    return make_cut_loaf()


@pytest.fixture
def opened(chromium: Browser, owner_client: Client, live_server) -> Iterator:
    contexts = []

    def open_page(path: str, **options: object) -> Page:
        context = chromium.new_context(
            viewport={"width": 360, "height": 740}, service_workers="block", has_touch=True, **options
        )
        session = owner_client.cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
        contexts.append(context)
        page = context.new_page()
        page.goto(live_server.url + path)
        return page

    yield open_page
    for context in contexts:
        context.close()


def jpeg(image: Image.Image) -> io.BytesIO:
    out = io.BytesIO()
    image.save(out, "JPEG")
    return out


def until_photos(page: Page, count: int) -> None:
    """The outbox sends while the page stays open."""
    for _ in range(100):
        if Photo.objects.count() >= count:
            return
        page.wait_for_timeout(200)


def two_faces(loaf: Loaf) -> str:
    """The 1st is red, the 2nd blue, of the same bar. Gives the address of their comparison."""
    bar = loaf.bars.get(number=2)
    for day, colour in ((1, "red"), (30, "blue")):
        photo = take_in(jpeg(Image.new("RGB", (400, 300), colour)))
        photograph(loaf, told(24 + 24 * day), photo, "face", bar)
    return reverse("faces", args=[loaf.pk])


def blue_share(page: Page) -> float:
    """How much of the first picture's frame is blue, as painted."""
    shot = Image.open(io.BytesIO(page.locator(".side-1 .view").screenshot())).convert("RGB")
    blue = sum(count for count, (red, _, blue) in shot.getcolors(shot.width * shot.height) if blue > red)
    return blue / (shot.width * shot.height)


def test_the_slider_works_by_keyboard_and_changes_what_is_seen(loaf: Loaf, opened) -> None:
    page = opened(two_faces(loaf))
    expect(page.get_by_role("slider")).to_be_hidden()
    page.get_by_role("radio", name="Beside").focus()
    page.keyboard.press("ArrowRight")
    slider = page.get_by_role("slider", name="How much of the 2nd")
    expect(slider).to_be_visible()
    page.keyboard.press("Tab")
    expect(slider).to_be_focused()
    shares = []
    for key in ("Home", "End", "PageDown"):
        page.keyboard.press(key)
        shares.append((int(slider.input_value()) / 100, blue_share(page)))
    assert [told for told, _ in shares[:2]] == [0, 1]
    assert 0 < shares[2][0] < 1
    for told_share, seen_share in shares:
        # A pixel column of 328, and the rounded corners.
        assert seen_share == pytest.approx(told_share, abs=0.02)
    expect(slider).to_have_attribute("aria-valuetext", f"{slider.input_value()} % of the 2nd")
    page.get_by_role("radio", name="Blend").check()
    page.keyboard.press("Tab")
    page.keyboard.press("Home")
    assert blue_share(page) < 0.02
    page.keyboard.press("End")
    assert blue_share(page) > 0.98


def touch(page: Page, selector: str, *course: list[tuple[float, float]]) -> None:
    """Fingers by their places in the frame, through the browser's own gestures: it may take them for scrolling."""
    box = page.locator(selector).bounding_box()
    assert box
    devtools = page.context.new_cdp_session(page)
    kinds = ["touchStart"] + ["touchMove"] * (len(course) - 1) + ["touchEnd"]
    for kind, fingers in zip(kinds, [*course, []], strict=True):
        points = [
            {"id": n, "x": box["x"] + x * box["width"], "y": box["y"] + y * box["height"]}
            for n, (x, y) in enumerate(fingers)
        ]
        devtools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


def test_looking_closer_by_fingers_and_by_keys(loaf: Loaf, opened) -> None:
    page = opened(two_faces(loaf))
    zoom = page.locator(".zoom output")
    expect(zoom).to_have_text("1×")
    view = ".side-1 .view"
    touch(page, view, [(0.4, 0.5), (0.6, 0.5)], [(0.35, 0.5), (0.65, 0.5)], [(0.3, 0.5), (0.7, 0.5)])
    expect(zoom).to_have_text("2×")
    assert "/full/" in page.locator(".side-2 img").get_attribute("src")
    page.get_by_role("button", name="Larger").press("Enter")
    expect(zoom).to_have_text("3×")
    before = page.locator(f"{view} img").bounding_box()
    page.locator(view).press("ArrowRight")
    after = page.locator(f"{view} img").bounding_box()
    assert after["x"] < before["x"]
    touch(page, view, [(0.3, 0.5)], [(0.5, 0.5)], [(0.7, 0.5)])
    drawn = page.locator(f"{view} img").bounding_box()
    assert drawn["x"] > after["x"]
    page.get_by_role("button", name="Whole").press("Enter")
    expect(zoom).to_have_text("1×")


def test_without_javascript_they_stand_one_below_the_other(loaf: Loaf, opened) -> None:
    page = opened(two_faces(loaf), java_script_enabled=False)
    first, second = (page.locator(f".side-{n} img").bounding_box() for n in (1, 2))
    assert first["width"] == second["width"] > 300
    assert second["y"] >= first["y"] + first["height"]
    expect(page.get_by_role("slider")).to_be_hidden()
    sources = [page.locator(f".side-{n} img").get_attribute("src") for n in (1, 2)]
    page.get_by_role("link", name="2nd 14 Jan").click()
    assert [page.locator(f".side-{n} img").get_attribute("src") for n in (2, 1)] == sources


@pytest.mark.parametrize("way", ["Beside", "Wipe", "Blend"])
def test_each_way_is_fit_for_everybody(loaf: Loaf, opened, way: str) -> None:
    address = two_faces(loaf)
    for day in range(10, 15):
        photograph(loaf, told(24 * day), take_in(jpeg(Image.new("RGB", (30, 40), "tan"))), "face")
    page = opened(address)
    page.get_by_role("radio", name=way).check()
    assert not violations(page)
    assert page.evaluate(HANGING_OVER) <= 0
    assert not page.evaluate(SMALL)


def test_pictures_in_a_row_each_with_its_own_place(loaf: Loaf, owner, opened, tmp_path: Path) -> None:
    page = opened(reverse("act", args=[loaf.pk, "photo"]))
    expect(page.locator("html[data-ready]")).to_be_attached()
    page.route("**/sync/**", lambda route: route.abort())
    large = jpeg(cut_face(3).resize((3000, 2250))).getvalue()
    for name in ("one.jpg", "two.jpg", "three.jpg"):
        page.set_input_files("[name=photos]", [{"name": name, "mimeType": "image/jpeg", "buffer": large}])
    page.get_by_label("Picture 1: what does it show?").select_option("Top")
    page.get_by_label("Picture 2: bar").select_option("bar 5")
    page.get_by_label("Picture 3: bar").select_option("bar 2")
    expect(page.locator("#field-subject")).to_be_hidden()
    assert not violations(page)
    assert page.evaluate(HANGING_OVER) <= 0
    assert not page.evaluate(SMALL)
    page.get_by_role("button", name="Keep photos").click()
    expect(page.get_by_text("3 pictures are kept on this phone")).to_be_visible(timeout=20_000)
    assert page.evaluate(KEPT_SIZES, owner.pk) == [[2048, 1536]] * 3
    assert not Photo.objects.exists()
    page.unroute("**/sync/**")
    page.reload()
    until_photos(page, 3)
    kept = Photo.objects.order_by("received_at").values_list("subject", "bar__number")
    assert list(kept) == [("top", None), ("face", 5), ("face", 2)]


@pytest.mark.parametrize("is_sent_straight", [False, True])
def test_when_the_phone_is_full_halfway_nothing_is_lost_or_kept_twice(
    loaf: Loaf, opened, is_sent_straight: bool
) -> None:
    page = opened(reverse("act", args=[loaf.pk, "photo"]))
    expect(page.locator("html[data-ready]")).to_be_attached()
    tan, grey, white = (jpeg(Image.new("RGB", (40, 30), c)).getvalue() for c in ("tan", "grey", "white"))
    files = [{"name": "a.jpg", "mimeType": "image/jpeg", "buffer": each} for each in (tan, grey, white)]
    page.set_input_files("[name=photos]", files)
    page.get_by_label("Picture 2: what does it show?").select_option("Top")
    page.evaluate(FULL_AFTER_ONE)
    page.get_by_role("button", name="Keep photos").click()
    expect(page.locator(".pictures li")).to_have_count(2)
    straight = page.get_by_role("button", name="Send it straight")
    expect(straight).to_be_visible()
    if is_sent_straight:
        straight.click()
        expect(page.get_by_role("radio", name="Top")).to_be_checked()
        page.get_by_label("Spots").check()
        page.get_by_role("button", name="Send all pictures as it says below").click()
    else:
        page.evaluate("() => window.makeRoom()")
        page.get_by_role("button", name="Keep photos").click()
    expect(page.get_by_role("heading", name="Photos")).to_be_visible()
    until_photos(page, 3)
    kept = sorted(Photo.objects.values_list("subject", flat=True))
    assert kept == (["face", "spots", "spots"] if is_sent_straight else ["face", "face", "top"])
    assert len(set(Photo.objects.values_list("sha256_received", flat=True))) == 3


def test_a_picture_taken_by_mistake_is_left_out(loaf: Loaf, opened) -> None:
    page = opened(reverse("act", args=[loaf.pk, "photo"]))
    expect(page.locator("html[data-ready]")).to_be_attached()
    small = jpeg(Image.new("RGB", (40, 30), "tan")).getvalue()
    for name in ("one.jpg", "two.jpg"):
        page.set_input_files("[name=photos]", [{"name": name, "mimeType": "image/jpeg", "buffer": small}])
    page.get_by_role("button", name="Remove picture 1").click()
    page.get_by_label("Picture 1: bar").select_option("bar 2")
    page.get_by_role("button", name="Keep photos").click()
    expect(page.get_by_role("heading", name="Photos")).to_be_visible()
    assert list(Photo.objects.values_list("subject", "bar__number")) == [("face", 2)]
