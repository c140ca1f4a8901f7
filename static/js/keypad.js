/* What a key means, on the glass or on a keyboard.
 *
 *   typed(text, key) -> text      key: a digit, "." or "back"
 *   pressOf(event) -> press       of a keyboard's event: "0".."9", ".", "back", "keep", "skip", "previous", or null
 */

const MOST = 8;
const PRESSES = { ".": ".", ",": ".", Decimal: ".", Backspace: "back", Enter: "keep" };
const MOVES = { ArrowRight: "skip", ArrowDown: "skip", ArrowLeft: "previous", ArrowUp: "previous" };

export function typed(text, key) {
  if (key === "back") return text.slice(0, -1);
  if (key === ".") return text.includes(".") ? text : `${text || "0"}.`;
  if (text.length >= MOST) return text;
  return text === "0" ? key : text + key;
}

export function pressOf({ key, ctrlKey, altKey, metaKey }) {
  if (ctrlKey || altKey || metaKey) return null;
  if (/^\d$/.test(key)) return key;
  return PRESSES[key] ?? MOVES[key] ?? null;
}
