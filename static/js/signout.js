/* Signing out forgets the kept pages, never the outbox, and says so while something waits there. */

import { tellWorker } from "./release.js";

export function watchSignOut(outbox, urls) {
  for (const form of document.querySelectorAll("form")) {
    if (!urls.includes(new URL(form.action).pathname)) continue;
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const { waiting, refused } = (await outbox.catch(() => null))?.status ?? { waiting: 0, refused: 0 };
      if (waiting + refused && !form.isWarned) return warn(form, waiting + refused);
      await tellWorker({ type: "forget" });
      form.submit();
      return undefined;
    });
  }
}

function warn(form, count) {
  form.isWarned = true;
  const words = document.createElement("p");
  words.role = "alert";
  words.className = "say warn";
  const what = count === 1 ? "1 entry is" : `${count} entries are`;
  words.textContent = `${what} still on this phone only. They stay here, and go when you sign in again. Tap again to sign out.`;
  form.prepend(words);
}
