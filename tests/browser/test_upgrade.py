"""A new release while entries of the old one wait on the phone: they arrive, and no module of the old one survives."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.browser.bad_network import BadNetwork
from tests.browser.phone import Phone
from tests.browser.real_server import ROOT, RealServer, free_port

pytestmark = pytest.mark.browser

MARK = '\ndocument.documentElement.dataset.release = "next";\n'
LOADED = "() => performance.getEntriesByType('resource').map((entry) => new URL(entry.name).pathname)"


@pytest.fixture
def server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[RealServer, dict[str, Any]]]:
    monkeypatch.setenv("NEXT_RELEASE_STATIC", str(tmp_path / "next-static"))
    server = RealServer(tmp_path / "data", free_port())
    told = server.prepare()
    server.start()
    yield server, told
    server.kill()


def upgrade(server: RealServer, static: Path) -> None:
    """Other files under other names, other forms, and the old files are gone from the server."""
    server.kill()
    shutil.copytree(ROOT / "static", static)
    with (static / "js" / "app.js").open("a") as module:
        module.write(MARK)
    with (static / "js" / "keys.js").open("a") as module:
        module.write("\nexport const release = 2;\n")
    server.settings, server.application = (
        "tests.browser.next_release",
        "tests.browser.next_application:application",
    )
    server.run("collect")
    server.start()


def test_entries_of_the_old_release_arrive_and_the_new_one_comes_when_asked(
    chromium: Browser, server: tuple[RealServer, dict[str, Any]], tmp_path: Path
) -> None:
    real, told = server
    with BadNetwork(free_port(), real.port) as network:
        phone = Phone(chromium, f"http://127.0.0.1:{network.port}", told["people"]["olga"])
        phone.visit_today()
        old_caches = phone.page.evaluate("() => caches.keys()")
        network.is_down = True
        phone.note(told["in_mould"], "written in the old release")
        page = phone.open(f"/loaves/{told['curing']}/check/")
        page.check("[value=titration]", force=True)
        page.check("[value=pass]", force=True)
        page.fill("[name=value]", "0.02 %")
        phone.keep()
        assert len(phone.stored()) == 2

        upgrade(real, tmp_path / "next-static")
        # Still without a network: the pages of the old release, with its modules, are all there.
        phone.open("/")
        assert phone.page.evaluate("() => document.documentElement.dataset.release") is None
        phone.until("() => 'ready' in document.documentElement.dataset")

        network.is_down = False
        phone.until_all_is_sent()
        assert real.rows("select note from curelog_note") == [("written in the old release",)]
        assert real.rows("select kind, value, note from curelog_check") == [
            ("titration", "", "value: 0.02 %")
        ]

        phone.page.evaluate(
            "async () => { await (await navigator.serviceWorker.getRegistration()).update(); }"
        )
        phone.until("() => !document.querySelector('[data-phone=release]').hidden", seconds=60)
        phone.page.evaluate("() => { window.isBefore = true; }")
        assert phone.page.evaluate("() => caches.keys()") != old_caches
        phone.page.click("[data-phone=release] button")
        phone.until("() => !window.isBefore && 'ready' in document.documentElement.dataset")
        phone.until("async () => (await caches.keys()).every((name) => !name.includes('photos'))")
        assert not set(phone.page.evaluate("() => caches.keys()")) & set(old_caches)

        # Everything that a page needs is of the new release, with and without a network.
        kept = set(
            phone.page.evaluate("""async () => {
            const names = (await caches.keys()).filter((name) => name.startsWith('curelog-static-'));
            const kept = await Promise.all(names.map(async (name) => (await caches.open(name)).keys()));
            return kept.flat().map((request) => new URL(request.url).pathname); }""")
        )
        for network.is_down in (False, True):
            for path in ("/", f"/loaves/{told['in_mould']}/note/"):
                phone.open(path)
                phone.until("() => document.documentElement.dataset.release === 'next'")
                loaded = {url for url in phone.page.evaluate(LOADED) if url.startswith("/static/")}
                assert loaded <= kept
        page = phone.open(f"/loaves/{told['curing']}/check/")
        assert page.locator("[name=outcome]").count() == 3
        assert page.locator("[name=value]").count() == 0
