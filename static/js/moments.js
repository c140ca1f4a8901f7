/* Moments as forms and entries tell them.
 *
 *   wallClock(date, zone)    "2026-01-12T09:30" on the workshop's clock, as a datetime-local field wants it
 *   moved(text, seconds)     a moment of an entry, earlier or later; ISO with Z, or wall clock
 *   inWords(seconds)         "2 hours", "1 day"
 *   told(date, zone, now)    "today 09:12", "yesterday 21:40", "12 Jan 09:12"
 *   toldOf(entry, zone)      the same for the moment that an entry tells of
 */

function parts(date, zone) {
  const format = new Intl.DateTimeFormat("en-GB", {
    timeZone: zone,
    hourCycle: "h23",
    year: "numeric",
    month: "2-digit",
    day: "2-digit",
    hour: "2-digit",
    minute: "2-digit",
  });
  return Object.fromEntries(format.formatToParts(date).map((part) => [part.type, part.value]));
}

export function wallClock(date, zone) {
  const { year, month, day, hour, minute } = parts(date, zone);
  return `${year}-${month}-${day}T${hour}:${minute}`;
}

export function moved(text, seconds) {
  const isWallClock = !text.endsWith("Z");
  const date = new Date(isWallClock ? `${text}Z` : text);
  const iso = new Date(date.getTime() + 1000 * seconds).toISOString();
  return isWallClock ? iso.slice(0, text.length) : iso;
}

export function inWords(seconds) {
  const minutes = Math.round(Math.abs(seconds) / 60);
  const [count, unit] =
    minutes < 90 ? [minutes, "minute"] : minutes < 36 * 60 ? [Math.round(minutes / 60), "hour"] : [Math.round(minutes / 1440), "day"];
  return `${count} ${unit}${count === 1 ? "" : "s"}`;
}

export function told(date, zone, now = new Date()) {
  const clock = wallClock(date, zone).slice(11);
  const day = (moment) => wallClock(moment, zone).slice(0, 10);
  if (day(date) === day(now)) return `today ${clock}`;
  if (day(date) === day(new Date(now.getTime() - 864e5))) return `yesterday ${clock}`;
  return `${new Intl.DateTimeFormat("en-GB", { timeZone: zone, day: "numeric", month: "short" }).format(date)} ${clock}`;
}

export function toldOf(entry, zone) {
  const typed = new Map(entry.fields).get(entry.moment) || entry.madeAt;
  return typed.endsWith("Z") ? told(new Date(typed), zone) : typed.slice(0, 16).replace("T", " ");
}
