/* massesIn(unit) -> {grams(value), shown(g), text(g)}: between the number on the screen and grams. */

// Avoirdupois, exact; as in curelog/units.py.
const GRAMS_PER_OUNCE = 28.349523125;

export function massesIn(unit) {
  const perUnit = unit === "oz" ? GRAMS_PER_OUNCE : 1;
  const digits = unit === "oz" ? 2 : 1;
  return {
    grams: (value) => value * perUnit,
    shown: (g) => `${Number((g / perUnit).toPrecision(4))} ${unit}`,
    text: (g) => String(Number((g / perUnit).toFixed(digits))),
  };
}
