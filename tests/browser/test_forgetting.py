"""Who uses the phone next sees none of the pages that were kept for somebody else."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.browser.phone import KEPT_PAGES, Phone
from tests.browser.real_server import RealServer, free_port, served

pytestmark = pytest.mark.browser

OF_A_RELEASE_THAT_WAITS = """async () => {
  const pages = await caches.open("curelog-pages-next");
  await pages.put("/loaves/", new Response("kept by the newer one"));
}"""


@pytest.fixture
def phone(chromium: Browser, tmp_path: Path) -> Iterator[tuple[Phone, dict[str, Any]]]:
    server = RealServer(tmp_path / "data", free_port())
    with served(server) as told:
        phone = Phone(chromium, f"http://127.0.0.1:{server.port}", told["people"]["olga"])
        phone.visit_today()
        yield phone, told["people"]["henk"]
        phone.context.close()


def test_signing_out_forgets_what_a_waiting_release_has_kept_already(
    phone: tuple[Phone, dict[str, Any]],
) -> None:
    olgas, _ = phone
    olgas.open("/workshop/account/")
    olgas.page.evaluate(OF_A_RELEASE_THAT_WAITS)
    olgas.keep("form[action='/sign-out/'] button")
    assert olgas.page.evaluate(KEPT_PAGES) == []


def test_a_page_reloaded_past_its_worker_has_the_worker_forget_all_the_same(
    phone: tuple[Phone, dict[str, Any]],
) -> None:
    olgas, henk = phone
    olgas.sign_in(henk)
    past_the_worker = olgas.context.new_cdp_session(olgas.page)
    past_the_worker.send("Page.reload", {"ignoreCache": True})
    olgas.until(
        "(henk) => document.getElementById('phone')?.dataset.person === henk && !navigator.serviceWorker.controller",
        str(henk["pk"]),
    )
    olgas.until(f"async () => !(await ({KEPT_PAGES})()).includes('/loaves/')")
