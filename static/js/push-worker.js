/* Notifications, for the service worker: importScripts() it there. It shows what comes, leads to the act, and carries
 * "done" and "in an hour" to the workshop, as well as the browser's new address when it has got one; without a network
 * what is to be told waits here until there is one. */

"use strict";

(function (scope) {
  const ANSWER_URL = "/reminders/answer/";
  const SUBSCRIBE_URL = "/reminders/to/browser/";
  const RETRY_TAG = "curelog-answers";
  const BUTTONS = [
    { action: "done", title: "Done" },
    { action: "hour", title: "In an hour" },
  ];

  /* What to show for a push. Something must be shown for every one, even for one that nobody can read. */
  function notice(text) {
    let told = {};
    try {
      told = JSON.parse(text) ?? {};
    } catch {
      // shown as a bare call to look
    }
    const { title = "curelog", body = "Something wants doing.", url = "/", tag = "curelog", answer = "", opens = true } = told;
    return { title, options: { body, tag, data: { url, answer, opens }, actions: answer ? BUTTONS : [] } };
  }

  /* Only ever a page of the workshop. */
  function ownPath(url, origin) {
    const parsed = new URL(url, origin);
    return parsed.origin === origin ? parsed.pathname + parsed.search : "/";
  }

  /* A window that shows the page already is brought up; one with something half typed in it is left alone. */
  async function open(clients, url, origin) {
    const path = ownPath(url, origin);
    const windows = await clients.matchAll({ type: "window", includeUncontrolled: true });
    const same = windows.find((client) => ownPath(client.url, origin) === path);
    return same ? same.focus() : clients.openWindow(path);
  }

  /* Whether the workshop has it. What it refuses is done with: asking again would not help. */
  async function send(fetch, answer) {
    try {
      const response = await fetch(ANSWER_URL, {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify(answer),
        credentials: "omit",
      });
      return response.ok || response.status === 422;
    } catch {
      return false;
    }
  }

  /* Whether the workshop knows where this browser is reached from now on. Key and token are asked for at the moment of
   * sending: there is no page that has them. Signed out, it waits until somebody has signed in. */
  async function renew(tools, { replaces }) {
    try {
      const common = { credentials: "same-origin", redirect: "error", cache: "no-store" };
      const { csrf, publicKey } = await (await tools.fetch(SUBSCRIBE_URL, common)).json();
      const subscription = await tools.subscribe(publicKey);
      const response = await tools.fetch(SUBSCRIBE_URL, {
        ...common,
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRFToken": csrf },
        body: JSON.stringify({ ...subscription.toJSON(), replaces }),
      });
      return response.ok;
    } catch {
      return false;
    }
  }

  const passOn = (tools, told) => ("replaces" in told ? renew(tools, told) : send(tools.fetch, told));

  async function say(tools, told) {
    if (await passOn(tools, told)) return;
    await tools.kept.add(told);
    await tools.retryLater();
  }

  async function flush(tools) {
    for (const [key, told] of await tools.kept.all()) {
      if (await passOn(tools, told)) await tools.kept.remove(key);
    }
  }

  async function clicked(tools, action, data) {
    const isAnswer = BUTTONS.some((button) => button.action === action);
    const opened = !isAnswer || (action === "done" && data.opens) ? open(tools.clients, data.url, tools.origin) : null;
    if (isAnswer) await say(tools, { answer: data.answer, says: action });
    await opened;
  }

  /* What waits, in the order given. */
  function keptAnswers(indexedDB) {
    const asked = (request) =>
      new Promise((resolve, reject) => {
        request.onsuccess = () => resolve(request.result);
        request.onerror = () => reject(request.error);
      });
    const database = () => {
      const request = indexedDB.open("curelog-answers", 1);
      request.onupgradeneeded = () => request.result.createObjectStore("answers", { autoIncrement: true });
      return asked(request);
    };
    const inStore = async (mode, work) => {
      const db = await database();
      try {
        const transaction = db.transaction("answers", mode);
        const found = await work(transaction.objectStore("answers"));
        await new Promise((resolve, reject) => {
          transaction.oncomplete = resolve;
          transaction.onabort = () => reject(transaction.error);
        });
        return found;
      } finally {
        db.close();
      }
    };
    return {
      add: (answer) => inStore("readwrite", (store) => void store.add(answer)),
      remove: (key) => inStore("readwrite", (store) => void store.delete(key)),
      all: () =>
        inStore("readonly", async (store) => {
          const [keys, answers] = await Promise.all([asked(store.getAllKeys()), asked(store.getAll())]);
          return keys.map((key, place) => [key, answers[place]]);
        }),
    };
  }

  function listen(worker) {
    const tools = {
      fetch: (...told) => worker.fetch(...told),
      clients: worker.clients,
      origin: worker.location.origin,
      kept: keptAnswers(worker.indexedDB),
      subscribe: (applicationServerKey) =>
        worker.registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey }),
      // Where there is no background sync the next push, or the next start of the worker, takes them along.
      retryLater: () => worker.registration.sync?.register(RETRY_TAG),
    };
    worker.addEventListener("push", (event) => {
      const { title, options } = notice(event.data?.text() ?? "");
      event.waitUntil(Promise.all([worker.registration.showNotification(title, options), flush(tools)]));
    });
    worker.addEventListener("notificationclick", (event) => {
      event.notification.close();
      event.waitUntil(clicked(tools, event.action, event.notification.data));
    });
    worker.addEventListener("pushsubscriptionchange", (event) => {
      event.waitUntil(say(tools, { replaces: event.oldSubscription?.endpoint ?? "" }));
    });
    worker.addEventListener("sync", (event) => {
      if (event.tag === RETRY_TAG) event.waitUntil(flush(tools));
    });
    worker.addEventListener("message", (event) => event.waitUntil(flush(tools)));
  }

  scope.pushWorker = { notice, ownPath, open, send, renew, say, flush, clicked, keptAnswers, listen };
  if (scope.registration) listen(scope);
})(globalThis);
