/* Puts a round on the screen. It reads the state and changes nothing of it. */

const root = document.getElementById("main");
export const part = (name) => root.querySelector(`[data-part="${name}"]`);

const made = (tag, properties = {}, ...children) => {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
};
const write = (name, words) => {
  const element = part(name);
  // Written anew only when it changes: a screen reader tells it each time.
  if (element.textContent !== words) element.textContent = words;
};

export function drawChoice({ which, key }, hasBars, isThrough) {
  document.getElementById("nothing").hidden = hasBars;
  if (isThrough) write("nothing", "All of these are weighed today.");
  root.querySelector('[data-press="again"]').hidden = !isThrough;
  document.getElementById("bars").hidden = true;
  for (const link of root.querySelectorAll("[data-choice]")) {
    const isHere = link.dataset.choice === `${which} ${key}`.trim();
    if (isHere) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  }
}

export function drawRound(screen, { round, text, asked, told, sure, isTogether }, masses) {
  const { current, onScale } = round;
  screen.hidden = !current;
  if (!current) return;
  const isMany = onScale.length > 1;
  write("where", current.placeName);
  write("count", `${round.bars.indexOf(current) + 1} of ${round.bars.length}`);
  write("number", onScale.map((bar) => bar.number).join(" + "));
  write("batch", current.batch);
  write("name", current.name);
  write("last", isMany ? "" : current.lastWords);
  write("expected", isMany ? expectedTogether(round.known(), masses) : current.expectedWords);
  write("told", asked.length ? "" : told || current.advice);
  part("told").classList.toggle("advice", !told);
  write("asked", asked.join(" "));
  document.getElementById("reading").value = text;
  screen.querySelector(".keep").textContent = sure && sure === text ? "Keep all the same" : "Keep";
  screen.querySelector('[data-press="undo"]').disabled = !round.log.length;
  drawTogether(round, isTogether);
}

function expectedTogether({ lowG, highG, lastG }, { shown }) {
  if (lowG !== null && highG !== null) return `together expected ${shown(lowG)} to ${shown(highG)}`;
  return lastG === null ? "" : `together last ${shown(lastG)}`;
}

function drawTogether(round, isTogether) {
  document.getElementById("together").hidden = !isTogether;
  root.querySelector('[data-press="several"]').setAttribute("aria-expanded", String(isTogether));
  const bars = round.ofLoaf(round.current);
  const place = part("together");
  const drawn = bars.map((bar) => bar.key).join(" ");
  if (place.dataset.drawn !== drawn) place.replaceChildren(...bars.map(tickBox));
  place.dataset.drawn = drawn;
  for (const box of place.querySelectorAll("input")) {
    box.checked = round.onScale.some((bar) => bar.key === box.value);
    box.disabled = box.value === round.current.key;
  }
}

function tickBox(bar) {
  const box = made("input", { type: "checkbox", value: bar.key });
  return made("label", {}, box, made("span", { textContent: bar.number }));
}

export function drawOthers(dialog, round, choose) {
  const { kept } = round;
  const lines = round.bars.map((bar) => {
    const state = kept.has(bar.key) ? "weighed" : round.skipped.has(bar.key) ? "skipped" : bar.lastWords;
    const small = made("small", { textContent: [bar.placeName, state].filter(Boolean).join(" · ") });
    const button = made("button", { type: "button", disabled: bar === round.current }, `Bar ${bar.number} of ${bar.batch}`, small);
    button.addEventListener("click", () => choose(bar.key));
    return made("li", {}, button);
  });
  dialog.querySelector('[data-part="others"]').replaceChildren(...lines);
}

export function drawSummary(round, { shown }) {
  const summary = document.getElementById("summary");
  summary.hidden = Boolean(round.current) || !round.bars.length;
  if (summary.hidden) return;
  const { changes, weighed, skipped, nowG, lastG, changeG } = round.totals();
  const share = lastG ? ` (${signed((100 * changeG) / lastG, (share) => `${share.toFixed(1)} %`)})` : "";
  const change = lastG ? `, ${signed(changeG, shown)}${share} since last time` : "";
  write("totals", `${weighed} weighed, ${skipped} skipped. ${weighed ? `Together ${shown(nowG)}${change}.` : ""}`);
  const rows = changes.map(({ bars, nowG: now, lastG: last }) =>
    made(
      "tr",
      {},
      made("td", { textContent: `${bars[0].batch} · ${bars.map((bar) => bar.number).join(" + ")}` }),
      ...[last === null ? "–" : shown(last), shown(now), last === null ? "–" : signed(now - last, shown)].map((words) =>
        made("td", { className: "num", textContent: words }),
      ),
    ),
  );
  part("changes").replaceChildren(...rows);
  summary.querySelector('[data-press="skipped"]').hidden = !skipped;
  summary.querySelector('[data-press="undo"]').hidden = !weighed;
}

const signed = (g, shown) => `${g > 0 ? "+" : g < 0 ? "−" : "±"}${shown(Math.abs(g))}`;
