"""Chromium from the system. Without it the tests are left out and named at the end of the run; in CI that fails."""

import os
import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

CHROMIUM = shutil.which("chromium") or shutil.which("google-chrome") or shutil.which("chromium-browser")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    if not CHROMIUM:
        if os.environ.get("CI"):
            pytest.fail("Chromium is missing, and CI must not leave the browser tests out.")
        pytest.skip("no Chromium here")
    # Playwright's sync API runs an event loop in this thread, which Django takes for a mistake.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()
