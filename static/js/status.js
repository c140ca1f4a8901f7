/* What every page shows of the outbox: how much waits, what stops it, whether the clock is off; and how old the page is.
 *
 *   showStatus(outbox, phone)   fills the parts of templates/pwa/_phone.html
 *   showAge(phone)
 */

import { inWords, told } from "./moments.js";

const STOPS = {
  "sign-in": "Sign in again to send what waits on this phone.",
  "not-yours": "Somebody else is signed in here. What waits goes when its writer signs in.",
};

const part = (name) => document.querySelector(`[data-phone="${name}"]`);

export function showStatus(outbox, phone) {
  const update = () => {
    const { waiting, refused, state, clockOffS } = outbox.status;
    showCount(waiting, refused);
    part("stopped").hidden = !STOPS[state];
    part("stopped").querySelector("span").textContent = STOPS[state] ?? "";
    showClock(state === "clock" ? clockOffS : 0, waiting);
  };
  outbox.addEventListener("change", update);
  for (const button of part("clock").querySelectorAll("button")) {
    button.addEventListener("click", () => outbox.decideClock(button.value === "correct"));
  }
  return outbox.refresh();
}

function showCount(waiting, refused) {
  const link = part("count");
  link.hidden = !(waiting + refused);
  link.textContent = refused ? `${refused} to mend` : `${waiting} waiting`;
  link.classList.toggle("bad", refused > 0);
  link.classList.toggle("warn", !refused);
  link.setAttribute("aria-label", `Outbox: ${waiting} waiting on this phone${refused ? `, ${refused} to mend` : ""}`);
}

function showClock(offS, waiting) {
  part("clock").hidden = !offS;
  const side = offS > 0 ? "ahead of" : "behind";
  part("clock").querySelector("span").textContent =
    `The clock of this phone is ${inWords(offS)} ${side} the workshop's. Shall the times of what waits (${waiting}) be corrected?`;
}

export function showAge(phone) {
  if (!phone.asOf) return;
  part("age").hidden = false;
  part("age").textContent = `No network: this page is as of ${told(new Date(phone.asOf), phone.zone)}.`;
}
