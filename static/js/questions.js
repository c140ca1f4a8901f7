/* questions(weightG, known, shown) -> sentences; the phone's half of curelog/domain/questioning.py, held to it by a
 * test. known: {lastG, lowG, highG (expected range or null), leastG, others: {name: g}, stepG}; shown writes a mass. */

const GRAMS_PER_OUNCE = 28.3495;
const HUMID_GAIN = 0.01;

const inGrams = (valueG) => `${Number(valueG.toPrecision(4))} g`;

export function questions(weightG, known, shown = inGrams) {
  if (weightG <= 0) return ["Nothing on the scale?"];
  if (known.lastG === null) return [];
  const slackG = Math.max(2 * known.stepG, HUMID_GAIN * known.lastG);
  const [lowG, highG] = expectedRange(known, slackG);
  const isIn = (valueG) => lowG <= valueG && valueG <= highG;
  if (isIn(weightG)) return [];
  const asked = [...unit(weightG, isIn), ...otherBar(weightG, known, slackG)];
  if (weightG > known.lastG + slackG) {
    asked.push(`That is ${shown(weightG - known.lastG)} more than last time. Was the tray tared, is it this bar?`);
  } else if (known.leastG !== null && weightG < known.leastG) {
    asked.push("That is less than would be left if all its water were gone. Planed, chipped, or another bar?");
  } else if (!asked.length) {
    asked.push(`Expected was ${shown(lowG)} to ${shown(highG)}. Is it the right bar, and the scale at zero?`);
  }
  return asked;
}

function expectedRange({ lastG, lowG, highG, leastG }, slackG) {
  if (lowG === null) return [Math.max(leastG ?? 0, 0.6 * lastG), lastG + slackG];
  return [leastG === null ? lowG - slackG : Math.max(lowG - slackG, leastG), Math.max(lastG + slackG, highG + slackG)];
}

function unit(weightG, isIn) {
  if (isIn(weightG * GRAMS_PER_OUNCE)) return ["Is the scale set to ounces?"];
  if (isIn(weightG / GRAMS_PER_OUNCE)) return ["Is the scale set to grams?"];
  return isIn(weightG * 0.1) || isIn(weightG * 10) ? ["Is the decimal point in the right place?"] : [];
}

function otherBar(weightG, { others }, slackG) {
  const near = Object.entries(others).find(([, g]) => -slackG <= g - weightG && g - weightG <= 3 * slackG);
  return near ? [`That looks like bar ${near[0]}.`] : [];
}
