/* What the phone asks by itself before it keeps an entry, from what the page told when it was last fetched.
 *
 *   asked(form, entry) -> {field: sentences}, {} when nothing looks odd
 *
 * Forms tell what is needed by data attributes (`for_phone` of the forms in curelog/forms).
 */

import { numberOf } from "./entry.js";
import * as massBalance from "./mass-balance.js";
import { massesIn } from "./masses.js";
import * as fats from "./superfat.js";
import { askedOfWeight } from "./weigh.js";

const ASKED = { weigh: askedOfWeight, cut: askedOfCut, pour: askedOfPour, release: askedOfRelease, leave: askedOfLeaving };

export function asked(form, entry) {
  const [field, words] = ASKED[entry.act]?.(form, entry) ?? ["", []];
  return words.length ? { [field]: words } : {};
}

const sentences = (words) => (words ? [words] : []);

/* What was typed into a field, in g; null when nothing was. */
function masses(entry) {
  const { grams, text } = massesIn(entry.units.mass);
  const values = new Map(entry.fields);
  const typed = (name) => (values.get(name)?.trim() ? grams(numberOf(values.get(name))) : null);
  return { values, typed, shown: (g) => `${text(g)} ${entry.units.mass}` };
}

function askedOfCut(form, entry) {
  const { values, typed, shown } = masses(entry);
  const count = numberOf(values.get("bar_count") ?? "");
  const isWeighed = (name) => name.startsWith("weight_") && values.get(name.replace("weight", "bar")) && typed(name) !== null;
  const found = massBalance.balance({
    pouredG: Number(form.dataset.pouredG),
    count,
    weightsG: [...values.keys()].filter(isWeighed).map(typed),
    allG: typed("all_bars_g"),
    trimmingsG: typed("trimmings_g"),
  });
  return ["all_bars_g", count ? sentences(massBalance.question(found, shown)) : []];
}

function askedOfPour(form, entry) {
  const { typed } = masses(entry);
  const parts = (kind) =>
    [...form.querySelectorAll(`[data-${kind}-mol-per-g]`)].map(({ name, dataset }) => ({
      name,
      g: typed(name),
      molPerG: Number(dataset[`${kind}MolPerG`]),
    }));
  const alkalis = parts("alkali");
  const share = fats.superfat(parts("fat"), alkalis);
  return [alkalis[0]?.name, sentences(fats.question(share, Number(form.dataset.superfat)))];
}

function askedOfRelease({ dataset }, entry) {
  const values = new Map(entry.fields);
  const why = values.get("early_why")?.trim() ? "" : dataset.whyNotReady;
  if (why && !entry.corrects) return ["early_why", [`${why} Say why it goes all the same.`]];
  const count = numberOf(values.get("bar_count")) + numberOf(values.get("retained_count"));
  const isMore = dataset.bars && count > Number(dataset.bars);
  return ["bar_count", isMore ? [`With the samples these are more than the ${dataset.bars} bars of the cut. Counted right?`] : []];
}

function askedOfLeaving({ dataset }, entry) {
  const count = numberOf(new Map(entry.fields).get("bar_count"));
  const isMore = dataset.here && count > Number(dataset.here);
  return ["bar_count", isMore ? [`By the book ${Math.max(Number(dataset.here), 0)} are left. Counted right?`] : []];
}
