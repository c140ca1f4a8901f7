"""The curing room without a network, in Chromium against the real server."""

import time
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.browser.bad_network import BadNetwork
from tests.browser.phone import KEPT_PAGES, Phone
from tests.browser.real_server import RealServer, free_port, served

pytestmark = pytest.mark.browser

AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")
CLOCK_A_DAY_AHEAD = """{
  const Real = Date;
  const ahead = 24 * 3600 * 1000;
  globalThis.Date = class extends Real {
    constructor(...told) { if (told.length) super(...told); else super(Real.now() + ahead); }
    static now() { return Real.now() + ahead; }
  };
}"""
NO_STORE = (
    "IDBFactory.prototype.open = () => { throw new DOMException('switched off', 'InvalidStateError'); };"
)
FULL_STORE = "IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); };"


@dataclass
class Room:
    """Everything a test has at hand."""

    browser: Browser
    server: RealServer
    network: BadNetwork
    told: dict[str, Any]

    def phone(self, name: str = "olga", script: str = "") -> Phone:
        return Phone(self.browser, f"http://127.0.0.1:{self.network.port}", self.told["people"][name], script)


@pytest.fixture
def room(chromium: Browser, tmp_path: Path) -> Iterator[Room]:
    server = RealServer(tmp_path / "data", free_port())
    with served(server) as told, BadNetwork(free_port(), server.port) as network:
        yield Room(chromium, server, network, told)


def test_after_one_visit_the_whole_curing_room_works_without_a_network(room: Room) -> None:
    phone = room.phone()
    phone.visit_today()
    room.network.is_down = True
    phone.reopen()
    for path in ("/", "/loaves/", "/outbox/", f"/recipes/{room.told['recipe']}/pour/"):
        phone.open(path)
        assert phone.text("[data-phone=age]").startswith("No network: this page is as of today ")
    curing, in_mould = room.told["curing"], room.told["in_mould"]

    phone.open(f"/loaves/{curing}/weigh/").fill("[name=weight_g]", "136,4")
    phone.keep()
    phone.open(f"/loaves/{in_mould}/firmness/").check("[value=dents]", force=True)
    phone.keep()
    assert "Finger check: Dents" in phone.text(".pending")
    assert "waiting on this phone" in phone.text(".pending")
    assert phone.text("[data-phone=count]") == "2 waiting"
    phone.note(in_mould, "smells of honey")
    phone.open(f"/loaves/{in_mould}/unmould/")
    phone.keep("button[value=firm]")
    phone.open(f"/recipes/{room.told['recipe']}/pour/")
    # Given without the workshop: with a letter of the person's own.
    assert phone.page.input_value("[name=number]") == "26-003a"
    phone.keep("button[name=keep]")
    assert len(phone.stored()) == 5
    assert room.server.rows("select count(*) from curelog_receipt") == [(0,)]

    room.network.is_down = False
    phone.until_all_is_sent()
    assert phone.page.is_hidden("[data-phone=count]")
    assert room.server.rows("select feel, origin from curelog_firmnesscheck") == [("dents", "phone")]
    assert room.server.rows("select note from curelog_note") == [("smells of honey",)]
    assert room.server.rows("select count(*) from curelog_weighing where weight_g = 136.4") == [(1,)]
    assert room.server.rows("select count(*) from curelog_batch where number = '26-003a'") == [(1,)]
    assert room.server.rows("select feel from curelog_unmoulding where origin = 'phone'") == [("firm",)]


def test_a_page_that_was_never_here_says_so_and_a_correction_is_never_given_another_form(room: Room) -> None:
    phone = room.phone()
    phone.visit_today()
    room.network.is_down = True
    phone.open("/how/")
    assert phone.text("h1") == "No network"
    phone.open(f"/loaves/{room.told['curing']}/weigh/?corrects=11111111-1111-4111-8111-111111111111")
    assert phone.text("h1") == "No network"
    phone.open(f"/loaves/{room.told['curing']}/weigh/?bar={room.told['bars'][1]}")
    assert phone.page.is_checked(f"#bar-{room.told['bars'][1]}")
    assert not phone.page.is_checked(f"#bar-{room.told['bars'][0]}")


def test_what_one_person_typed_another_neither_sees_nor_sends(room: Room) -> None:
    phone = room.phone("olga")
    phone.visit_today()
    room.network.is_down = True
    phone.note(room.told["in_mould"], "by Olga")
    room.network.is_down = False
    phone.sign_in(room.told["people"]["henk"])
    phone.open("/outbox/")
    phone.until("() => !document.getElementById('empty').hidden")
    assert phone.page.is_hidden("[data-phone=count]")
    # The pages that were kept for Olga are gone with her.
    phone.until(f"async () => !(await ({KEPT_PAGES})()).includes('/loaves/')")
    phone.note(room.told["in_mould"], "by Henk")
    phone.until_all_is_sent()
    assert room.server.rows("select note from curelog_note") == [("by Henk",)]
    phone.sign_in(room.told["people"]["olga"])
    phone.until_all_is_sent()
    rows = "select note, username from curelog_note join curelog_person on by_id = curelog_person.id order by note"
    assert room.server.rows(rows) == [("by Henk", "henk"), ("by Olga", "olga")]


def test_signing_out_warns_and_forgets_pages_but_never_the_outbox(room: Room) -> None:
    phone = room.phone()
    phone.visit_today()
    room.network.is_down = True
    phone.note(room.told["in_mould"], "still here")
    room.network.fault = lambda method, path: "error_500" if path.startswith("/sync/") else ""
    room.network.is_down = False
    phone.open("/workshop/account/")
    button = "form[action='/sign-out/'] button"
    phone.page.click(button)
    phone.until(
        "() => document.querySelector('form [role=alert]')?.textContent.includes('1 entry is still on this phone')"
    )
    assert "/workshop/account/" in phone.page.url
    phone.keep(button)
    assert "/sign-in/" in phone.page.url
    assert phone.page.evaluate(KEPT_PAGES) == []
    assert len(phone.stored()) == 1


def test_a_clock_that_is_a_day_off_is_asked_about_before_anything_is_told(room: Room) -> None:
    phone = room.phone(script=CLOCK_A_DAY_AHEAD)
    phone.visit_today()
    room.network.is_down = True
    phone.note(room.told["in_mould"], "tomorrow, says the phone")
    room.network.is_down = False
    phone.open("/outbox/")
    phone.until("() => !document.querySelector('[data-phone=clock]').hidden")
    assert "The clock of this phone is 24 hours ahead of the workshop's" in phone.text("[data-phone=clock]")
    assert room.server.rows("select count(*) from curelog_note") == [(0,)]
    phone.page.click("[data-phone=clock] [value=correct]")
    phone.until_all_is_sent()
    age_s = "select abs(strftime('%s', 'now') - strftime('%s', happened_at)) from curelog_note"
    assert room.server.rows(age_s)[0][0] < 120


@pytest.mark.parametrize(
    ("script", "words"), [(NO_STORE, "private window"), (FULL_STORE, "storage of this phone is full")]
)
def test_a_phone_that_keeps_nothing_says_so_and_sends_straight(room: Room, script: str, words: str) -> None:
    phone = room.phone(script=script)
    phone.open(f"/loaves/{room.told['in_mould']}/note/").fill("[name=note]", "straight")
    phone.page.click("button.first")
    phone.until("() => document.querySelector('.say.bad[role=alert]')")
    assert words in phone.text(".say.bad[role=alert]")
    assert phone.page.input_value("[name=note]") == "straight"
    phone.keep(".say.bad[role=alert] button")
    assert room.server.rows("select note, origin from curelog_note") == [("straight", "page")]


def test_what_is_refused_waits_with_its_reason_and_can_be_mended_or_thrown_away(room: Room) -> None:
    phone = room.phone()
    phone.visit_today()
    room.network.is_down = True
    curing = room.told["curing"]
    phone.open(f"/loaves/{curing}/weigh/").fill("[name=weight_g]", "13x")
    phone.page.click("button.first")
    assert "Enter a number." in phone.text("#field-weight_g")
    for weight in ("136", "137"):
        phone.open(f"/loaves/{curing}/weigh/").fill("[name=weight_g]", weight)
        phone.page.click("text=Another time, or a note")
        phone.page.fill("[name=happened_at]", "2099-01-01T12:00")
        phone.keep()
    room.network.is_down = False
    phone.open("/outbox/")
    phone.until("() => document.querySelectorAll('#entries .errors li').length === 2")
    assert "This moment is still to come." in phone.text("#entries")
    assert phone.text("[data-phone=count]") == "2 to mend"
    phone.page.click("#entries a.button >> nth=0")
    phone.until("() => document.querySelector('[name=weight_g]')?.value === '136'")
    assert "This moment is still to come." in phone.text("#field-happened_at")
    phone.page.fill("[name=happened_at]", phone.page.get_attribute("[name=happened_at]", "value"))
    phone.keep()
    phone.open("/outbox/")
    phone.page.click("text=Throw away")
    assert len(phone.stored()) == 1
    phone.page.click("text=tap again")
    phone.until("() => !document.getElementById('empty').hidden")
    assert room.server.rows("select weight_g from curelog_weighing where origin = 'phone'") == [(136.0,)]


def test_an_odd_weight_is_asked_about_on_the_phone_itself(room: Room) -> None:
    phone = room.phone()
    phone.visit_today()
    room.network.is_down = True
    phone.open(f"/loaves/{room.told['curing']}/weigh/").fill("[name=weight_g]", "13.64")
    phone.page.click("button.first")
    phone.until("() => document.querySelector('.errors.asked')")
    assert "decimal point" in phone.text(".errors.asked")
    assert phone.stored() == []
    phone.keep("button.asked")
    assert len(phone.stored()) == 1
    room.network.is_down = False
    phone.until_all_is_sent()
    [(weight_g, questioned)] = room.server.rows(
        "select weight_g, questioned from curelog_weighing where origin = 'phone'"
    )
    assert weight_g == 13.64
    assert "decimal point" in questioned


def test_two_phones_cut_the_same_loaf_and_somebody_decides(room: Room) -> None:
    one, other = room.phone("olga"), room.phone("henk")
    for phone in (one, other):
        phone.visit_today()
    room.network.is_down = True
    for phone, result in ((one, "clean"), (other, "too_soft")):
        phone.open(f"/loaves/{room.told['in_mould']}/cut/").check(f"[value={result}]", force=True)
        phone.keep()
    room.network.is_down = False
    one.until_all_is_sent()
    other.until_all_is_sent()
    page = one.open(f"/loaves/{room.told['in_mould']}/")
    assert "Cut twice." in page.inner_text("main")
    page.click(".say.warn >> text=Withdraw >> nth=1")
    page.fill("[name=reason]", "The first one cut it")
    page.click("button.first")
    page.wait_for_url(f"**/loaves/{room.told['in_mould']}/")
    assert "Cut twice." not in page.inner_text("main")
    assert room.server.rows("select count(*) from curelog_cut where origin = 'phone' and withdrawn = ''") == [
        (2,)
    ]


def test_a_cold_start_without_a_network_takes_less_than_a_second_on_a_slow_phone(room: Room) -> None:
    """Processor slowed four times, the worker stopped: from the tap to the page drawn and its outbox awake. What else
    runs on the machine only adds to it, so the quickest of five tells of the app."""
    phone = room.phone()
    phone.visit_today()
    room.network.is_down = True
    took_ms = []
    for _ in range(5):
        phone.reopen()
        devtools = phone.context.new_cdp_session(phone.page)
        devtools.send("ServiceWorker.enable")
        devtools.send("ServiceWorker.stopAllWorkers")
        devtools.send("Emulation.setCPUThrottlingRate", {"rate": 4})
        phone.open("/")
        phone.until("() => 'ready' in document.documentElement.dataset")
        took_ms.append(
            phone.page.evaluate("""() => Math.max(
            performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? Infinity,
            performance.getEntriesByName("curelog-ready")[0].startTime)""")
        )
    print("cold starts, ms:", [round(ms) for ms in took_ms])
    assert min(took_ms) < 1000


def test_nothing_is_fetched_into_the_store_that_must_not_be_kept(room: Room) -> None:
    phone = room.phone()
    phone.visit_today()
    phone.open("/workshop/people/")
    phone.page.evaluate("async () => { await fetch('/loaves/', { headers: { 'HX-Request': 'true' } }); }")
    time.sleep(0.5)
    kept = phone.page.evaluate(KEPT_PAGES)
    assert "/workshop/people/" not in kept
    partial = "async () => (await (await caches.match('/loaves/')).text()).includes('<!doctype html>')"
    assert phone.page.evaluate(partial)


def test_what_waits_can_be_changed_before_it_goes(room: Room) -> None:
    phone = room.phone()
    phone.visit_today()
    room.network.is_down = True
    phone.note(room.told["in_mould"], "smels of huney")
    phone.open("/outbox/")
    phone.page.click("#entries a.button")
    phone.until("() => document.querySelector('[name=note]')?.value === 'smels of huney'")
    room.network.is_down = False
    phone.page.evaluate("() => { dispatchEvent(new Event('online')); }")
    time.sleep(1)
    assert room.server.rows("select count(*) from curelog_note") == [(0,)]
    phone.page.fill("[name=note]", "smells of honey")
    phone.keep()
    phone.until_all_is_sent()
    assert room.server.rows("select note from curelog_note") == [("smells of honey",)]


def test_chromium_finds_nothing_that_forbids_to_install(room: Room) -> None:
    phone = room.phone()
    phone.visit_today()
    devtools = phone.context.new_cdp_session(phone.page)
    found = devtools.send("Page.getInstallabilityErrors")["installabilityErrors"]
    # Incognito, as every context of a test: nothing can be installed from it, whatever the page is like.
    assert [error["errorId"] for error in found] in ([], ["in-incognito"])


def test_the_screens_of_the_outbox_are_accessible(room: Room) -> None:
    phone = room.phone(script=CLOCK_A_DAY_AHEAD)
    phone.visit_today()
    room.network.is_down = True
    phone.note(room.told["in_mould"], "waits")
    paths = [f"/loaves/{room.told['in_mould']}/", "/outbox/"]
    for path, is_down in ((paths[0], True), (paths[1], True), (paths[1], False)):
        room.network.is_down = is_down
        phone.open(path)
        phone.until("() => !document.querySelector('[data-phone=count]').hidden")
        phone.page.evaluate(AXE)
        found = phone.page.evaluate(
            "async () => (await axe.run()).violations.map((one) => [one.id, one.nodes[0].html])"
        )
        assert found == []


def test_the_first_load_is_small(room: Room) -> None:
    """All that comes over the wire at the first visit of Today, photos aside; the pages kept for later not counted."""
    phone = room.phone()
    devtools = phone.context.new_cdp_session(phone.page)
    devtools.send("Network.enable")
    sizes: dict[str, float] = {}
    devtools.on(
        "Network.loadingFinished",
        lambda event: sizes.update({event["requestId"]: event["encodedDataLength"]}),
    )
    phone.open("/")
    phone.until("() => 'ready' in document.documentElement.dataset")
    print("first load, bytes:", int(sum(sizes.values())), "in", len(sizes), "answers")
    assert 20_000 < sum(sizes.values()) < 150_000
