/* Entry of every page. The work is in the modules; this starts what the page has use for. */

import { outbox, phone, sayWaiting } from "./phone.js";
import { keepPages, noticePerson } from "./pages.js";
import { watchParts } from "./parts.js";
import { showPending } from "./pending.js";
import { showPlain } from "./plain.js";
import { watchRelease } from "./release.js";
import { watchSignOut } from "./signout.js";
import { showAge, showStatus } from "./status.js";

// So much later than an entry was taken in are the kept pages brought up to date: a round sends many.
const CALM_MS = 5_000;

async function startOutbox() {
  const box = await outbox;
  let timer;
  box.addEventListener("sent", ({ detail }) => {
    clearTimeout(timer);
    if (detail.verdict.kind === "kept") timer = setTimeout(() => keepPages(phone).catch(() => {}), CALM_MS);
  });
  await showStatus(box, phone);
  showPending(box, phone);
  window.addEventListener("online", () => box.flush());
  document.addEventListener("visibilitychange", () => document.hidden || box.flush());
  // Whatever another tab has kept or sent counts here too.
  window.addEventListener("pageshow", (event) => event.persisted && box.flush());
  await box.flush();
}

function start() {
  sayWaiting();
  showAge(phone);
  watchParts();
  showPlain();
  watchSignOut(outbox, [phone.signOutUrl, phone.signOutEverywhereUrl]);
  startOutbox().catch(() => {});
  // First: what somebody else kept here must go, even if the worker cannot be fetched right now.
  noticePerson(phone)
    .then(() => watchRelease(phone.workerUrl))
    .then(() => location.pathname === phone.todayUrl && keepPages(phone))
    .catch(() => {});
  document.documentElement.dataset.ready = "";
  performance.mark("curelog-ready");
}

if (phone) start();
