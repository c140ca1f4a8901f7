/* What the alkali as weighed leaves of the fats as weighed; the phone's half of PourForm's questions, held to it by a test.
 *
 *   superfat(fats, alkalis) -> share, not finite for fats that weigh nothing; both [{ g, molPerG }]: alkali taken up, or given
 *   question(share, wanted) -> the sentence, "" when nothing is odd
 */

// As in curelog/forms/pour.py.
const STRAYS = 0.02;

const moles = (parts) => parts.reduce((sum, { g, molPerG }) => sum + g * molPerG, 0);
const percent = (share) => `${(100 * share).toFixed(1)}%`;

export const superfat = (fats, alkalis) => 1 - moles(alkalis) / moles(fats);

export function question(share, wanted) {
  if (!Number.isFinite(share)) return "";
  if (share < 0) {
    const words = `That is ${percent(-share)} more alkali than these fats can take up: the soap would be lye-heavy.`;
    return `${words} Is a weight mistyped? Lye-heavy soap: do not use it, do not sell it.`;
  }
  if (Math.abs(share - wanted) <= STRAYS) return "";
  const words = `From these weights the superfat is ${percent(share)}, the recipe says ${percent(wanted)}.`;
  return `${words} Is a weight mistyped?`;
}
