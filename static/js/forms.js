/* Acts' forms go into the outbox first, then to the workshop. Without this module they post as ever.
 *
 *   intercept(form)   a form with data-act; see entry.js for its other attributes
 */

import { asked } from "./asking.js";
import { suggestNumber } from "./batch-number.js";
import { shrink } from "./capture.js";
import { fillForm, keepsOf, mistakes, readForm, refreshMoment } from "./entry.js";
import { freshKey } from "./keys.js";
import { outbox, phone, say, sayNext } from "./phone.js";
import { withTold } from "./pictures.js";
import { choseBar, nextBar } from "./weigh.js";

// So long the page waits for the workshop's answer before it goes on. What waits goes later.
const PATIENCE_MS = 1_500;

export async function intercept(form) {
  refreshMoment(form, phone.zone);
  if (phone.asOf) choseBar(form);
  form.addEventListener("submit", (event) => {
    const keeps = keepsOf(form);
    if (form.straight || (keeps.length && !keeps.includes(event.submitter?.name) && !event.submitter?.dataset.anyway)) return;
    event.preventDefault();
    if (!form.busy) keepTyped(form, event.submitter);
  });
  await suggestNumber(form, phone, await outbox);
  await beginMending(form);
}

/* Opened from the outbox to be mended: #mend=12. */
async function beginMending(form) {
  const order = Number(new URLSearchParams(location.hash.slice(1)).get("mend"));
  if (!order) return;
  const box = await outbox;
  box.hold(order);
  const entry = (await box.list()).find((one) => one.order === order);
  if (!entry) {
    say("This was sent meanwhile. It can be corrected on the loaf's page.");
    return;
  }
  fillForm(form, entry, phone.zone);
  form.mending.hasFiles = (await box.store.files(order)).length > 0;
  showErrors(form, entry.why ?? {});
  const { mass, length, temperature } = entry.units;
  const isOther = Object.entries(phone.units).some(([kind, unit]) => entry.units[kind] !== unit);
  if (isOther) say(`The numbers are in ${mass}, ${length} and °${temperature}, as they were typed.`);
}

async function keepTyped(form, submitter) {
  clearErrors(form);
  const wrong = mistakes(form, submitter);
  if (Object.keys(wrong).length) return showErrors(form, wrong);
  const { entry, files } = readForm(form, submitter, phone);
  const isSure = submitter?.name === "kept_anyway" || "anyway" in (submitter?.dataset ?? {});
  const why = isSure ? {} : asked(form, entry);
  if (Object.keys(why).length) return question(form, why);
  form.busy = true;
  try {
    const kept = await keepAll(form, entry, files, isSure);
    await goOn(form, kept);
  } catch (error) {
    notKept(form, submitter, error);
  } finally {
    form.busy = false;
  }
}

/* One entry for each picture: on a bad line small parcels arrive, large ones do not. */
async function keepAll(form, entry, files, isSure) {
  const box = await outbox;
  const base = { ...entry, ...form.mending?.kept, fields: isSure ? [...entry.fields, ["kept_anyway", "on"]] : entry.fields };
  if (form.mending) return [await box.replace(withTold(base, form.pictures?.told()[0]), files.length ? await smaller(files) : undefined)];
  const formKey = form.elements.key?.value;
  if (formKey && !(await box.store.isUsed(formKey))) base.key = formKey;
  if (!files.length) return [await box.keep(base)];
  const progress = files.length > 1 ? say("") : null;
  try {
    return await keepEach(form, base, files, progress);
  } finally {
    progress?.remove();
  }
}

async function keepEach(form, base, files, progress) {
  const box = await outbox;
  const told = form.pictures?.told() ?? [];
  const kept = [];
  for (const [place, file] of files.entries()) {
    if (progress) progress.firstChild.textContent = `Keeping picture ${place + 1} of ${files.length} on this phone.`;
    const first = place ? { key: freshKey(), fields: base.fields.filter(([name]) => name !== "note") } : {};
    kept.push(await box.keep(withTold({ ...base, ...first }, told[place]), await smaller([file])));
    if (files.length > 1) forget(form);
  }
  return kept;
}

/* Should the next picture fail, this one must not be kept a second time, nor lend its key to what is left. */
function forget(form) {
  form.pictures?.dropFirst();
  form.elements.key.value = freshKey();
}

function smaller(files) {
  return Promise.all(files.map(async ({ field, file }) => ({ field, ...(await shrink(file)) })));
}

async function goOn(form, kept) {
  const box = await outbox;
  navigator.storage?.persist?.();
  const said = say("Kept on this phone.", "good");
  const first = kept[0];
  const verdict = await box.sendNow(first.order, PATIENCE_MS);
  if (kept.length === 1 && ["questions", "refused", "clash"].includes(verdict.kind)) {
    said.remove();
    form.mending = { kept: { order: first.order, key: verdict.kind === "clash" ? freshKey() : first.key } };
    return verdict.kind === "questions" ? question(form, verdict.why) : showErrors(form, verdict.why);
  }
  if (verdict.kind === "kept" && kept.length === 1) {
    sayNext(`Kept: ${verdict.words || first.words}.`, "good");
    for (const words of verdict.remarks) sayNext(words, "warn");
  } else {
    const many = kept.length > 1 ? `${kept.length} pictures are kept` : "Kept";
    sayNext(`${many} on this phone, and sent as soon as the workshop can be reached.`, "good");
  }
  location.assign(verdict.next ?? nextBar(form) ?? form.dataset.next);
  return undefined;
}

/* Nothing is claimed that is not so: what could not be kept still stands in the form, and can go straight. */
function notKept(form, submitter, error) {
  const line = say(error.message, "bad");
  line.role = "alert";
  const straight = Object.assign(document.createElement("button"), { type: "button", textContent: "Send it straight to the workshop" });
  straight.addEventListener("click", () => {
    // What goes straight is one form, with one subject and one bar for all pictures.
    if (form.pictures && !form.pictures.asOne()) {
      straight.textContent = "Send all pictures as it says below";
      return;
    }
    form.straight = true;
    form.requestSubmit(submitter);
  });
  line.append(straight);
  line.scrollIntoView({ block: "center" });
}

function question(form, why) {
  showErrors(form, why);
  const anyway = document.createElement("button");
  Object.assign(anyway, { className: "asked", textContent: "Keep it all the same" });
  anyway.dataset.anyway = "on";
  form.querySelector(".act").prepend(anyway);
}

function showErrors(form, why) {
  for (const [name, words] of Object.entries(why)) {
    const list = document.createElement("ul");
    list.className = "errors asked";
    list.role = "alert";
    list.append(...words.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
    const place = form.querySelector(`#field-${CSS.escape(name)}`) ?? form.querySelector(`[name="${CSS.escape(name)}"]`)?.parentElement;
    place?.closest("details")?.setAttribute("open", "");
    if (place) place.append(list);
    else form.prepend(list);
  }
  form.querySelector(".errors")?.scrollIntoView({ block: "center" });
}

function clearErrors(form) {
  for (const part of form.querySelectorAll(".errors, .asked")) part.remove();
}
