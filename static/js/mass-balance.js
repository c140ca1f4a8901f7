/* The sum of the bars against what was poured; the phone's half of curelog/domain/mass_balance.py, held to it by a test.
 *
 *   balance({ pouredG, count, weightsG, allG, trimmingsG }) -> { pouredG, missingG, isOdd }, null when nothing was weighed
 *   question(found, shown) -> the sentence, "" when nothing is odd; shown writes a mass
 */

// Why these: curelog/domain/mass_balance.py.
const USUAL_LOSS = 0.06;
const USUAL_GAIN = 0.02;

export function balance({ pouredG, count, weightsG, allG, trimmingsG }) {
  if (allG === null && !weightsG.length) return null;
  const barsG = allG ?? (count * weightsG.reduce((sum, g) => sum + g, 0)) / weightsG.length;
  const missingG = pouredG - (barsG + (trimmingsG ?? 0));
  const isUsual = -USUAL_GAIN * pouredG <= missingG && missingG <= USUAL_LOSS * pouredG;
  return { pouredG, missingG, isOdd: !isUsual };
}

export function question(found, shown) {
  if (!found?.isOdd) return "";
  const [missing, poured] = [shown(Math.abs(found.missingG)), shown(found.pouredG)];
  const words =
    found.missingG < 0 ? `The bars come to ${missing} more than the ${poured} poured.` : `${missing} are missing of ${poured} poured.`;
  return `${words} Is a bar or a mould missing, or a weight mistyped?`;
}
