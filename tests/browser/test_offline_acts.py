"""What is asked, answered and looked at in the curing room without a network, in Chromium against the real server."""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser

from tests.browser.bad_network import BadNetwork
from tests.browser.phone import Phone
from tests.browser.real_server import RealServer, free_port, served

pytestmark = pytest.mark.browser

Scene = tuple[Phone, RealServer, BadNetwork, dict[str, Any]]
SHOWN = "() => [...document.querySelectorAll('.view img')].map((one) => [one.getAttribute('src'), one.naturalWidth])"
ARE_SEEN = """(urls) => {
  const pictures = [...document.querySelectorAll(".view img")];
  return pictures.map((one) => one.getAttribute("src")).join() === urls.join() && pictures.every((one) => one.complete);
}"""


@pytest.fixture
def scene(chromium: Browser, tmp_path: Path) -> Iterator[Scene]:
    server = RealServer(tmp_path, free_port())
    with served(server) as told, BadNetwork(free_port(), server.port) as network:
        phone = Phone(chromium, f"http://127.0.0.1:{network.port}", told["people"]["olga"])
        yield phone, server, network, told


def test_bars_that_do_not_sum_up_are_asked_about_on_the_phone(scene: Scene) -> None:
    phone, server, network, told = scene
    phone.visit_today()
    network.is_down = True
    page = phone.open(f"/loaves/{told['in_mould']}/cut/")
    page.check("[value=clean]", force=True)
    page.fill("[name=weight_1]", "20")
    page.click("button.first")
    phone.until("() => document.querySelector('.errors.asked')")
    assert " are missing of " in phone.text("#field-all_bars_g .errors")
    assert phone.stored() == []
    phone.keep("button.asked")
    assert [entry["act"] for entry in phone.stored()] == ["cut"]
    network.is_down = False
    phone.until_all_is_sent()
    assert server.rows("select count(*) from curelog_cut where origin = 'phone'") == [(1,)]


def test_a_lye_heavy_pot_is_asked_about_on_the_phone(scene: Scene) -> None:
    phone, _, network, told = scene
    phone.visit_today()
    network.is_down = True
    page = phone.open(f"/recipes/{told['recipe']}/pour/")
    alkali_g = float(page.input_value("[name=naoh_g]"))
    page.fill("[name=naoh_g]", f"{1.15 * alkali_g:.1f}")
    page.click("button[name=keep]")
    phone.until("() => document.querySelector('.errors.asked')")
    assert "do not use it, do not sell it" in phone.text("#field-naoh_g .errors")
    assert phone.stored() == []
    page.fill("[name=naoh_g]", f"{alkali_g}")
    phone.keep("button[name=keep]")
    assert [entry["act"] for entry in phone.stored()] == ["pour"]


def test_what_only_the_workshop_works_out_is_said_in_its_place(scene: Scene) -> None:
    phone, _, network, told = scene
    phone.visit_today()
    network.is_down = True
    page = phone.open(f"/recipes/{told['recipe']}/pour/")
    page.fill("[name=fat_1]", "699")
    page.click("text=One more mould")
    phone.until("() => document.querySelectorAll('.not-anew').length === 2")
    page.click("text=One more mould")
    page.wait_for_timeout(300)
    assert "This needs the network" in phone.text("#moulds .not-anew")
    assert page.locator(".not-anew").count() == 2
    assert page.input_value("[name=fat_1]") == "699"


def test_a_failed_check_is_answered_in_flight_mode(scene: Scene) -> None:
    phone, server, network, told = scene
    page = phone.open(f"/loaves/{told['curing']}/check/")
    page.check("[name=kind][value=zap]", force=True)
    page.check("[name=outcome][value=fail]", force=True)
    phone.keep()
    phone.visit_today()
    network.is_down = True
    page = phone.open(f"/loaves/{told['curing']}/")
    page.click("text=Answer it")
    page.fill("[name=note]", "zapped again: nothing")
    page.check("[value=go]", force=True)
    phone.keep()
    assert "Answer a failed check: zapped again: nothing, It may go on" in phone.text(".pending")
    network.is_down = False
    phone.until_all_is_sent()
    assert server.rows("select lets_go, note, origin from curelog_answer") == [
        (1, "zapped again: nothing", "phone")
    ]


def test_correcting_and_taking_back_say_that_they_need_the_network(scene: Scene) -> None:
    phone, _, network, told = scene
    phone.visit_today()
    network.is_down = True
    for link in ("Correct", "Withdraw"):
        phone.open(f"/loaves/{told['curing']}/").click(f".small-act >> text={link} >> nth=0")
        phone.page.wait_for_load_state()
        assert phone.text("h1") == "No network"
        assert "It needs the network to correct or take back" in phone.text("main")


def photographed(phone: Phone, loaf: str, count: int) -> None:
    for grey in range(count):
        out = io.BytesIO()
        Image.new("RGB", (120, 90), (90 + 40 * grey,) * 3).save(out, "JPEG")
        page = phone.open(f"/loaves/{loaf}/photo/")
        page.set_input_files(
            "[name=photos]", {"name": "face.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}
        )
        phone.keep()
    phone.until_all_is_sent()


def test_faces_are_compared_in_flight_mode_as_far_as_they_were_seen(scene: Scene) -> None:
    phone, server, network, told = scene
    loaf = told["curing"]
    photographed(phone, loaf, 3)
    keys = [key for (key,) in server.rows("select id from curelog_photo order by happened_at")]
    first, second, third = (f"{key[:8]}-{key[8:12]}-{key[12:16]}-{key[16:20]}-{key[20:]}" for key in keys)
    phone.visit_today()
    # As on a phone that has the page, but never saw the pictures.
    phone.page.evaluate("async () => { await caches.delete('curelog-photos'); }")
    network.is_down = True
    phone.open(f"/loaves/{loaf}/faces/")
    phone.until(ARE_SEEN, [f"/photos/{first}/screen/", f"/photos/{third}/screen/"])
    # The picture that says that it is not on this phone.
    assert [width for _, width in phone.page.evaluate(SHOWN)] == [240, 240]
    network.is_down = False
    phone.open(f"/loaves/{loaf}/faces/?a={first}&b={second}")
    phone.until(ARE_SEEN, [f"/photos/{first}/screen/", f"/photos/{second}/screen/"])

    network.is_down = True
    # Asked for the other way round than it was ever shown.
    phone.open(f"/loaves/{loaf}/faces/?a={second}&b={first}")
    phone.until(ARE_SEEN, [f"/photos/{second}/screen/", f"/photos/{first}/screen/"])
    assert [width for _, width in phone.page.evaluate(SHOWN)] == [120, 120]
    # Looked at closely, without the largest size on the phone: the one that is there stays.
    phone.page.click("[data-zoom=in]")
    phone.page.wait_for_timeout(300)
    assert [width for _, width in phone.page.evaluate(SHOWN)] == [120, 120]
    kept = "async () => (await (await caches.open('curelog-photos')).keys()).map((one) => new URL(one.url).pathname)"
    assert not [url for url in phone.page.evaluate(kept) if "/full/" in url]
