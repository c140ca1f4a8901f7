"""`start --lan` in Chromium: over HTTPS everything works without a network, over plain HTTP the open page does."""

import base64
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import ARGUMENTS, CHROMIUM
from tests.browser.phone import Phone
from tests.browser.real_server import RealServer
from tests.browser.test_screens import HANGING_OVER, violations
from tests.serving.made import kept_leaf
from tests.started import Started, started

pytestmark = pytest.mark.browser

# To Chromium 127.0.0.1 is as safe as HTTPS; another machine's name is not.
HOST = "shed.local"


class SecurePhone(Phone):
    def sign_in(self, person: dict[str, Any]) -> None:
        self.person = person
        cookie = {"name": "__Host-sessionid", "value": person["session"], "url": self.base, "secure": True}
        self.context.add_cookies([cookie])


@dataclass
class House:
    browser: Browser
    server: Started
    files: RealServer
    told: dict[str, Any]

    def plain(self) -> Phone:
        return Phone(self.browser, f"http://{HOST}:{self.server.port}", self.told["people"]["olga"])

    def secure(self) -> Phone:
        return SecurePhone(
            self.browser, f"https://{HOST}:{self.server.port + 1}", self.told["people"]["olga"]
        )


@pytest.fixture
def house(chromium: Browser, tmp_path: Path) -> Iterator[House]:
    files = RealServer(tmp_path, 0)
    told = files.prepare()
    own = {"CURELOG_HOSTS": HOST, "CURELOG_SECRET_KEY": files.environment["CURELOG_SECRET_KEY"]}
    with started(tmp_path, "--lan", "--host", "127.0.0.1", **own) as server:
        browser = chromium.browser_type.launch(
            executable_path=CHROMIUM, args=[*ARGUMENTS, *trusting(tmp_path)]
        )
        yield House(browser, server, files, told)
        browser.close()


def trusting(data: Path) -> list[str]:
    """As a phone that trusts the authority. Playwright's own way to ignore errors lets no worker register."""
    key = kept_leaf(data).public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    pin = base64.b64encode(hashlib.sha256(key).digest()).decode()
    return [f"--ignore-certificate-errors-spki-list={pin}", f"--host-resolver-rules=MAP {HOST} 127.0.0.1"]


def test_over_https_it_opens_without_a_network(house: House) -> None:
    phone = house.secure()
    phone.visit_today()
    assert phone.page.evaluate("() => isSecureContext")
    assert phone.page.is_hidden("[data-plain]")
    phone.note(house.told["in_mould"], "over HTTPS")
    phone.until_all_is_sent()
    assert house.files.rows("select note, origin from curelog_note") == [("over HTTPS", "phone")]

    assert house.server.interrupt() == 0
    phone.reopen()
    phone.open("/")
    assert phone.text("[data-phone=age]").startswith("No network: this page is as of today ")
    assert phone.page.is_hidden("[data-phone=stay]")
    phone.note(house.told["in_mould"], "in the cellar")
    assert [(entry["act"], entry["state"]) for entry in phone.stored()] == [("note", "waiting")]


def test_over_plain_http_the_round_goes_on_while_the_page_stays_open(house: House) -> None:
    phone = house.plain()
    page = phone.open("/weigh/?which=all")
    assert not page.evaluate("() => isSecureContext || 'serviceWorker' in navigator")
    expect(page.locator("#round")).to_be_visible()
    page.click("text=What this address lacks")
    assert page.get_by_role("link", name="How this phone gets them").get_attribute("href") == "/trust/"
    assert page.is_hidden("[data-phone=stay]")

    phone.context.set_offline(True)
    expect(page.locator("[data-phone=stay]")).to_contain_text("leave this page open")
    assert violations(page) == []
    assert page.evaluate(HANGING_OVER) == 0
    weigh(page, "135")
    expect(page.locator("#summary")).to_be_visible()
    page.click("#summary [data-press=undo]")
    weigh(page, "136")
    expect(page.locator("[data-phone=count]")).to_have_text("1 waiting")
    weighed = "select weight_g from curelog_weighing where origin = 'phone'"
    assert house.files.rows(weighed) == []

    phone.context.set_offline(False)
    expect(page.locator("[data-phone=stay]")).to_be_hidden()
    expect(page.locator("[data-phone=count]")).to_be_hidden(timeout=30_000)
    assert house.files.rows(weighed) == [(136.0,)]


def weigh(page: Page, digits: str) -> None:
    for digit in digits:
        page.click(f".keypad [data-press='{digit}']")
    page.click("[data-press=keep]")


def test_a_phone_is_led_from_the_plain_page_to_the_other_address(house: House) -> None:
    phone = house.plain()
    page = phone.open("/trust/")
    with page.expect_download() as fetched:
        page.click("text=Download curelog.crt")
    assert fetched.value.suggested_filename == "curelog.crt"
    page.click("text=Open the HTTPS address")
    page.wait_for_url(f"https://{HOST}:{house.server.port + 1}/sign-in/**")
    # Signed in at the plain door still: the two do not take each other's cookies away.
    phone.open("/")
    assert phone.text("h1") == "Today"
