/* What the phone asks about a weight by itself, from what the page told about its bars when it was last fetched.
 *
 *   askedOfWeight(form, entry) -> [field, sentences]
 *   nextBar(form) -> URL of the form for the bar after the one just weighed, or null
 *   contextOf(bars, chosen, stepG) -> what questions.js wants; bars: [{number, lastG, lowG, highG, leastG}]
 */

import { numberOf } from "./entry.js";
import { massesIn } from "./masses.js";
import { questions } from "./questions.js";

const A_DAY_MS = 86_400_000;

const boxes = (form) => [...form.querySelectorAll("input[data-number]")];
const told = (text) => (text && Number.isFinite(Number(text)) ? Number(text) : null);

function barOf({ dataset }) {
  const { number, lastG, lowG, highG, leastG } = dataset;
  return { number, lastG: told(lastG), lowG: told(lowG), highG: told(highG), leastG: told(leastG) };
}

/* Several bars together: sums, so a little more forgiving than the forecast of their sum. */
export function contextOf(bars, chosen, stepG) {
  const onScale = bars.filter((bar) => chosen.includes(bar.number));
  const sum = (name) => onScale.reduce((total, bar) => (total === null || bar[name] === null ? null : total + bar[name]), 0);
  const rest = bars.filter((bar) => !chosen.includes(bar.number) && bar.lastG !== null);
  const others = onScale.length === 1 ? Object.fromEntries(rest.map((bar) => [bar.number, bar.lastG])) : {};
  return { lastG: sum("lastG"), lowG: sum("lowG"), highG: sum("highG"), leastG: sum("leastG"), others, stepG };
}

export function askedOfWeight(form, entry) {
  const fields = new Map(entry.fields);
  const chosen = boxes(form).filter((box) => box.checked);
  const value = numberOf(fields.get("weight_g") ?? "");
  // What the page told is of now: a weight of another day is asked about by the workshop.
  const isOfAnotherDay = Math.abs(Date.parse(fields.get(entry.moment)) - Date.now()) > A_DAY_MS;
  if (isOfAnotherDay || fields.get("new_bar") || !chosen.length || Number.isNaN(value)) return ["weight_g", []];
  const numbers = chosen.map((box) => box.dataset.number);
  const context = contextOf(boxes(form).map(barOf), numbers, Number(form.dataset.stepG));
  const { grams, shown } = massesIn(entry.units.mass);
  return ["weight_g", questions(grams(value), context, shown)];
}

export function nextBar(form) {
  const all = boxes(form);
  const chosen = all.filter((box) => box.checked);
  const next = chosen.length === 1 && all[all.indexOf(chosen[0]) + 1];
  return next ? `${location.pathname}?bar=${next.value}` : null;
}

/* A page from the phone's own store may have been kept for another bar. */
export function choseBar(form) {
  const wanted = new URLSearchParams(location.search).getAll("bar");
  if (wanted.length) for (const box of boxes(form)) box.checked = wanted.includes(box.value);
}
