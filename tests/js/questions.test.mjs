/* What the phone asks about a weight, held to the table that the Python rules wrote: tests/data/weight_questions.json. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { questions } from "../../static/js/questions.js";

const table = JSON.parse(readFileSync(new URL("../data/weight_questions.json", import.meta.url)));

test("phone and table ask the same", () => {
  assert.ok(table.length > 100);
  for (const { weightG, known, asked } of table) assert.deepEqual(questions(weightG, known), asked, `${weightG} g`);
});
