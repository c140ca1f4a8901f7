"""A phone in the curing room: one browser context of one person, driven by its screens."""

import time
from typing import Any

from playwright.sync_api import Browser, Error, Page

PATIENCE_S = 15.0
# Straight from the store, past the modules that are to be tested.
IN_STORE = """async (person) => {
  const asked = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  const database = await asked(indexedDB.open(`curelog-${person}`));
  const transaction = database.transaction(["entries", "files"]);
  const entries = await asked(transaction.objectStore("entries").getAll());
  const keys = await asked(transaction.objectStore("files").getAllKeys());
  const files = await asked(transaction.objectStore("files").getAll());
  database.close();
  const hex = async (bytes) => Array.from(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)),
    (byte) => byte.toString(16).padStart(2, "0")).join("");
  const hashes = new Map(await Promise.all(keys.map(async (key, place) => [key, await hex(files[place][0].bytes)])));
  return entries.map(({ order, key, act, state, why }) => ({ key, act, state, why, sha256: hashes.get(order) }));
}"""
KEPT_PAGES = """async () => {
  const names = (await caches.keys()).filter((name) => name.startsWith("curelog-pages-"));
  const kept = await Promise.all(names.map(async (name) => (await caches.open(name)).keys()));
  return kept.flat().map((request) => new URL(request.url).pathname);
}"""

ARE_KEPT = "const kept = await ({})(); return listed.every((url) => kept.includes(url));"


class Phone:
    def __init__(self, browser: Browser, base: str, person: dict[str, Any], script: str = "") -> None:
        self.base, self.person = base, person
        self.context = browser.new_context(viewport={"width": 360, "height": 740}, base_url=base)
        self.sign_in(person)
        if script:
            self.context.add_init_script(script)
        self.page = self.context.new_page()

    def sign_in(self, person: dict[str, Any]) -> None:
        self.person = person
        self.context.add_cookies([{"name": "sessionid", "value": person["session"], "url": self.base}])

    def open(self, path: str) -> Page:
        self.page.goto(path)
        return self.page

    def until(self, script: str, argument: Any = None, seconds: float = PATIENCE_S) -> Any:
        """Asked again and again from outside: the pages' own policy forbids code made from strings."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                if found := self.page.evaluate(script, argument):
                    return found
            except Error as error:
                # Asked in the middle of going to another page.
                if "navigation" not in str(error) and "context" not in str(error):
                    raise
            time.sleep(0.05)
        self.page.screenshot(path="/tmp/o/never.png", full_page=True)
        raise AssertionError(f"never: {script}")

    def visit_today(self) -> None:
        """The one visit with a network, long enough for the worker to keep the pages of the curing room."""
        self.open("/")
        self.until("() => Boolean(navigator.serviceWorker.controller)")
        listed = self.page.evaluate(
            "async () => (await (await fetch('/offline/pages.json')).json()).pages.map((p) => p.url)"
        )
        self.until(f"async (listed) => {{ {ARE_KEPT.format(KEPT_PAGES)} }}", listed, 60)

    def keep(self, button: str = "button.first") -> None:
        """Taps the form's button and waits for the page that follows."""
        self.page.evaluate("() => { window.isBefore = true; }")
        self.page.click(button)
        self.until("() => !window.isBefore && document.readyState === 'complete'")

    def note(self, loaf: str, words: str) -> None:
        self.open(f"/loaves/{loaf}/note/").fill("[name=note]", words)
        self.keep()

    def stored(self) -> list[dict[str, Any]]:
        entries: list[dict[str, Any]] = self.page.evaluate(IN_STORE, self.person["pk"])
        return entries

    def until_all_is_sent(self, seconds: float = 60) -> None:
        self.open("/outbox/")
        end = time.monotonic() + seconds
        while self.stored():
            assert time.monotonic() < end, self.stored()
            time.sleep(0.3)

    def text(self, part: str) -> str:
        return self.page.inner_text(part)

    def reopen(self) -> None:
        """The tab is closed, at once, and opened again."""
        self.page.close()
        self.page = self.context.new_page()
