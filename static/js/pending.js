/* What waits on this phone, shown in its place on the loaf's page.
 *
 *   showPending(outbox, phone)   fills [data-pending="<loaf>"]
 */

import { toldOf } from "./moments.js";

export function showPending(outbox, phone) {
  const list = document.querySelector("[data-pending]");
  if (!list) return;
  const update = async () => {
    const entries = (await outbox.list()).filter((entry) => entry.about === list.dataset.pending);
    list.replaceChildren(...entries.reverse().map((entry) => line(entry, phone)));
    list.hidden = !entries.length;
  };
  outbox.addEventListener("change", update);
  update();
}

function line(entry, phone) {
  const item = document.createElement("li");
  const tag = Object.assign(document.createElement("a"), { className: "tag warn", href: phone.outboxUrl });
  tag.textContent = entry.state === "refused" ? "to mend" : "waiting on this phone";
  const when = Object.assign(document.createElement("small"), { textContent: toldOf(entry, phone.zone) });
  item.append(`${entry.title}: ${entry.words}`, document.createElement("br"), tag, " ", when);
  return item;
}
