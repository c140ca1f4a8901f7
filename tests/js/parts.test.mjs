/* Small pure parts: keys, moments, numbers, questions. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { offlineNumber } from "../../static/js/batch-number.js";
import { freshKey } from "../../static/js/keys.js";
import { inWords, moved, told, wallClock } from "../../static/js/moments.js";
import { questions } from "../../static/js/questions.js";
import { contextOf } from "../../static/js/weigh.js";

test("keys are random UUIDs of version 4", () => {
  const keys = Array.from({ length: 1000 }, () => freshKey());
  for (const key of keys) assert.match(key, /^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.equal(new Set(keys).size, 1000);
  const zeros = freshKey({ getRandomValues: (bytes) => bytes });
  assert.equal(zeros, "00000000-0000-4000-8000-000000000000");
});

test("the workshop's clock, summer and winter, midnight as 00", () => {
  assert.equal(wallClock(new Date("2026-07-01T10:00:00Z"), "Europe/Berlin"), "2026-07-01T12:00");
  assert.equal(wallClock(new Date("2026-01-01T23:05:00Z"), "Europe/Berlin"), "2026-01-02T00:05");
});

test("moments move, whichever way they are written", () => {
  assert.equal(moved("2026-01-12T08:00:00.000Z", -86_400), "2026-01-11T08:00:00.000Z");
  assert.equal(moved("2026-03-01T00:10", -3600), "2026-02-28T23:10");
});

test("spans and days in words", () => {
  assert.deepEqual([60, 5400, 86_400 * 2].map(inWords), ["1 minute", "2 hours", "2 days"]);
  const now = new Date("2026-01-12T12:00:00Z");
  const words = (text) => told(new Date(text), "UTC", now);
  assert.equal(words("2026-01-12T09:12:00Z"), "today 09:12");
  assert.equal(words("2026-01-11T21:40:00Z"), "yesterday 21:40");
  assert.equal(words("2026-01-02T09:12:00Z"), "2 Jan 09:12");
});

test("numbers given offline carry their person's letter and do not repeat", () => {
  assert.equal(offlineNumber("26-014", 2, 0), "26-014b");
  assert.equal(offlineNumber("26-014", 2, 1), "26-015b");
  assert.notEqual(offlineNumber("26-014", 1, 0), offlineNumber("26-014", 2, 0));
  assert.equal(offlineNumber("Christmas", 2, 1), "Christmas");
});

const known = { lastG: 120, lowG: 117, highG: 119, leastG: 95, others: { 5: 108 }, stepG: 1 };

test("a weight as expected is not asked about", () => {
  for (const weight of [115, 118, 121]) assert.deepEqual(questions(weight, known), []);
  assert.deepEqual(questions(50, { ...known, lastG: null }), []);
});

test("the likeliest slip is named first", () => {
  const first = (weight) => questions(weight, known)[0];
  assert.equal(first(0), "Nothing on the scale?");
  assert.equal(first(4.16), "Is the scale set to ounces?");
  assert.equal(first(11.8), "Is the decimal point in the right place?");
  assert.equal(first(107), "That looks like bar 5.");
  assert.match(first(130), /^That is 10 g more than last time/);
  assert.match(first(80), /all its water were gone/);
});

test("several bars are judged by their sums, and not at all when one is new", () => {
  const bar = (number, lastG) => ({ number, lastG, lowG: lastG - 3, highG: lastG - 1, leastG: 90 });
  const bars = [bar("2", 120), bar("5", 118), { number: "8", lastG: null, lowG: null, highG: null, leastG: null }];
  assert.deepEqual(contextOf(bars, ["2", "5"], 1), { lastG: 238, lowG: 232, highG: 236, leastG: 180, others: {}, stepG: 1 });
  assert.equal(contextOf(bars, ["2", "8"], 1).lastG, null);
  assert.deepEqual(contextOf(bars, ["2"], 1).others, { 5: 118 });
});
