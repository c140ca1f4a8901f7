/* The one phone of this page: whose it is, and their outbox.
 *
 *   phone   {person, units, zone, today, outboxUrl, pagesUrl, workerUrl, ...} or null when nobody is signed in
 *   outbox  a promise of the Outbox; rejects with a StoreError that says what is wrong
 *   say(words, tone), sayNext(words, tone): a line on top of this page, or of the next one
 */

import { Outbox } from "./outbox.js";
import { Sender } from "./sending.js";
import { openStore } from "./store.js";

const told = document.getElementById("phone")?.dataset;

export const phone = told
  ? {
      ...told,
      person: Number(told.person),
      units: { mass: told.mass, length: told.length, temperature: told.temperature },
      asOf: document.documentElement.dataset.asOf,
    }
  : null;

/* Its name differs between the plain and the HTTPS door of one machine, which share their cookies. */
const token = () => document.cookie.match(new RegExp(`(?:^|; )${phone.csrfCookie ?? "csrftoken"}=([^;]+)`))?.[1] ?? "";

const memory = {
  get: (name) => JSON.parse(localStorage.getItem(`curelog-${name}`)),
  set: (name, value) => localStorage.setItem(`curelog-${name}`, JSON.stringify(value)),
};

/* Two tabs do not send the same entry at once, where the browser can tell. It would do no harm. */
function lock(work) {
  if (!navigator.locks) return work();
  const busy = { kind: "later", alone: false, seconds: 3 };
  return navigator.locks.request(`curelog-${phone.person}`, { ifAvailable: true }, (held) => (held ? work() : busy));
}

async function open() {
  const store = await openStore(phone.person);
  const sender = new Sender({ url: phone.syncUrl, token });
  return new Outbox({ store, sender, person: phone.person, lock, memory });
}

export const outbox = phone ? open() : Promise.reject(new Error("Nobody is signed in."));
outbox.catch(() => {});

export function say(words, tone = "") {
  const line = document.createElement("div");
  line.className = `say ${tone}`;
  line.role = "status";
  line.append(Object.assign(document.createElement("p"), { textContent: words }));
  document.getElementById("main").prepend(line);
  return line;
}

export function sayNext(words, tone = "") {
  sessionStorage.setItem("curelog-said", JSON.stringify([...waitingWords(), [words, tone]]));
}

function waitingWords() {
  return JSON.parse(sessionStorage.getItem("curelog-said") ?? "[]");
}

export function sayWaiting() {
  for (const [words, tone] of waitingWords().reverse()) say(words, tone);
  sessionStorage.removeItem("curelog-said");
}
