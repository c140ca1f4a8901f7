/* Notifications on the phone: what is shown, where a tap leads, how an answer gets through, how a browser subscribes. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import vm from "node:vm";

import { browserName, keyBytes, obstacle, subscribe } from "../../static/js/push.js";

const SOURCE = readFileSync(new URL("../../static/js/push-worker.js", import.meta.url), "utf8");
const ORIGIN = "https://soap.example.org";

function loaded(scope = {}) {
  const context = vm.createContext({ URL, ...scope });
  vm.runInContext(SOURCE, context);
  return context.pushWorker;
}

const { notice, ownPath, clicked, say, flush } = loaded();
const plain = (value) => JSON.parse(JSON.stringify(value));

/* A browser around the worker: windows, a network that may be away, and a shelf for answers. */
function phone({ online = true, windows = [], status = 200 } = {}) {
  const sent = [];
  const shelf = new Map();
  const opened = [];
  const tools = {
    origin: ORIGIN,
    clients: {
      matchAll: async () => windows.map((url) => ({ url, focus: async () => opened.push(`focus ${url}`) })),
      openWindow: async (path) => opened.push(path),
    },
    fetch: async (url, options) => {
      if (!phone.online) throw new TypeError("Failed to fetch");
      sent.push({ url, ...options, body: JSON.parse(options.body) });
      return { ok: phone.status < 300, status: phone.status };
    },
    kept: {
      add: async (answer) => shelf.set(shelf.size, answer),
      all: async () => [...shelf],
      remove: async (key) => shelf.delete(key),
    },
    retryLater: async () => (phone.asked += 1),
  };
  Object.assign(phone, { online, status, asked: 0 });
  return { tools, sent, shelf, opened };
}

const DATA = { url: "/loaves/1/cut/", answer: "word", opens: true };

test("a push is shown with its words, its mark and two buttons", () => {
  const { title, options } = notice(JSON.stringify({ title: "Cut: 26-014", body: "by 22:00", url: "/x/", tag: "t", answer: "a" }));
  assert.equal(title, "Cut: 26-014");
  assert.equal(options.body, "by 22:00");
  assert.equal(options.tag, "t");
  assert.deepEqual(plain(options.actions.map((button) => button.action)), ["done", "hour"]);
});

test("what nobody can read is shown all the same: a browser wants to see something for every push", () => {
  for (const text of ["", "{", "null", "[]", "5"]) assert.equal(notice(text).title, "curelog");
});

test("a test has no buttons", () => {
  assert.deepEqual(plain(notice(JSON.stringify({ title: "Test", body: "x" })).options.actions), []);
});

test("a tap opens the act", async () => {
  const { tools, opened, sent } = phone();
  await clicked(tools, "", DATA);
  assert.deepEqual(opened, ["/loaves/1/cut/"]);
  assert.deepEqual(sent, []);
});

test("a window that shows the act already is brought up; another one is left as it is", async () => {
  const { tools, opened } = phone({ windows: [`${ORIGIN}/pour/`, `${ORIGIN}/loaves/1/cut/`] });
  await clicked(tools, "", DATA);
  assert.deepEqual(opened, [`focus ${ORIGIN}/loaves/1/cut/`]);
});

test("an address elsewhere is never opened", () => {
  assert.equal(ownPath("https://evil.example/x", ORIGIN), "/");
  assert.equal(ownPath("//evil.example/x", ORIGIN), "/");
  assert.equal(ownPath("javascript:alert(1)", ORIGIN), "/");
  assert.equal(ownPath("/loaves/1/?a=b", ORIGIN), "/loaves/1/?a=b");
});

test("done is told and leads to the act where there is something to note", async () => {
  const { tools, opened, sent } = phone();
  await clicked(tools, "done", DATA);
  assert.deepEqual(opened, ["/loaves/1/cut/"]);
  assert.deepEqual(sent[0].body, { answer: "word", says: "done" });
  assert.equal(sent[0].credentials, "omit");
  await clicked(tools, "done", { ...DATA, opens: false });
  assert.equal(opened.length, 1);
});

test("in an hour is told and opens nothing", async () => {
  const { tools, opened, sent } = phone();
  await clicked(tools, "hour", DATA);
  assert.deepEqual(opened, []);
  assert.deepEqual(sent[0].body, { answer: "word", says: "hour" });
});

test("offline the act opens all the same and the answer waits until there is a network", async () => {
  const { tools, opened, sent, shelf } = phone({ online: false });
  await clicked(tools, "done", DATA);
  assert.deepEqual(opened, ["/loaves/1/cut/"]);
  assert.equal(shelf.size, 1);
  assert.equal(phone.asked, 1);
  await flush(tools);
  assert.equal(shelf.size, 1);
  phone.online = true;
  await flush(tools);
  assert.deepEqual(sent.map((entry) => entry.body), [{ answer: "word", says: "done" }]);
  assert.equal(shelf.size, 0);
});

test("a server in trouble is asked again, a refusal is final", async () => {
  const { tools, shelf } = phone({ status: 500 });
  await clicked(tools, "hour", DATA);
  assert.equal(shelf.size, 1);
  phone.status = 422;
  await flush(tools);
  assert.equal(shelf.size, 0);
});

/* The workshop as the worker meets it: it hands out key and token to those who are signed in. */
function workshop({ isSignedIn = true } = {}) {
  const { tools, shelf } = phone();
  const posted = [];
  const state = { isSignedIn, isReachable: true, posted, shelf };
  tools.subscribe = async (publicKey) => ({ toJSON: () => ({ endpoint: `https://push.example/new-for-${publicKey}`, keys: {} }) });
  tools.fetch = async (url, { method = "GET", redirect, headers, body }) => {
    if (!state.isReachable) throw new TypeError("Failed to fetch");
    // To sign in: another page in the place of an answer.
    if (!state.isSignedIn && redirect === "error") throw new TypeError("redirected");
    if (method === "GET") return { ok: true, json: async () => ({ csrf: "token", publicKey: "KEY" }) };
    posted.push([url, headers["X-CSRFToken"], JSON.parse(body)]);
    return { ok: true };
  };
  return { tools, state };
}
const CHANGED = { replaces: "https://push.example/old" };
const TOLD = ["/reminders/to/browser/", "token", { endpoint: "https://push.example/new-for-KEY", keys: {}, replaces: CHANGED.replaces }];

test("a browser with a new address tells the workshop, with the old one, without a page", async () => {
  const { tools, state } = workshop();
  await say(tools, CHANGED);
  assert.deepEqual(state.posted, [TOLD]);
  assert.equal(state.shelf.size, 0);
});

test("signed out or without a network a new address waits, and holds up no answer", async () => {
  const { tools, state } = workshop({ isSignedIn: false });
  await say(tools, CHANGED);
  state.isReachable = false;
  await say(tools, { answer: "word", says: "done" });
  assert.equal(state.shelf.size, 2);
  state.isReachable = true;
  tools.fetch = ((fetch) => (url, options) => (url.includes("answer") ? Promise.resolve({ ok: true }) : fetch(url, options)))(tools.fetch);
  await flush(tools);
  assert.deepEqual([...state.shelf.values()], [CHANGED]);
  state.isSignedIn = true;
  await flush(tools);
  assert.deepEqual(state.posted, [TOLD]);
  assert.equal(state.shelf.size, 0);
});

test("a push service that gives no address is asked again", async () => {
  const { tools, state } = workshop();
  tools.subscribe = async () => Promise.reject(new Error("AbortError"));
  await say(tools, CHANGED);
  assert.deepEqual([...state.shelf.values()], [CHANGED]);
});

test("the worker listens to push, taps, sync and messages", () => {
  const heard = [];
  loaded({ registration: {}, clients: {}, location: { origin: ORIGIN }, addEventListener: (name) => heard.push(name) });
  assert.deepEqual(heard, ["push", "notificationclick", "pushsubscriptionchange", "sync", "message"]);
});

test("the key is read as the browser wants it", () => {
  assert.deepEqual([...keyBytes("BP-_")], [4, 255, 191]);
  assert.equal(keyBytes("BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4").length, 65);
});

test("a browser gets a name that its owner knows", () => {
  assert.equal(browserName("Mozilla/5.0 (Linux; Android 14) Chrome/130 Mobile Safari/537"), "Chrome on Android");
  assert.equal(browserName("Mozilla/5.0 (iPhone; CPU iPhone OS 18) Version/18 Safari/604"), "Safari on iPhone");
  assert.equal(browserName("Mozilla/5.0 (X11; Linux) Firefox/140"), "Firefox on Linux");
  assert.equal(browserName("odd"), "Browser");
});

function browser({ permission = "granted", subscribed } = {}) {
  const posted = [];
  const manager = { subscribe: subscribed ?? (async () => SUBSCRIPTION), getSubscription: async () => OLD };
  return {
    posted,
    isSecureContext: true,
    PushManager: class {},
    Notification: { permission: "default", requestPermission: async () => permission },
    navigator: { userAgent: "Chrome Android", serviceWorker: { ready: Promise.resolve({ pushManager: manager }) } },
    fetch: async (url, options) => {
      posted.push([url, options.headers["X-CSRFToken"], JSON.parse(options.body)]);
      return { ok: true, json: async () => ({ url: "/reminders/to/1/" }) };
    },
  };
}

const SUBSCRIPTION = { toJSON: () => ({ endpoint: "https://push.example/x", keys: { p256dh: "a", auth: "b" } }) };
const OLD = { let: 0, unsubscribe: async () => (OLD.let += 1) };
const PLACE = { dataset: { publicKey: "BP-_", subscribe: "/reminders/to/browser/", csrf: "token" } };

test("subscribing asks, subscribes and tells the workshop", async () => {
  const scope = browser();
  assert.equal(await subscribe(PLACE, scope), "/reminders/to/1/");
  const [[url, token, told]] = scope.posted;
  assert.deepEqual([url, token, told.endpoint, told.name], ["/reminders/to/browser/", "token", "https://push.example/x", "Chrome on Android"]);
});

test("a no is said and nothing is sent", async () => {
  const scope = browser({ permission: "denied" });
  await assert.rejects(subscribe(PLACE, scope), /did not allow/);
  assert.deepEqual(scope.posted, []);
});

test("a subscription for another workshop's key is let go and made anew", async () => {
  let tries = 0;
  const subscribed = async () => {
    tries += 1;
    if (tries === 1) throw Object.assign(new Error("other key"), { name: "InvalidStateError" });
    return SUBSCRIPTION;
  };
  await subscribe(PLACE, browser({ subscribed }));
  assert.deepEqual([tries, OLD.let], [2, 1]);
});

test("what stands in the way is said in words", () => {
  assert.match(obstacle({ isSecureContext: false }), /HTTPS/);
  assert.match(obstacle({ isSecureContext: true, navigator: {} }), /home screen/);
  assert.match(obstacle({ ...browser(), Notification: { permission: "denied" } }), /switched off/);
  assert.equal(obstacle(browser()), "");
});
