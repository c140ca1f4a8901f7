/* What the phone asks at the cut, at the pot and at the market, by itself. The sums at the cut are held to the table
 * that the Python rules are held to: tests/data/mass_balances.json. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { asked } from "../../static/js/asking.js";
import { balance, question } from "../../static/js/mass-balance.js";
import * as fats from "../../static/js/superfat.js";

const table = JSON.parse(readFileSync(new URL("../data/mass_balances.json", import.meta.url)));
const inGrams = (g) => `${g} g`;

test("phone and table find the same missing", () => {
  assert.ok(table.length > 8);
  for (const { missingG, isOdd, ...told } of table) {
    const found = balance(told);
    assert.deepEqual([found?.missingG ?? null, found?.isOdd ?? null], [missingG, isOdd], JSON.stringify(told));
  }
});

test("too little and too much are told apart, and nothing odd is not asked about", () => {
  assert.match(question({ pouredG: 1500, missingG: 300, isOdd: true }, inGrams), /^300 g are missing of 1500 g poured\. Is a bar/);
  assert.match(question({ pouredG: 1500, missingG: -100, isOdd: true }, inGrams), /^The bars come to 100 g more than the 1500 g poured\./);
  assert.equal(question({ pouredG: 1500, missingG: 12, isOdd: false }, inGrams), "");
  assert.equal(question(null, inGrams), "");
});

function cut(fields, mass = "g") {
  return { act: "cut", corrects: "", units: { mass }, fields: Object.entries(fields) };
}
const CUT = { dataset: { pouredG: "1500" } };

test("at the cut the test bars stand for all, and a row without a bar or a weight for none", () => {
  const rows = { bar_count: "10", bar_1: "2", weight_1: "120", bar_2: "5", weight_2: "", bar_3: "", weight_3: "900" };
  assert.deepEqual(Object.keys(asked(CUT, cut(rows))), ["all_bars_g"]);
  assert.match(asked(CUT, cut(rows)).all_bars_g[0], /^300 g are missing/);
  assert.deepEqual(asked(CUT, cut({ ...rows, weight_1: "145,5" })), {});
  assert.deepEqual(asked(CUT, cut({ bar_count: "10", bar_1: "2", weight_1: "" })), {});
});

test("ounces are ounces", () => {
  // 1500 g are 52.91 oz.
  assert.deepEqual(asked(CUT, cut({ bar_count: "10", all_bars_g: "52" }, "oz")), {});
  assert.match(asked(CUT, cut({ bar_count: "10", all_bars_g: "42.3" }, "oz")).all_bars_g[0], /^10\.61 oz are missing of 52\.91 oz/);
});

test("a lye-heavy pot is asked about before anything else, and fats that weigh nothing are not summed", () => {
  assert.match(fats.question(-0.031, 0.05), /^That is 3\.1% more alkali .* do not use it, do not sell it\.$/);
  assert.match(fats.question(0.09, 0.05), /^From these weights the superfat is 9\.0%, the recipe says 5\.0%\./);
  assert.equal(fats.question(0.06, 0.05), "");
  assert.equal(fats.question(fats.superfat([{ g: 0, molPerG: 0.0035 }], [{ g: 50, molPerG: 0.025 }]), 0.05), "");
});

test("of the pot's fields the fats and the alkali are read by their names", () => {
  const fields = { fat: [{ name: "fat_1", dataset: { fatMolPerG: "0.0035" } }], alkali: [{ name: "naoh_g", dataset: { alkaliMolPerG: "0.025" } }] };
  const form = { dataset: { superfat: "0.05" }, querySelectorAll: (wanted) => fields[wanted.match(/data-(\w+)-mol/)[1]] };
  const pour = (naoh) => ({ act: "pour", units: { mass: "g" }, fields: [["fat_1", "1000"], ["naoh_g", naoh]] });
  assert.deepEqual(asked(form, pour("133")), {});
  assert.match(asked(form, pour("146")).naoh_g[0], /lye-heavy/);
});

test("more bars gone than are left, more released than were cut, and released too early", () => {
  const entry = (act, fields) => ({ act, corrects: "", fields: Object.entries(fields) });
  assert.match(asked({ dataset: { here: "3" } }, entry("leave", { bar_count: "4" })).bar_count[0], /By the book 3 are left/);
  assert.deepEqual(asked({ dataset: { here: "3" } }, entry("leave", { bar_count: "3" })), {});
  assert.deepEqual(asked({ dataset: {} }, entry("leave", { bar_count: "9" })), {});
  const counts = { bar_count: "10", retained_count: "1" };
  assert.match(asked({ dataset: { bars: "10", whyNotReady: "" } }, entry("release", counts)).bar_count[0], /more than the 10 bars/);
  const early = { dataset: { bars: "12", whyNotReady: "It is not ready yet (curing)." } };
  assert.match(asked(early, entry("release", counts)).early_why[0], /^It is not ready yet \(curing\)\. Say why/);
  assert.deepEqual(asked(early, entry("release", { ...counts, early_why: "as a gift" })), {});
});

test("other acts are not asked about", () => {
  assert.deepEqual(asked({ dataset: {} }, { act: "note", fields: [] }), {});
});
