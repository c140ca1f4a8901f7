"""200 facts on a day when everything goes wrong: afterwards exactly these 200 are in the database."""

import io
import random
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser

from tests.browser.bad_network import BadNetwork
from tests.browser.phone import Phone
from tests.browser.real_server import RealServer, free_port

pytestmark = pytest.mark.browser

FAULTS = (
    "drop_before",
    "drop_after",
    "half_answer",
    "half_request",
    "error_500",
    "error_500_after",
    "too_many",
    "login_page",
    "login_redirect",
)
FAULTY_SHARE = 0.5
# At these entries on their way the server is killed: each time after the commit, before the answer.
KILLED_AT = (20, 60, 110)
NOTES, WEIGHTS, CHECKS, PICTURES = 120, 50, 20, 10


class Fate:
    """Draws what happens to each request for /sync/, the same every time. Pages come through."""

    def __init__(self, server: RealServer, seed: int) -> None:
        self.server, self.rng = server, random.Random(seed)
        self.entries = self.kills = self.receipts = 0
        self.is_over = False

    def __call__(self, method: str, path: str) -> str:
        if self.is_over or not path.startswith("/sync/"):
            return ""
        self.entries += method == "POST"
        if method == "POST" and self.entries in KILLED_AT:
            [(self.receipts,)] = self.server.rows("select count(*) from curelog_receipt")
            return "killed_after_commit"
        return self.rng.choice(FAULTS) if self.rng.random() < FAULTY_SHARE else ""

    def kill(self) -> None:
        """Waits until the fact is in the database, then cuts the power, then starts again."""
        until = time.monotonic() + 5
        while time.monotonic() < until:
            [(count,)] = self.server.rows("select count(*) from curelog_receipt")
            if count > self.receipts:
                self.kills += 1
                break
            time.sleep(0.001)
        self.server.kill()
        self.server.start()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[tuple[RealServer, dict[str, Any]]]:
    server = RealServer(tmp_path, free_port())
    told = server.prepare()
    server.start()
    yield server, told
    server.kill()


def picture(number: int) -> dict[str, Any]:
    """Larger than what is kept, and each another one."""
    out = io.BytesIO()
    Image.radial_gradient("L").resize((2600, 1900)).point(lambda grey: (grey + 20 * number) % 256).save(
        out, "JPEG"
    )
    return {"name": f"face-{number}.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


def tasks(rng: random.Random) -> list[tuple[str, int]]:
    wanted = [("note", n) for n in range(NOTES)] + [("weigh", n) for n in range(WEIGHTS)]
    wanted += [("firmness", n) for n in range(CHECKS)] + [("photo", n) for n in range(PICTURES)]
    rng.shuffle(wanted)
    return wanted


def test_two_hundred_facts(chromium: Browser, server: tuple[RealServer, dict[str, Any]]) -> None:
    real, told = server
    rng = random.Random(2026)
    with BadNetwork(free_port(), real.port) as network:
        phone = Phone(chromium, f"http://127.0.0.1:{network.port}", told["people"]["olga"])
        phone.visit_today()
        fate = Fate(real, seed=7)
        network.fault, network.on_commit = fate, fate.kill
        hashes: dict[str, str] = {}
        for place, (act, number) in enumerate(tasks(rng)):
            # A quarter of the day there is no network at all. Pictures are taken then: so what the phone keeps is seen.
            network.is_down = act == "photo" or place % 40 >= 30
            is_closed = place % 25 == 24
            typed(phone, told, act, number, is_closed)
            if act == "photo":
                hashes |= {one["key"]: one["sha256"] for one in phone.stored() if one["act"] == "photo"}
        network.is_down, fate.is_over = False, True
        phone.until_all_is_sent(120)
        print("requests by fate:", dict(sorted(network.counted.items())), "kills after commit:", fate.kills)
    assert fate.kills >= 2
    assert set(network.counted) >= set(FAULTS)
    assert_exactly(real, hashes)


def typed(phone: Phone, told: dict[str, Any], act: str, number: int, is_closed: bool) -> None:
    loaf = told["curing"] if act == "weigh" else told["in_mould"]
    page = phone.open(f"/loaves/{loaf}/{act}/")
    if act == "note":
        page.fill("[name=note]", f"fact {number:03d}")
    elif act == "weigh":
        page.fill("[name=weight_g]", f"{136 + number / 100:.2f}")
    elif act == "firmness":
        page.check("[value=dents]", force=True)
        page.click("text=Another time, or a note")
        page.fill("[name=note]", f"check {number:03d}")
    else:
        page.set_input_files("[name=photos]", [picture(number)])
    if is_closed:
        # As soon as the phone says that it is kept, the tab is gone.
        page.evaluate("() => { window.isBefore = true; }")
        page.click("button.first")
        phone.until("() => document.body.innerText.includes('Kept') || !window.isBefore")
        phone.reopen()
        phone.open("/")
    else:
        phone.keep()


def assert_exactly(real: RealServer, hashes: dict[str, str]) -> None:
    notes = real.rows("select note from curelog_note where origin = 'phone'")
    assert sorted(note for (note,) in notes) == [f"fact {number:03d}" for number in range(NOTES)]
    weights = real.rows("select weight_g from curelog_weighing where origin = 'phone'")
    assert sorted(weight for (weight,) in weights) == [pytest.approx(136 + n / 100) for n in range(WEIGHTS)]
    checks = real.rows("select note from curelog_firmnesscheck where origin = 'phone'")
    assert sorted(note for (note,) in checks) == [f"check {number:03d}" for number in range(CHECKS)]
    received = real.rows("select id, sha256_received from curelog_photo")
    assert len(hashes) == PICTURES
    assert dict(received) == {key.replace("-", ""): sha256 for key, sha256 in hashes.items()}
    assert real.rows("select count(*) from curelog_receipt") == [(NOTES + WEIGHTS + CHECKS + PICTURES,)]
