/* The screen of the outbox: what waits, what was refused and why, with its ways out. */

import { inWords, toldOf } from "./moments.js";
import { outbox, phone } from "./phone.js";

const list = document.getElementById("entries");

function made(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}

async function show(box) {
  const entries = await box.list();
  list.replaceChildren(...entries.map((entry) => line(box, entry)));
  list.hidden = !entries.length;
  document.getElementById("empty").hidden = entries.length > 0;
  document.getElementById("send").hidden = !entries.some((entry) => entry.state === "waiting");
}

function line(box, entry) {
  const isRefused = entry.state === "refused";
  const head = made("b", { textContent: `${entry.title}: ${entry.words}` });
  const tag = made("span", { className: `tag ${isRefused ? "bad" : "warn"}`, textContent: isRefused ? "to mend" : "waiting" });
  const when = made("small", { textContent: `${entry.label ?? ""} ${toldOf(entry, phone.zone)}${movedWords(entry)}` });
  const why = Object.values(entry.why ?? {}).flat().map((words) => made("li", { textContent: words }));
  const mend = made("a", { className: "button", href: `${entry.page}#mend=${entry.order}`, textContent: isRefused ? "Mend" : "Change" });
  const parts = [head, made("br"), tag, " ", when, made("ul", { className: "errors" }, ...why)];
  return made("li", {}, ...parts, made("div", { className: "links" }, mend, throwAway(box, entry)));
}

function movedWords({ movedS }) {
  return movedS ? `, corrected by ${inWords(movedS)} ${movedS < 0 ? "back" : "on"}` : "";
}

/* Thrown away on purpose: it takes two taps. */
function throwAway(box, entry) {
  const button = made("button", { type: "button", className: "plain", textContent: "Throw away" });
  button.addEventListener("click", () => {
    if (button.classList.contains("bad")) return box.discard(entry.order);
    button.classList.add("bad");
    button.textContent = "Throw away for good: tap again";
    return undefined;
  });
  return button;
}

async function showStorage() {
  const isLasting = await navigator.storage?.persisted?.();
  document.getElementById("storage").hidden = isLasting !== false;
}

async function start() {
  const box = await outbox;
  box.addEventListener("change", () => show(box));
  document.querySelector("#send button").addEventListener("click", () => box.flush());
  await show(box);
  await showStorage();
}

if (phone) {
  start().catch((error) => {
    const broken = document.getElementById("broken");
    broken.hidden = false;
    broken.firstElementChild.textContent = error.message;
  });
}
