/* The bars of the page, and which of them a round walks along.
 *
 *   barsOf(place) -> [{key, loaf, number, lastG, lowG, highG, leastG, stepG, lastWords, expectedWords, isDone, ...}]
 *   choiceOf(location) -> {which, key, bars}: today, all, place, loaf, or the code of a scanned tag; with numbers of bars
 *                         that the plan wants on the scale together
 *   isIn(choice, bar)
 */

const gramsOf = (text) => (text && Number.isFinite(Number(text)) ? Number(text) : null);

export function barsOf(place) {
  return [...place.querySelectorAll("[data-bar]")].map((link) => barOf(link, link.closest("[data-loaf]").dataset));
}

function barOf(link, loaf) {
  const { bar, number, lastG, lowG, highG, leastG } = link.dataset;
  const words = (name) => link.querySelector(`[data-words="${name}"]`).textContent.trim();
  return {
    key: bar,
    number,
    lastG: gramsOf(lastG),
    lowG: gramsOf(lowG),
    highG: gramsOf(highG),
    leastG: gramsOf(leastG),
    stepG: Number(loaf.stepG),
    url: link.getAttribute("href"),
    lastWords: words("last"),
    expectedWords: words("expected"),
    isDone: "weighedToday" in link.dataset,
    isDue: "due" in loaf,
    isTogether: (loaf.together ?? "").split(" ").includes(number),
    codes: loaf.codes.split(" "),
    loaf: loaf.loaf,
    batch: loaf.batch,
    name: loaf.name,
    advice: loaf.advice,
    place: loaf.place ?? "",
    placeName: loaf.placeName ?? "",
  };
}

export function choiceOf({ pathname, search }) {
  const code = pathname.match(/^\/t\/([a-z2-7]{8})\/$/i)?.[1];
  if (code) return { which: "code", key: code.toLowerCase(), bars: [] };
  const query = new URLSearchParams(search);
  const bars = query.get("bars")?.split(",") ?? [];
  const named = ["place", "loaf"].find((name) => query.has(name));
  if (named) return { which: named, key: query.get(named), bars };
  return { which: query.get("which") === "all" ? "all" : "today", key: "", bars };
}

export function isIn({ which, key }, bar) {
  if (which === "code") return bar.codes.includes(key);
  if (which === "place" || which === "loaf") return bar[which] === key;
  return which === "all" || bar.isDue;
}
