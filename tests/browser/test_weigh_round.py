"""The weigh round in a browser: taps counted, by keyboard alone, large text, a slow phone, no network."""

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, expect

from curelog.actions.place import add_place, move
from curelog.models import Scale, Weighing
from curelog.models.tags import code_of
from tests import factories
from tests.browser.bad_network import BadNetwork
from tests.browser.phone import Phone
from tests.browser.real_server import RealServer, free_port, served
from tests.browser.test_screens import HANGING_OVER, SMALL, violations

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Invented: three bars of each of four loaves that dry alike.
FIRST_G = {2: 140.0, 5: 139.0, 8: 141.0}
COURSE_G = {3: 134.0, 8: 129.0, 15: 126.0}


@pytest.fixture
def loaves(monkeypatch: pytest.MonkeyPatch) -> list:
    monkeypatch.setattr(factories, "START", datetime.now(UTC) - timedelta(days=29))
    recipe = factories.make_recipe()
    made = []
    for n in range(1, 5):
        loaf = factories.make_cut_loaf(f"26-{n:03d}", hours=n, weights_g=FIRST_G, recipe=recipe)
        for number, first_g in FIRST_G.items():
            factories.weigh_course(loaf, {day: g + first_g - 140 for day, g in COURSE_G.items()}, number)
        made.append(loaf)
    top, window = add_place("Rack 1 top"), add_place("Window shelf")
    for loaf, place in zip(made, (window, window, top, top), strict=True):
        move(loaf, factories.told(48), place)
    Scale.objects.create(name="Kitchen", step_g=1.0)
    return made


@pytest.fixture
def opened(chromium: Browser, owner_client: Client, live_server) -> Iterator:
    contexts = []

    def open_page(**options: object) -> Page:
        context = chromium.new_context(
            **{"viewport": {"width": 360, "height": 740}, "service_workers": "block", "has_touch": True}
            | options
        )
        session = owner_client.cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
        contexts.append(context)
        return context.new_page()

    yield open_page
    for context in contexts:
        context.close()


@pytest.fixture
def today(opened, live_server, loaves) -> Page:
    page = opened()
    page.goto(live_server.url + "/weigh/")
    expect(page.locator("#round")).to_be_visible()
    return page


COUNT_TAPS = (
    "() => { window.taps = 0; addEventListener('click', (e) => { window.taps += e.isTrusted; }, true); }"
)
# From the finger on Keep to the words "Kept: ...", which stand there only when the entry is on the disk.
TAKE_TIMES = """() => {
  window.took = [];
  let from = 0;
  const note = (event) => { if (event.target.closest?.(".keep") || event.key === "Enter") from = event.timeStamp; };
  for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, note, true);
  new MutationObserver(() => { if (from) window.took.push(performance.now() - from); from = 0; })
    .observe(document.querySelector('[data-part="told"]'), { childList: true, characterData: true, subtree: true });
}"""


EXPECTED = """() => {
  const told = (name) => document.querySelector(`[data-part=${name}]`).textContent;
  const bar = document.querySelector(`[data-batch="${told("batch")}"] [data-number="${told("number")}"]`);
  return [Number(bar.dataset.lowG), Number(bar.dataset.highG)];
}"""


def likely(page: Page) -> str:
    """What a whole-gram scale would show for the bar that the screen asks for: the middle of its expected range."""
    low, high = page.evaluate(EXPECTED)
    return f"{(low + high) / 2:.0f}"


def until_next(page: Page, before: str) -> None:
    end = time.monotonic() + 10
    while page.is_visible("#round") and title(page) == before:
        assert time.monotonic() < end
        time.sleep(0.02)


def tap(page: Page, press: str) -> None:
    page.tap(f'#main [data-press="{press}"]:visible')


def weigh(page: Page, text: str) -> None:
    for digit in text:
        tap(page, digit)
    tap(page, "keep")


def title(page: Page) -> str:
    return " ".join(page.inner_text("#bar-title").split())


def until_sent(count: int) -> None:
    end = time.monotonic() + 30
    while Weighing.objects.filter(origin="phone").count() < count:
        assert time.monotonic() < end
        time.sleep(0.1)


def test_twelve_bars_need_twelve_times_digits_and_one_tap(today: Page) -> None:
    today.evaluate(COUNT_TAPS)
    digits, order = 0, []
    while today.is_visible("#round"):
        order.append(title(today))
        text = likely(today)
        weigh(today, text)
        digits += len(text)
        until_next(today, order[-1])
    assert len(order) == 12
    assert today.evaluate("window.taps") == digits + 12
    # Along the racks: what was put on the first rack comes first.
    assert [words.split()[-1] for words in order[::3]] == ["26-003", "26-004", "26-001", "26-002"]
    assert "12 weighed, 0 skipped." in today.inner_text("#summary")
    assert today.locator("#summary tbody tr").count() == 12
    today.locator("#summary").get_by_role("link", name="Today").tap()
    until_sent(12)
    assert set(Weighing.objects.filter(origin="phone").values_list("questioned", flat=True)) == {""}


def test_from_key_to_kept_on_a_phone_four_times_slower(today: Page, record_property) -> None:
    session = today.context.new_cdp_session(today)
    session.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    today.evaluate(TAKE_TIMES)
    for count in range(1, 12):
        weigh(today, likely(today))
        today.wait_for_function("(count) => window.took.length === count", arg=count)
    took_ms = sorted(today.evaluate("window.took"))
    told = f"key to kept, 4 times slowed: median {took_ms[5]:.0f} ms, worst {took_ms[-1]:.0f} ms of {len(took_ms)}"
    record_property("took", told)
    print(told)
    assert took_ms[5] < 100, took_ms


def test_the_whole_round_by_keyboard(today: Page) -> None:
    first = title(today)
    today.keyboard.type("999")
    for _ in range(3):
        today.keyboard.press("Backspace")
    today.keyboard.type(likely(today) + ",0")
    assert today.input_value("#reading").endswith(".0")
    today.keyboard.press("Enter")
    expect(today.locator("[data-part=told]")).to_contain_text("Kept: Bar 2")
    today.keyboard.press("ArrowRight")
    expect(today.locator("[data-part=number]")).to_have_text("8")
    today.keyboard.press("ArrowLeft")
    expect(today.locator("[data-part=number]")).to_have_text("5")
    while today.is_visible("#round"):
        before = title(today)
        today.keyboard.type(likely(today))
        today.keyboard.press("Enter")
        until_next(today, before)
    assert today.evaluate("document.activeElement.id") == "summary-title"
    today.keyboard.press("Tab")
    assert today.evaluate("document.activeElement.textContent") == "Undo the last"
    today.keyboard.press("Enter")
    expect(today.locator("#round")).to_be_visible()
    assert first != title(today)


STAND_IN_SENSES = """
  window.buzzes = []; window.tones = 0;
  Object.defineProperty(navigator, "vibrate", { value: (pattern) => window.buzzes.push(pattern) });
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...told) { window.tones += 1; return start.apply(this, told); };
"""


def test_a_weight_that_wants_a_second_look_is_asked_about_and_kept_on_the_makers_word(
    opened, live_server, loaves
) -> None:
    page = opened()
    page.add_init_script(STAND_IN_SENSES)
    page.goto(live_server.url + "/weigh/")
    weigh(page, "990")
    expect(page.get_by_role("alert").first).to_contain_text("more than last time")
    assert page.evaluate("[window.buzzes.length, window.tones]") == [1, 2]
    expect(page.get_by_role("button", name="Keep all the same")).to_be_visible()
    assert "Kept" not in page.inner_text("[data-part=told]")
    # Another digit is another weight: it is looked at anew.
    tap(page, "back")
    expect(page.get_by_role("button", name="Keep", exact=True)).to_be_visible()
    tap(page, "0")
    tap(page, "keep")
    tap(page, "keep")
    expect(page.locator("[data-part=told]")).to_contain_text("990 g")
    tap(page, "skip")
    weigh(page, likely(page))
    until_sent(1)
    assert "more than last time" in Weighing.objects.get(origin="phone").questioned


def test_undo_takes_back_what_waits_and_withdraws_what_was_sent(today: Page) -> None:
    weigh(today, likely(today))
    expect(today.locator("[data-part=number]")).to_have_text("5")
    tap(today, "undo")
    expect(today.locator("[data-part=number]")).to_have_text("2")
    weigh(today, likely(today))
    expect(today.locator("[data-part=number]")).to_have_text("5")
    weigh(today, likely(today))
    until_sent(1)
    expect(today.locator("[data-part=number]")).to_have_text("8")
    tap(today, "undo")
    expect(today.locator("[data-part=number]")).to_have_text("5")
    tap(today, "undo")
    today.wait_for_url("**/withdraw/")
    assert str(Weighing.objects.get(origin="phone").pk) in today.url
    today.go_back()
    # The round goes on where it was.
    expect(today.locator("[data-part=number]")).to_have_text("2")
    assert Weighing.objects.filter(origin="phone").count() == 1


def test_several_bars_on_the_scale_are_one_weight(today: Page) -> None:
    tap(today, "several")
    today.locator("#together label", has_text="8").tap()
    expect(today.locator("[data-part=number]")).to_have_text("2 + 5")
    today.locator("#together label", has_text="8").tap()
    expect(today.locator("[data-part=number]")).to_have_text("2 + 5 + 8")
    expect(today.locator("[data-part=expected]")).to_contain_text("together expected 36")
    weigh(today, "369")
    expect(today.locator("[data-part=batch]")).to_have_text("26-004")
    tap(today, "skip")
    weigh(today, likely(today))
    until_sent(1)
    together = Weighing.objects.get(origin="phone")
    assert [bar.number for bar in together.bars.all()] == [2, 5, 8]
    assert together.questioned == ""


def test_bars_that_the_plan_wants_together_lie_on_the_scale_when_it_leads_here(
    today: Page, live_server, loaves
) -> None:
    today.goto(f"{live_server.url}/weigh/?loaf={loaves[1].pk}&bars=2,8")
    expect(today.locator("[data-part=number]")).to_have_text("2 + 8")
    expect(today.locator("#together")).to_be_visible()
    # All keys stay in sight.
    assert today.locator("[data-press='0']").evaluate("(key) => key.getBoundingClientRect().bottom") <= 740
    weigh(today, "245")
    expect(today.locator("[data-part=number]")).to_have_text("5")
    tap(today, "skip")
    until_sent(1)
    assert [bar.number for bar in Weighing.objects.get(origin="phone").bars.all()] == [2, 8]


def test_not_this_bar_and_back_to_the_one_that_was_left(today: Page) -> None:
    tap(today, "other")
    dialog = today.get_by_role("dialog")
    dialog.get_by_role("button", name="Bar 8 of 26-004").tap()
    assert title(today) == "bar 8 of 26-004"
    weigh(today, likely(today))
    expect(today.locator("#bar-title")).to_contain_text("26-003")


def test_a_swipe_skips(today: Page) -> None:
    box = today.locator("[data-part=card]").bounding_box()
    assert box
    x, y = box["x"] + box["width"] * 0.8, box["y"] + 20
    today.mouse.move(x, y)
    today.mouse.down()
    today.mouse.move(x - 150, y, steps=5)
    today.mouse.up()
    assert title(today) == "bar 5 of 26-003"


def test_the_scale_is_chosen_once(today: Page) -> None:
    today.select_option("#scale", label="Kitchen")
    today.reload()
    expect(today.locator("#scale option:checked")).to_have_text("Kitchen")
    weigh(today, likely(today))
    weigh(today, likely(today))
    until_sent(1)
    assert Weighing.objects.filter(origin="phone").first().scale_name == "Kitchen"


def test_what_was_weighed_is_not_asked_for_again(today: Page, live_server) -> None:
    weigh(today, likely(today))
    expect(today.locator("[data-part=number]")).to_have_text("5")
    today.goto(live_server.url + "/weigh/?which=all")
    assert title(today) == "bar 5 of 26-003"
    assert today.inner_text("[data-part=count]") == "1 of 11"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("text_size", ["100%", "200%"])
def test_fit_for_everybody_in_all_its_states(
    opened, live_server, loaves, scheme: str, text_size: str
) -> None:
    page = opened(color_scheme=scheme)
    page.goto(live_server.url + "/weigh/")
    page.evaluate("(size) => { document.documentElement.style.fontSize = size; }", text_size)

    def look(state: str) -> list[str]:
        assert page.evaluate(HANGING_OVER) == 0, state
        return [f"{state}: {words}" for words in violations(page) + page.evaluate(SMALL)]

    wrong = look("begin")
    weigh(page, "9")
    wrong += look("asked")
    tap(page, "several")
    wrong += look("several")
    tap(page, "other")
    wrong += look("other")
    page.keyboard.press("Escape")
    tap(page, "several")
    tap(page, "back")
    weigh(page, likely(page))
    while page.is_visible("#round"):
        tap(page, "skip")
    wrong += look("summary")
    page.goto(live_server.url + "/weigh/?place=11111111-1111-4111-8111-111111111111")
    wrong += look("nothing")
    assert not wrong, "\n".join(wrong)


def test_the_keypad_has_names_and_no_system_keyboard_comes(today: Page) -> None:
    names = {
        button.inner_text() or button.get_attribute("aria-label")
        for button in today.get_by_role("group", name="Keypad").get_by_role("button").all()
    }
    assert {"Skip", "Keep", "0", "9"} <= names
    for name in ("Delete the last digit", "Decimal point", "Undo the last weight"):
        expect(today.get_by_role("button", name=name)).to_be_attached()
    reading = today.get_by_label("Weight", exact=True)
    assert (reading.get_attribute("inputmode"), reading.get_attribute("readonly")) == ("none", "")


def test_without_javascript_each_bar_leads_to_its_form(opened, live_server, loaves) -> None:
    page = opened(java_script_enabled=False)
    page.goto(live_server.url + "/weigh/")
    assert page.locator("#bars a:visible").count() == 12
    page.locator("#bars a").first.click()
    page.get_by_label("Weight", exact=True).fill("124")
    page.get_by_role("button", name="Keep weight").click()
    assert Weighing.objects.latest("received_at").weight_g == 124


STAND_IN_BLUETOOTH = """
  const measured = new EventTarget();
  measured.startNotifications = async () => measured;
  const told = [];
  const service = { getCharacteristic: async (id) => (told.push(id), measured) };
  const server = { getPrimaryService: async (id) => (told.push(id), service) };
  const device = Object.assign(new EventTarget(), { name: "Bench scale" });
  const gone = () => device.dispatchEvent(new Event("gattserverdisconnected"));
  device.gatt = { connect: async () => server, disconnect: gone };
  window.asked = told;
  window.send = (...bytes) => {
    measured.value = new DataView(new Uint8Array(bytes).buffer);
    measured.dispatchEvent(new Event("characteristicvaluechanged"));
  };
  const requestDevice = async ({ filters }) => (told.push(filters[0].services[0]), device);
  Object.defineProperty(navigator, "bluetooth", { value: { requestDevice } });
"""


def test_a_bluetooth_scale_fills_in_the_weight_and_tells_its_step(opened, live_server, loaves) -> None:
    page = opened()
    page.add_init_script(STAND_IN_BLUETOOTH)
    page.goto(live_server.url + "/weigh/")
    page.get_by_role("button", name="Connect scale").tap()
    expect(page.get_by_role("button", name="Let go of Bench scale")).to_be_visible()
    assert page.evaluate("window.asked") == [0x181D, 0x181D, 0x2A9D]
    page.evaluate("window.send(0x00, 0xff, 0xff)")
    assert page.input_value("#reading") == ""
    page.evaluate("window.send(0x00, 25, 0)")
    assert page.input_value("#reading") == "125"
    tap(page, "keep")
    expect(page.locator("[data-part=told]")).to_contain_text("125 g")
    page.get_by_role("button", name="Let go of Bench scale").tap()
    expect(page.get_by_role("button", name="Connect scale")).to_be_visible()
    weigh(page, likely(page))
    until_sent(1)
    assert Weighing.objects.get(origin="phone").step_g == 5


def test_no_scale_is_offered_where_the_browser_cannot_talk_to_one(opened, live_server, loaves) -> None:
    page = opened()
    page.add_init_script("Object.defineProperty(navigator, 'bluetooth', { value: undefined });")
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(live_server.url + "/weigh/")
    expect(page.locator("#round")).to_be_visible()
    assert page.locator('[data-press="bluetooth"]').is_hidden()
    # Neither the pages' policies nor the modules give the browser anything to warn about.
    assert said == []


def test_a_round_without_a_network_is_kept_and_sent_later(chromium: Browser, tmp_path) -> None:
    """On the real server, with its worker: the round's page, a scanned tag, and weights that wait."""
    server = RealServer(tmp_path, free_port())
    with served(server) as told, BadNetwork(free_port(), server.port) as network:
        phone = Phone(chromium, f"http://127.0.0.1:{network.port}", told["people"]["olga"])
        phone.visit_today()
        network.is_down = True
        phone.reopen()
        page = phone.open(f"/t/{code_of(UUID(told['curing']))}/")
        expect(page.locator("[data-part=batch]")).to_have_text("26-001")
        assert phone.text("[data-phone=age]").startswith("No network: this page is as of today ")
        phone.open("/weigh/?which=all")
        for text in ("1", "3", "6", ".", "1", "keep"):
            page.click(f'.keypad [data-press="{text}"]')
        expect(page.locator("[data-part=told], #summary:visible").first).to_be_attached()
        phone.until("() => !document.querySelector('[data-phone=count]').hidden")
        assert [entry["act"] for entry in phone.stored()] == ["weigh"]
        network.is_down = False
        phone.until_all_is_sent()
        assert server.rows("select count(*) from curelog_weighing where weight_g = 136.1") == [(1,)]
