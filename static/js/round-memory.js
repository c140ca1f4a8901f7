/* What outlasts a reload: how far the round has come, for this tab; which scale stands on the table, for this phone. */

const ROUND = "curelog-round";
const SCALE = "curelog-scale";
const today = () => new Date().toDateString();
const nameOf = ({ which, key }) => `${which} ${key}`;

export function recall(choice, store = sessionStorage) {
  const before = JSON.parse(store.getItem(ROUND));
  return before?.day === today() && before.of === nameOf(choice) ? before : null;
}

/* A round that is through begins anew when it is opened again. */
export function remember(choice, { bars, log, skipped, current }, store = sessionStorage) {
  if (!current || !log.length) return store.removeItem(ROUND);
  const keys = bars.map((bar) => bar.key);
  return store.setItem(ROUND, JSON.stringify({ day: today(), of: nameOf(choice), keys, log, skipped: [...skipped] }));
}

export function rememberedScale(known, store = localStorage) {
  const scale = store.getItem(SCALE) ?? "";
  return known.includes(scale) ? scale : "";
}

export function rememberScale(scale, store = localStorage) {
  store.setItem(SCALE, scale);
}
