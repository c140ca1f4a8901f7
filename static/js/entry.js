/* From a form to an entry of the outbox, and back.
 *
 *   makeEntry({ act, about, title, words, fields, names, page, ... }) -> entry; what is missing is filled in
 *   readForm(form, submitter, phone) -> { entry, files: File[] by field }   values as typed
 *   fillForm(form, entry, zone)                                             for mending
 *   mistakes(form, submitter) -> {name: [sentence]}: what can be seen here: needed fields left empty, numbers that are none
 *   numberOf(text) -> the number typed with either decimal mark, or NaN
 *   keepsOf(form) -> names of the buttons that keep
 *
 * A form says by its data attributes: act, about (loaf or recipe), corrects, required, oneOf (names of which one must
 * be filled in), keeps (names of the buttons that keep, where others do not), moment (the name of its moment field), now (the moment is "now" unless touched).
 */

import { freshKey } from "./keys.js";
import { wallClock } from "./moments.js";

const NOT_TYPED = new Set(["csrfmiddlewaretoken", "key", "kept_anyway"]);

export function makeEntry(parts) {
  const fresh = { key: freshKey(), corrects: "", names: [], madeAt: new Date().toISOString(), moment: "happened_at" };
  return { ...fresh, names: parts.fields.map(([name]) => name), ...parts };
}

export function readForm(form, submitter, phone) {
  const data = new FormData(form);
  if (submitter?.name && !keepsOf(form).includes(submitter.name)) data.append(submitter.name, submitter.value);
  const typed = [...data].filter(([name]) => !NOT_TYPED.has(name));
  const now = new Date().toISOString();
  const fields = typed.filter(([, value]) => typeof value === "string");
  const files = typed.filter(([, value]) => value instanceof File && value.size);
  const entry = makeEntry({
    act: form.dataset.act,
    about: form.dataset.about,
    corrects: form.dataset.corrects ?? "",
    person: phone.person,
    units: phone.units,
    zone: phone.zone,
    moment: form.dataset.moment,
    fields: fields.map(([name, value]) => [name, name === form.dataset.moment ? momentOf(form, value, now) : value]),
    names: namesOf(form),
    title: form.dataset.title,
    label: form.dataset.label,
    words: wordsOf(form, submitter),
    page: location.pathname + location.search,
    madeAt: now,
  });
  if (submitter?.name === "kept_anyway") entry.fields.push(["kept_anyway", "on"]);
  return { entry, files: files.map(([field, file]) => ({ field, file })) };
}

/* Names of the buttons that keep, where a form has others too. */
export const keepsOf = (form) => (form.dataset.keeps ?? "").split(" ").filter(Boolean);

function namesOf(form) {
  return [...new Set([...form.elements].map((control) => control.name))].filter((name) => name && !NOT_TYPED.has(name));
}

/* Untouched, the page's own moment is of no use: it may have been kept for days. */
function momentOf(form, value, now) {
  const field = form.elements[form.dataset.moment];
  if (form.mending && value === field.shown) return form.mending.typedMoment;
  return "now" in form.dataset && value === field.defaultValue ? now : value;
}

export function refreshMoment(form, zone) {
  const field = form.elements[form.dataset.moment];
  if (field?.defaultValue && "now" in form.dataset) field.defaultValue = wallClock(new Date(), zone);
}

/* "Bar 2, 140 g": what was chosen or changed, as it stands on the screen. */
function wordsOf(form, submitter) {
  const words = [...form.elements].filter((control) => isTold(control)).map((control) => wordOf(control));
  if (submitter?.name && ![...NOT_TYPED, ...keepsOf(form)].includes(submitter.name)) words.push(submitter.textContent);
  return words
    .map((word) => word.trim())
    .filter(Boolean)
    .join(", ")
    .slice(0, 120);
}

function isTold(control) {
  if (NOT_TYPED.has(control.name) || control.name === control.form.dataset.moment) return false;
  if (control.type === "radio" || control.type === "checkbox") return control.checked;
  return ["text", "textarea", "search", "number"].includes(control.type) && control.value !== control.defaultValue;
}

function wordOf(control) {
  if (control.type !== "radio" && control.type !== "checkbox") {
    return `${control.value} ${control.closest(".with-unit")?.querySelector("span")?.textContent ?? ""}`;
  }
  const label = control.labels[0];
  return (label?.querySelector("b, span") ?? label)?.textContent ?? "";
}

export function fillForm(form, entry, zone) {
  const values = new Map();
  for (const [name, value] of entry.fields) values.set(name, [...(values.get(name) ?? []), value]);
  const key = entry.isClash ? freshKey() : entry.key;
  form.mending = { kept: { order: entry.order, key, units: entry.units, zone: entry.zone, corrects: entry.corrects } };
  for (const control of form.elements) {
    if (!control.name || NOT_TYPED.has(control.name) || control.type === "file" || control.type === "submit") continue;
    const given = values.get(control.name) ?? [];
    if (control.type === "radio" || control.type === "checkbox") control.checked = given.includes(control.value);
    else if (control.name === entry.moment) fillMoment(form, control, given[0] ?? "", zone);
    else control.value = given.shift() ?? "";
  }
}

function fillMoment(form, control, value, zone) {
  form.mending.typedMoment = value;
  control.value = value.endsWith("Z") ? wallClock(new Date(value), zone) : value.slice(0, 16);
  control.shown = control.value;
}

export const numberOf = (text) => Number(text.replace(",", ".").replaceAll(" ", ""));

export function mistakes(form, submitter) {
  const wrong = Object.fromEntries(missing(form, submitter).map((name) => [name, ["This is needed."]]));
  for (const { name, inputMode, value } of form.elements) {
    if (["decimal", "numeric"].includes(inputMode) && Number.isNaN(numberOf(value))) wrong[name] = ["Enter a number."];
  }
  return wrong;
}

function missing(form, submitter) {
  const data = new FormData(form);
  if (submitter?.name) data.append(submitter.name, submitter.value);
  const isEmpty = (name) => !data.getAll(name).some((value) => (value instanceof File ? value.size : value.trim()));
  const isNeeded = (name) => name in form.elements && !(form.mending?.hasFiles && form.elements[name].type === "file");
  const required = (form.dataset.required ?? "").split(" ").filter((name) => name && isEmpty(name) && isNeeded(name));
  const oneOf = [...form.querySelectorAll("[data-one-of]")].map((part) => part.dataset.oneOf.split(" "));
  return [...required, ...oneOf.filter((names) => names.every(isEmpty)).map(([first]) => first)];
}
