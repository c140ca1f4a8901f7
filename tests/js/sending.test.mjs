/* What counts as the workshop's word, with a way that fails in every manner. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { Sender } from "../../static/js/sending.js";

const entry = { key: "k1", act: "note", about: "a", corrects: "", person: 1, fields: [["note", "ä"]], names: ["note"], units: {}, zone: "UTC", madeAt: "" };
const json = (status, body, headers = {}) => async () => new Response(JSON.stringify(body), { status, headers });

function sender(fetch) {
  return new Sender({ url: "/sync/", token: () => "secret", fetch });
}

async function verdict(fetch) {
  return sender(fetch).send(entry, []);
}

test("only our own key in the answer lets an entry go", async () => {
  assert.equal((await verdict(json(201, { key: "k1", kept: "Note" }))).kind, "kept");
  assert.equal((await verdict(json(200, { key: "k1" }))).kind, "kept");
  assert.equal((await verdict(json(200, { key: "other" }))).kind, "later");
  assert.equal((await verdict(json(200, {}))).kind, "later");
  assert.equal((await verdict(json(200, null))).kind, "later");
});

test("a login page, half an answer and no answer are none", async () => {
  const page = async () => new Response("<title>Guest wifi</title>", { status: 200 });
  const half = async () => new Response('{"key": "k1", "ke', { status: 201 });
  const broken = async () => new Response(new ReadableStream({ start: (control) => control.error(new Error("reset")) }), { status: 201 });
  const none = async () => Promise.reject(new TypeError("Failed to fetch"));
  for (const fetch of [page, half, broken, none]) assert.deepEqual((await verdict(fetch)).kind, "later");
});

test("refusals count only in our own words too", async () => {
  assert.deepEqual(await verdict(json(422, { key: "k1", errors: { note: ["x"] } })), { kind: "refused", why: { note: ["x"] } });
  assert.deepEqual(await verdict(json(422, { key: "k1", questions: { w: ["?"] } })), { kind: "questions", why: { w: ["?"] } });
  assert.deepEqual(await verdict(json(409, { key: "k1", error: "y" })), { kind: "clash", why: { "": ["y"] } });
  assert.equal((await verdict(json(422, {}))).kind, "later");
  assert.equal((await verdict(json(409, {}))).kind, "later");
});

test("who must sign in is told apart from who is somebody else", async () => {
  assert.equal((await verdict(json(401, { error: "" }))).kind, "sign-in");
  assert.equal((await verdict(async () => new Response("<h1>403</h1>", { status: 403 }))).kind, "sign-in");
  assert.equal((await verdict(json(403, { key: "k1" }))).kind, "not-yours");
});

test("trouble with one entry is told apart from trouble with the way", async () => {
  const alone = async (status) => (await verdict(json(status, {}))).alone;
  assert.deepEqual(await Promise.all([400, 404, 500].map(alone)), [true, true, true]);
  assert.deepEqual(await Promise.all([429, 502, 503, 302].map(alone)), [false, false, false, false]);
  assert.equal((await verdict(json(429, {}, { "Retry-After": "7" }))).seconds, 7);
  assert.deepEqual((await verdict(json(404, { key: "k1", error: "no loaf" }))).words, "no loaf");
});

test("the token is read when sending, redirects are not followed, bytes go unchanged", async () => {
  const seen = [];
  const fetch = async (url, options) => {
    seen.push([url, options]);
    return new Response('{"key": "k1"}', { status: 201 });
  };
  let token = "old";
  const way = new Sender({ url: "/sync/", token: () => token, fetch });
  token = "new";
  const bytes = new Uint8Array([1, 2, 3]).buffer;
  await way.send(entry, [{ field: "photos", name: "a.jpg", type: "image/jpeg", bytes }], true);
  const [[url, { headers, redirect, body }]] = seen;
  assert.deepEqual([url, headers["X-CSRFToken"], redirect], ["/sync/", "new", "error"]);
  const told = JSON.parse(body.get("entry"));
  assert.deepEqual([told.ask, told.files], [true, [{ field: "photos", name: "a.jpg", size: 3 }]]);
  assert.deepEqual(new Uint8Array(await body.get("file").arrayBuffer()), new Uint8Array(bytes));
  assert.ok(!JSON.stringify(told).includes("new"));
});

test("the greeting tells person and clock, or why not", async () => {
  assert.deepEqual(await sender(json(200, { person: 3, clock_off_s: -60 })).greet(), { kind: "ready", person: 3, clockOffS: -60 });
  assert.equal((await sender(json(401, {})).greet()).kind, "sign-in");
  assert.equal((await sender(async () => new Response("<form>", { status: 200 })).greet()).kind, "later");
});

test("a way that stalls is given up", async (context) => {
  context.mock.timers.enable({ apis: ["setTimeout"] });
  const stalled = (_url, { signal }) => new Promise((_resolve, reject) => signal.addEventListener("abort", () => reject(new Error("aborted"))));
  const waiting = verdict(stalled);
  context.mock.timers.tick(21_000);
  assert.equal((await waiting).kind, "later");
});
