/* The pages of the curing room are kept for later, and forgotten when somebody else uses the phone.
 *
 *   keepPages(phone)    asks for the list and has the worker fetch what is new in it
 *   noticePerson(phone) forgets the pages of whoever was here before
 */

import { tellWorker } from "./release.js";

export async function keepPages(phone) {
  if (phone.asOf || !navigator.serviceWorker) return;
  // On the very first visit the worker is awake before this page is its own.
  await navigator.serviceWorker.ready;
  const response = await fetch(phone.pagesUrl, { redirect: "error" });
  if (response.ok) await tellWorker({ type: "keep", pages: (await response.json()).pages });
}

export async function noticePerson(phone) {
  if (phone.asOf) return;
  const before = localStorage.getItem("curelog-person");
  if (before && before !== String(phone.person)) await tellWorker({ type: "forget" });
  localStorage.setItem("curelog-person", phone.person);
}
