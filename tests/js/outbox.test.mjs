/* The outbox with a failing store, a failing way and a clock that is off. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { backOff, Outbox } from "../../static/js/outbox.js";
import { entryFor, FakeSender, FakeStore, FakeTimer } from "./fakes.mjs";

function made(more = {}) {
  const parts = { store: new FakeStore(), sender: new FakeSender(), timer: new FakeTimer(), person: 1, ...more };
  return { ...parts, outbox: new Outbox(parts) };
}

const orderOf = (sender) => sender.sent.map(({ entry }) => entry.key);

test("what is kept is in the store before anybody is told", async () => {
  const { outbox, store } = made();
  const told = [];
  outbox.addEventListener("change", () => told.push(store.entries.size));
  await outbox.keep(entryFor("a"));
  assert.deepEqual(told, [1]);
  assert.equal(outbox.status.waiting, 1);
});

test("a store that fails is said, and nothing is claimed to be kept", async () => {
  const { outbox, store } = made();
  store.failing = new Error("full");
  let said = 0;
  outbox.addEventListener("change", () => (said += 1));
  await assert.rejects(outbox.keep(entryFor("a")), /full/);
  assert.equal(said, 0);
});

test("a store that fails while sending loses nothing, and it is tried again", async () => {
  const { outbox, store, sender, timer } = made();
  await outbox.keep(entryFor("a"));
  store.failing = new Error("closed");
  await outbox.flush();
  assert.equal(timer.delays.length, 1);
  store.failing = null;
  await outbox.flush();
  assert.equal(sender.sent.length, 1);
  assert.equal(store.entries.size, 0);
});

test("an entry whose removal failed is sent once more under the same key", async () => {
  const { outbox, store, sender } = made();
  await outbox.keep(entryFor("a"));
  const remove = store.remove;
  store.remove = async () => Promise.reject(new Error("lost power"));
  await outbox.flush();
  assert.equal(store.entries.size, 1);
  store.remove = remove;
  await outbox.flush();
  assert.equal(sender.sent.length, 2);
  assert.equal(new Set(orderOf(sender)).size, 1);
  assert.equal(store.entries.size, 0);
});

test("entries go one by one, oldest first, and leave only when they were taken in", async () => {
  const { outbox, sender, store } = made();
  const kept = [await outbox.keep(entryFor("a")), await outbox.keep(entryFor("b")), await outbox.keep(entryFor("a"))];
  await outbox.flush();
  assert.deepEqual(orderOf(sender), kept.map((entry) => entry.key));
  assert.equal(store.entries.size, 0);
  assert.equal(outbox.status.state, "idle");
});

test("without a network everything stays, and the pauses grow", async () => {
  const { outbox, sender, timer } = made();
  sender.greeting = { kind: "later", alone: false };
  await outbox.keep(entryFor("a"));
  const pauses = [];
  for (let round = 0; round < 4; round += 1) {
    await outbox.flush();
    pauses.push(timer.delays.at(-1));
    timer.waiting.clear();
  }
  assert.equal(outbox.status.waiting, 1);
  assert.equal(sender.sent.length, 0);
  for (let place = 1; place < pauses.length; place += 1) assert.ok(pauses[place] > pauses[place - 1], `${pauses}`);
});

test("the pause doubles from two seconds to five minutes, a quarter to either side", () => {
  assert.deepEqual([1, 2, 3, 20].map((failures) => backOff(failures, () => 0.5)), [2, 4, 8, 300]);
  assert.equal(backOff(1, () => 0), 1.5);
});

test("what the server asks for is obeyed: nobody comes before Retry-After", async () => {
  let now = 1_000_000;
  const { outbox, sender, timer } = made({ now: () => now });
  await outbox.keep(entryFor("a"));
  sender.answer = () => ({ kind: "later", alone: false, seconds: 30 });
  await outbox.flush();
  assert.ok(timer.delays.at(-1) >= 30_000);
  await outbox.flush();
  assert.equal(sender.sent.length, 1);
  now += 31_000;
  sender.answer = () => ({ kind: "kept" });
  await outbox.flush();
  assert.equal(sender.sent.length, 2);
});

test("one entry's trouble holds back its own loaf and no other", async () => {
  const { outbox, sender, store } = made();
  const sick = await outbox.keep(entryFor("a"));
  const behind = await outbox.keep(entryFor("a"));
  const other = await outbox.keep(entryFor("b"));
  sender.answer = (entry) => (entry.key === sick.key ? { kind: "later", alone: true, words: "not yet" } : { kind: "kept" });
  await outbox.flush();
  assert.deepEqual(orderOf(sender), [sick.key, other.key]);
  assert.deepEqual([...store.entries.values()].map(({ key }) => key), [sick.key, behind.key]);
  assert.deepEqual(store.entries.get(sick.order).why, { "": ["not yet"] });
});

test("what is refused stays with its reason and lets the others pass", async () => {
  const { outbox, sender, store } = made();
  const refused = await outbox.keep(entryFor("a"));
  await outbox.keep(entryFor("a"));
  sender.answer = (entry) => (entry.key === refused.key ? { kind: "refused", why: { weight_g: ["Enter a number."] } } : { kind: "kept" });
  await outbox.flush();
  assert.equal(store.entries.size, 1);
  assert.deepEqual([outbox.status.waiting, outbox.status.refused], [0, 1]);
  await outbox.flush();
  assert.equal(sender.sent.length, 2);
  const mended = await outbox.replace({ ...store.entries.get(refused.order), fields: [["weight_g", "120"]] });
  assert.equal(mended.state, "waiting");
  sender.answer = () => ({ kind: "kept" });
  await outbox.flush();
  assert.equal(store.entries.size, 0);
});

test("a question is for the person who stands there; walking away keeps the entry as it is", async () => {
  const { outbox, sender, store, timer } = made();
  sender.answer = (_entry, count) => (count === 1 ? { kind: "questions", why: { weight_g: ["Ounces?"] } } : { kind: "kept" });
  const kept = await outbox.keep(entryFor("a"));
  assert.equal((await outbox.sendNow(kept.order, 1_000)).kind, "questions");
  assert.equal(sender.sent[0].ask, true);
  await outbox.flush();
  assert.equal(sender.sent.length, 1, "nothing is sent behind the back of somebody who was asked");
  // The page was closed: another one knows nothing of the question.
  const later = new Outbox({ store, sender, timer, person: 1 });
  await later.flush();
  assert.equal(sender.sent[1].ask, false);
  assert.equal(store.entries.size, 0);
});

test("an answer that takes too long lets the page go on, and the entry waits", async () => {
  const { outbox, sender, timer, store } = made();
  let answer;
  sender.answer = () => new Promise((resolve) => (answer = resolve));
  const kept = await outbox.keep(entryFor("a"));
  const sending = outbox.sendNow(kept.order, 1_500);
  await new Promise(setImmediate);
  await timer.ring();
  assert.equal((await sending).kind, "later");
  assert.equal(store.entries.size, 1);
  answer({ kind: "kept" });
  await outbox.flush();
  assert.equal(store.entries.size, 0);
});

test("what is added while others are being sent is sent too", async () => {
  const { outbox, sender, store } = made();
  await outbox.keep(entryFor("a"));
  sender.answer = async (_entry, count) => {
    if (count === 1) await outbox.keep(entryFor("a"));
    return { kind: "kept" };
  };
  await outbox.flush();
  assert.equal(sender.sent.length, 2);
  assert.equal(store.entries.size, 0);
});

test("signed out or somebody else: nothing is sent, nothing is tried again by itself", async () => {
  for (const greeting of [{ kind: "sign-in" }, { kind: "ready", person: 2, clockOffS: 0 }]) {
    const { outbox, sender, timer } = made();
    sender.greeting = greeting;
    await outbox.keep(entryFor("a"));
    await outbox.flush();
    assert.equal(sender.sent.length, 0);
    assert.equal(timer.delays.length, 0);
    assert.ok(["sign-in", "not-yours"].includes(outbox.status.state));
  }
});

function remembering() {
  const kept = new Map();
  return { get: (name) => kept.get(name) ?? null, set: (name, value) => kept.set(name, value) };
}

test("a clock that is a day off is asked about before anything is sent", async () => {
  const { outbox, sender, store } = made({ memory: remembering() });
  sender.greeting = { kind: "ready", person: 1, clockOffS: 86_400 };
  await outbox.keep(entryFor("a"));
  await outbox.flush();
  assert.equal(sender.sent.length, 0);
  assert.deepEqual([outbox.status.state, outbox.status.clockOffS], ["clock", 86_400]);
  await outbox.decideClock(true);
  assert.deepEqual(sender.sent[0].entry.fields[0], ["happened_at", "2026-01-11T08:00:00.000Z"]);
  assert.equal(store.entries.size, 0);
  // The same clock is not asked about at every weight.
  await outbox.keep(entryFor("a"));
  await outbox.flush();
  assert.equal(sender.sent.length, 2);
});

test("moments stay as typed when the person says so, and seconds are not worth a word", async () => {
  const { outbox, sender } = made({ memory: remembering() });
  sender.greeting = { kind: "ready", person: 1, clockOffS: -90_000 };
  await outbox.keep(entryFor("a"));
  await outbox.flush();
  await outbox.decideClock(false);
  assert.equal(sender.sent[0].entry.fields[0][1], "2026-01-12T08:00:00.000Z");
  const other = made();
  other.sender.greeting = { kind: "ready", person: 1, clockOffS: 40 };
  await other.outbox.keep(entryFor("a"));
  await other.outbox.flush();
  assert.equal(other.sender.sent.length, 1);
});

test("what somebody is changing is not sent under their hands", async () => {
  const { outbox, sender, store } = made();
  const kept = await outbox.keep(entryFor("a"));
  outbox.hold(kept.order);
  await outbox.flush();
  assert.equal(sender.sent.length, 0);
  await outbox.replace({ ...kept, fields: [["note", "changed"]] });
  await outbox.flush();
  assert.deepEqual(sender.sent[0].entry.fields, [["note", "changed"]]);
  assert.equal(store.entries.size, 0);
});
