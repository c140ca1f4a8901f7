/* Looking closer: what part of a picture is seen; how small a picture is kept, and what is told of each. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { bounded } from "../../static/js/capture.js";
import { CLOSEST, moved, pinched, WHOLE, zoomed } from "../../static/js/closer.js";
import { pairOf } from "../../static/js/faces-kept.js";
import { withTold } from "../../static/js/pictures.js";

/* Where a point of the picture (0 to 1) is seen in the frame. */
const shownAt = (seen, point) => ({ x: seen.x + seen.zoom * point.x, y: seen.y + seen.zoom * point.y });

function assertClose(found, wanted) {
  for (const name of Object.keys(wanted)) {
    assert.ok(Math.abs(found[name] - wanted[name]) < 1e-9, `${name}: ${found[name]} is not ${wanted[name]}`);
  }
}

test("what lies under the fingers stays there", () => {
  const point = { x: 0.2, y: 0.9 };
  const seen = zoomed(WHOLE, 3, point);
  assert.equal(seen.zoom, 3);
  assertClose(shownAt(seen, point), point);
});

test("never smaller than whole, never closer than the pixels carry", () => {
  assert.equal(zoomed(WHOLE, 1000).zoom, CLOSEST);
  assertClose(zoomed(zoomed(WHOLE, 4, { x: 0, y: 1 }), 0.01), WHOLE);
});

test("the frame stays filled, wherever the picture is drawn", () => {
  const seen = zoomed(WHOLE, 2);
  for (const [across, down] of [[9, 9], [-9, -9], [9, -9]]) {
    const drawn = moved(seen, across, down);
    assert.ok(drawn.x <= 0 && drawn.y <= 0);
    assert.ok(drawn.x + drawn.zoom >= 1 && drawn.y + drawn.zoom >= 1);
  }
  assertClose(moved(WHOLE, 0.3, 0.3), WHOLE);
});

test("two fingers that part twice as far show twice as large, and carry the picture along", () => {
  const seen = zoomed(WHOLE, 2);
  const before = [{ x: 0.4, y: 0.5 }, { x: 0.6, y: 0.5 }];
  const after = [{ x: 0.4, y: 0.6 }, { x: 0.8, y: 0.6 }];
  const next = pinched(seen, before, after);
  assert.ok(Math.abs(next.zoom - 4) < 1e-9);
  // The spot that lay between the fingers lies between them still.
  const spot = { x: (0.5 - seen.x) / seen.zoom, y: (0.5 - seen.y) / seen.zoom };
  assertClose(shownAt(next, spot), { x: 0.6, y: 0.6 });
});

test("two fingers at one place do no harm", () => {
  const place = { x: 0.5, y: 0.5 };
  assertClose(pinched(WHOLE, [place, place], [place, { x: 0.9, y: 0.5 }]), WHOLE);
});

test("a picture of 12 megapixels is kept 2,048 px long, whichever way it stands", () => {
  assert.deepEqual(bounded(4032, 3024), [2048, 1536]);
  assert.deepEqual(bounded(3024, 4032), [1536, 2048]);
  assert.deepEqual(bounded(640, 480), [640, 480]);
  assert.deepEqual(bounded(30_000, 4), [2048, 1]);
});

test("a picture's own subject and bar take the place of the form's, the rest stays", () => {
  const entry = { key: "k", words: "Cut face", fields: [["subject", "face"], ["bar", ""], ["note", "ash"]] };
  const own = withTold(entry, { fields: { subject: "top", bar: "7" }, words: "Top, bar 7" });
  assert.deepEqual(own.fields, [["note", "ash"], ["subject", "top"], ["bar", "7"]]);
  assert.deepEqual([own.key, own.words], ["k", "Top, bar 7"]);
  assert.equal(withTold(entry, undefined), entry);
});

test("of a kept page the pictures asked for are shown, as the workshop would pair them", () => {
  const table = JSON.parse(readFileSync(new URL("../data/face_pairs.json", import.meta.url)));
  for (const told of table) {
    assert.deepEqual(pairOf(told.strips, told.first || null, told.second || null), told.pair, JSON.stringify(told));
  }
});
