// Guesses the time zone once, for a select that nobody has touched. Without it the maker chooses by hand.

export function guessZone(select, zone) {
  const known = Array.from(select.options).some((option) => option.value === zone);
  if (known) select.value = zone;
}

const select = globalThis.document?.querySelector("select[data-guess-zone]");
if (select) guessZone(select, Intl.DateTimeFormat().resolvedOptions().timeZone);
