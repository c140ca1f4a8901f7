/* A round without a screen: whose turn it is, what is on the scale, undo, totals; keys; which bars; the undo's time. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { pressOf, typed } from "../../static/js/keypad.js";
import { massesIn } from "../../static/js/masses.js";
import { choiceOf, isIn } from "../../static/js/round-bars.js";
import { entryOf, Keeper } from "../../static/js/round-keeping.js";
import { recall, remember } from "../../static/js/round-memory.js";
import { Round } from "../../static/js/round.js";
import { secondLook } from "../../static/js/signal.js";
import { Outbox } from "../../static/js/outbox.js";
import { questions } from "../../static/js/questions.js";
import { FakeSender, FakeStore, FakeTimer } from "./fakes.mjs";

const bar = (key, loaf, number, lastG = 120) => ({ key, loaf, number, lastG, lowG: lastG && lastG - 3, highG: lastG && lastG - 1, leastG: lastG && 90, stepG: 1, batch: loaf, url: `/loaves/${loaf}/weigh/` });
const bars = () => [bar("1", "a", "2"), bar("2", "a", "5", 110), bar("3", "b", "2", null), bar("4", "b", "9")];
const keys = (list) => list.map((one) => one.key);

test("bars come in their order, skipped ones later, until all had their turn", () => {
  const round = new Round(bars());
  const seen = [];
  for (const act of ["keep", "skip", "keep", "keep"]) {
    seen.push(round.current.key);
    if (act === "keep") round.keep({ weightG: 118 });
    else round.skip();
  }
  assert.deepEqual(seen, ["1", "2", "3", "4"]);
  assert.equal(round.current, null);
  round.takeSkipped();
  assert.equal(round.current.key, "2");
});

test("another bar first, then back to the one that was left", () => {
  const round = new Round(bars());
  round.goTo("4");
  round.keep({ weightG: 118 });
  assert.equal(round.current.key, "1");
});

test("back goes to the bar before that has no weight, from the end too", () => {
  const round = new Round(bars());
  round.keep({ weightG: 118 });
  round.skip();
  assert.equal(round.current.key, "3");
  round.back();
  assert.equal(round.current.key, "2");
  round.back();
  assert.equal(round.current.key, "2");
  for (const _ of "123") round.skip();
  round.back();
  assert.equal(round.current.key, "4");
});

test("several bars of one loaf are weighed together, and undone together", () => {
  const round = new Round(bars());
  round.tickMany();
  assert.deepEqual(keys(round.onScale), ["1", "2"]);
  round.tick("2", false);
  assert.deepEqual(keys(round.onScale), ["1"]);
  round.tick("2", true);
  round.tick("4", true);
  assert.deepEqual(keys(round.onScale), ["1", "2"]);
  assert.deepEqual(round.known(), { lastG: 230, lowG: 224, highG: 228, leastG: 180, others: {}, stepG: 1 });
  round.keep({ weightG: 226, order: 7 });
  assert.equal(round.current.key, "3");
  assert.deepEqual(keys(round.onScale), ["3"]);
  assert.equal(round.undo().order, 7);
  assert.equal(round.current.key, "1");
  assert.equal(new Round(bars()).undo(), undefined);
});

test("what the plan wants together lies on the scale together, when it leads here and when several are asked for", () => {
  const tray = ["2", "5", "8"].map((number) => ({ ...bar(`k${number}`, "a", number), isTogether: number !== "5" }));
  const led = new Round([...tray, bar("other", "b", "9")]);
  led.putTogether(["2", "8"]);
  assert.deepEqual(keys(led.onScale), ["k2", "k8"]);
  led.keep({ weightG: 230 });
  assert.equal(led.current.key, "k5");
  led.tickMany();
  assert.deepEqual(keys(led.onScale), ["k5"]);
  const asked = new Round(tray);
  asked.tickMany();
  assert.deepEqual(keys(asked.onScale), ["k2", "k8"]);
  const gone = new Round(tray);
  gone.putTogether(["77"]);
  assert.deepEqual(keys(gone.onScale), ["k2"]);
});

test("a bar that lies on the scale again by mistake is known by the weight it just had", () => {
  const round = new Round(bars());
  round.keep({ weightG: 116 });
  assert.deepEqual(questions(116, round.known()), ["That looks like bar 2.", "That is 6 g more than last time. Was the tray tared, is it this bar?"]);
});

test("totals compare only what has an earlier weight", () => {
  const round = new Round(bars());
  for (const weightG of [118, 108.5, 130]) round.keep({ weightG });
  round.skip();
  const { weighed, skipped, nowG, lastG, changeG, changes } = round.totals();
  assert.deepEqual({ weighed, skipped, nowG, lastG, changeG }, { weighed: 3, skipped: 1, nowG: 356.5, lastG: 230, changeG: -3.5 });
  assert.deepEqual(changes.map((row) => row.lastG), [120, 110, null]);
});

test("digits, one decimal mark, and no end of digits", () => {
  const type = (presses) => [...presses].reduce(typed, "");
  assert.deepEqual(["124", "0.5", ".5", "12..5", "007", "1234567890"].map(type), ["124", "0.5", "0.5", "12.5", "7", "12345678"]);
  assert.deepEqual(["12", "", "1."].map((text) => typed(text, "back")), ["1", "", "1"]);
});

test("a keyboard's keys mean the same; shortcuts of the browser stay its own", () => {
  const told = ["7", ",", ".", "Enter", "Backspace", "ArrowRight", "ArrowLeft", "a", "F5"].map((key) => pressOf({ key }));
  assert.deepEqual(told, ["7", ".", ".", "keep", "back", "skip", "previous", null, null]);
  assert.equal(pressOf({ key: "1", ctrlKey: true }), null);
});

test("which bars: today's, all, of a place, of a loaf, of a tag", () => {
  const at = (pathname, search = "") => choiceOf({ pathname, search });
  const one = { isDue: false, place: "p", loaf: "l", codes: ["mfrggzdf", "aaaaaaaa"] };
  const isOne = (choice) => isIn(choice, one);
  assert.deepEqual(["", "?which=all", "?place=p", "?place=q", "?loaf=l"].map((search) => isOne(at("/weigh/", search))), [false, true, true, false, true]);
  assert.deepEqual(["/t/MFRGGZDF/", "/t/mfrggzde/"].map((path) => isOne(at(path))), [true, false]);
});

test("ounces and grams", () => {
  const { grams, shown, text } = massesIn("oz");
  assert.equal(grams(2), 56.69904625);
  assert.equal(shown(56.69904625), "2 oz");
  assert.equal(text(125), "4.41");
  assert.equal(massesIn("g").text(4.5359237), "4.5");
});

const phone = { person: 1, units: { mass: "g", length: "mm", temperature: "C" }, zone: "UTC" };

test("an entry names its bars, its scale and how finely that sends", () => {
  const [one, other] = bars();
  const entry = entryOf([one, other], "226", { phone, scale: "3", sentStepG: 5 });
  assert.deepEqual(entry.fields.slice(1), [["bars", "1"], ["bars", "2"], ["weight_g", "226"], ["scale", "3"], ["sent_step_g", "5"]]);
  assert.deepEqual([entry.act, entry.about, entry.words, entry.page], ["weigh", "a", "Bar 2 + 5, 226 g", "/loaves/a/weigh/"]);
  assert.equal(entry.fields[0][1], entry.madeAt);
  assert.ok(entryOf([one], "9", { phone, isSure: true }).fields.some(([name]) => name === "kept_anyway"));
});

function keeping() {
  const [store, sender, timer] = [new FakeStore(), new FakeSender(), new FakeTimer()];
  const outbox = new Outbox({ store, sender, person: 1, timer });
  return { store, sender, timer, outbox, keeper: new Keeper(outbox, timer) };
}

const entry = (key) => entryOf([bar(key, "a", key)], "118", { phone });
const settled = async (outbox) => outbox.running;

test("the last weight waits for the next one, the others go", async () => {
  const { store, sender, outbox, keeper } = keeping();
  await keeper.keep(entry("1"));
  await outbox.flush();
  assert.equal(sender.sent.length, 0);
  await keeper.keep(entry("2"));
  await settled(outbox);
  assert.deepEqual(sender.sent.map((one) => one.entry.words), ["Bar 1, 118 g"]);
  assert.equal(store.entries.size, 1);
});

test("nobody undoes it for a while: it goes by itself", async () => {
  const { sender, timer, outbox, keeper } = keeping();
  await keeper.keep(entry("1"));
  await timer.ring();
  await settled(outbox);
  assert.equal(sender.sent.length, 1);
});

test("taken back: what waits is gone, what was sent is not", async () => {
  const { store, sender, outbox, keeper } = keeping();
  const first = await keeper.keep(entry("1"));
  const second = await keeper.keep(entry("2"));
  await settled(outbox);
  assert.equal(await keeper.takeBack(second.order), true);
  assert.equal(await keeper.takeBack(first.order), false);
  assert.equal(store.entries.size, 0);
  await outbox.flush();
  assert.equal(sender.sent.length, 1);
});

test("taken back while it is on its way: its end is waited for", async () => {
  const { store, sender, outbox, keeper } = keeping();
  const kept = await keeper.keep(entry("1"));
  let arrive;
  const send = sender.send.bind(sender);
  sender.send = async (...told) => {
    await new Promise((resolve) => (arrive = resolve));
    return send(...told);
  };
  keeper.letGo();
  while (!arrive) await new Promise((resolve) => setTimeout(resolve));
  const taking = keeper.takeBack(kept.order);
  arrive();
  assert.equal(await taking, false);
  assert.deepEqual([sender.sent.length, store.entries.size], [1, 0]);
});

test("a disk that is full keeps nothing and claims nothing", async () => {
  const { store, keeper } = keeping();
  store.failing = new Error("full");
  await assert.rejects(keeper.keep(entry("1")), /full/);
  assert.equal(store.entries.size, 0);
});

test("a round that was left goes on the same day, with the same bars; a finished one begins anew", () => {
  const kept = new Map();
  const store = { getItem: (name) => kept.get(name) ?? null, setItem: (name, value) => kept.set(name, value), removeItem: (name) => kept.delete(name) };
  const choice = { which: "today", key: "" };
  const round = new Round(bars());
  round.keep({ weightG: 118, order: 1 });
  round.skip();
  remember(choice, round, store);
  const again = new Round(bars(), recall(choice, store));
  assert.equal(again.current.key, "3");
  assert.equal(recall({ which: "all", key: "" }, store), null);
  again.skip();
  again.skip();
  remember(choice, again, store);
  assert.equal(recall(choice, store), null);
});

test("where there is neither buzz nor tone, nothing breaks", () => {
  secondLook({ navigator: {} });
});
