/* The screen of the weigh round. What a round is stands in round.js, how its weights are kept in round-keeping.js. */

import { numberOf } from "./entry.js";
import { pressOf, typed } from "./keypad.js";
import { massesIn } from "./masses.js";
import { outbox, phone } from "./phone.js";
import { questions } from "./questions.js";
import { barsOf, choiceOf, isIn } from "./round-bars.js";
import { drawChoice, drawOthers, drawRound, drawSummary, part } from "./round-drawing.js";
import { entryOf, Keeper } from "./round-keeping.js";
import { recall, remember, rememberedScale, rememberScale } from "./round-memory.js";
import { Round } from "./round.js";
import { offerScale } from "./round-scale.js";
import { secondLook } from "./signal.js";
import { onSwipe } from "./swipe.js";

const screen = document.getElementById("round");
const dialog = document.getElementById("other");
const scale = document.getElementById("scale");
const choice = choiceOf(location);
const all = barsOf(document.getElementById("bars"));
const masses = massesIn(phone.units.mass);

/* `sure`: the weight that was asked about, and is kept when Keep is pressed again. */
const state = { round: null, keeper: null, text: "", sure: "", asked: [], told: "", sentStepG: 0, isTogether: false, isThrough: false, isBusy: false };

async function start() {
  const box = await outbox.catch((error) => {
    state.asked = [error.message];
    return null;
  });
  state.keeper = box && new Keeper(box);
  const waiting = box ? await box.list() : [];
  state.round = roundOf(new Set(waiting.flatMap(barsWeighedIn)));
  if (!state.round.log.length) state.round.putTogether(choice.bars);
  state.isTogether = state.round.beside.size > 0;
  listen();
  draw();
}

const barsWeighedIn = ({ act, fields }) => (act === "weigh" ? fields.filter(([name]) => name === "bars").map(([, key]) => key) : []);

/* A round that was left and is opened again goes on; what was weighed already today is not asked for again. */
function roundOf(waiting) {
  const before = recall(choice);
  if (before) return new Round(all.filter((bar) => before.keys.includes(bar.key)), before);
  const chosen = all.filter((bar) => isIn(choice, bar));
  // A scanned loaf is wanted now, weighed already or not.
  if (choice.which === "loaf" || choice.which === "code") return new Round(chosen);
  const left = chosen.filter((bar) => !bar.isDone && !waiting.has(bar.key));
  state.isThrough = chosen.length > 0 && !left.length;
  return new Round(left);
}

function draw() {
  const { round } = state;
  remember(choice, round);
  drawChoice(choice, round.bars.length > 0, state.isThrough);
  if (!round.bars.length) return;
  drawRound(screen, state, masses);
  drawSummary(round, masses);
}

function press(key) {
  const action = ACTIONS[key];
  if (action) return action();
  Object.assign(state, { text: typed(state.text, key), sentStepG: 0 });
  return changed();
}

function changed() {
  Object.assign(state, { sure: "", asked: [], told: state.text ? "" : state.told });
  draw();
}

function moved(move) {
  move();
  Object.assign(state, { text: "", sentStepG: 0, isTogether: false });
  changed();
}

function second(words) {
  state.asked = words;
  secondLook();
  draw();
}

async function keep() {
  const { round, text, sentStepG } = state;
  const value = numberOf(text);
  if (!round.current || state.isBusy) return undefined;
  if (!text || Number.isNaN(value)) return second(["What does the scale show?"]);
  const isSure = state.sure === text;
  const words = questions(masses.grams(value), round.known(), masses.shown);
  if (words.length && !isSure) {
    state.sure = text;
    return second(words);
  }
  // Digits of the next bar may be typed while this one goes to the disk.
  Object.assign(state, { isBusy: true, text: "", sentStepG: 0 });
  try {
    const bars = round.onScale;
    const kept = await state.keeper.keep(entryOf(bars, text, { phone, scale: scale?.value, sentStepG, isSure }));
    round.keep({ weightG: masses.grams(value), order: kept.order, key: kept.key });
    state.isTogether = false;
    state.told = `Kept: ${kept.words}`;
    Object.assign(state, { sure: "", asked: [] });
    navigator.storage?.persist?.();
  } catch (error) {
    Object.assign(state, { text, sentStepG, asked: [error.message ?? "This was not kept."] });
  }
  state.isBusy = false;
  draw();
  if (!round.current) finish();
  return undefined;
}

function finish() {
  document.getElementById("summary-title").focus();
}

async function undo() {
  const last = state.round.undo();
  if (!last) return;
  const isTaken = await state.keeper.takeBack(last.order);
  state.told = isTaken ? "Taken back." : "";
  moved(() => {});
  // The workshop has it already: there it is withdrawn, with a reason.
  if (!isTaken) location.assign(screen.dataset.withdraw.replace(/[0-9a-f-]{36}/, last.key));
}

const ACTIONS = {
  keep,
  undo,
  skip: () => moved(() => state.round.skip()),
  previous: () => moved(() => state.round.back()),
  again: () => moved(() => Object.assign(state, { round: new Round(all.filter((bar) => isIn(choice, bar))), isThrough: false })),
  skipped: () => moved(() => state.round.takeSkipped()),
  several: () => {
    state.isTogether = !state.isTogether;
    if (state.isTogether) state.round.tickMany();
    else state.round.beside.clear();
    changed();
  },
  other: () => {
    drawOthers(dialog, state.round, (key) => {
      dialog.close();
      moved(() => state.round.goTo(key));
    });
    dialog.showModal();
  },
};

function listen() {
  const main = document.getElementById("main");
  main.addEventListener("click", ({ target }) => {
    const button = target.closest("[data-press]");
    if (button && button.dataset.press !== "bluetooth") press(button.dataset.press);
  });
  // The reading keeps the focus, so that a keyboard's Enter keeps and does not press the last digit again.
  screen.querySelector(".keypad").addEventListener("pointerdown", (event) => event.preventDefault());
  part("together").addEventListener("change", ({ target }) => {
    state.round.tick(target.value, target.checked);
    changed();
  });
  document.addEventListener("keydown", onKey);
  onSwipe(part("card"), { left: ACTIONS.skip, right: ACTIONS.previous });
  document.addEventListener("visibilitychange", () => document.hidden && state.keeper?.letGo());
  if (scale) {
    scale.value = rememberedScale([...scale.options].map((option) => option.value));
    scale.addEventListener("change", () => rememberScale(scale.value));
  }
  offerScale(screen.querySelector('[data-press="bluetooth"]'), {
    onWeight: ({ weightG, stepG }) => {
      Object.assign(state, { text: masses.text(weightG), sentStepG: stepG });
      changed();
    },
    say: (words) => {
      state.told = words;
      draw();
    },
  });
}

function onKey(event) {
  const key = pressOf(event);
  const isElsewhere = event.target.closest("select, dialog, nav, header, [type=checkbox]");
  const isPressing = event.key === "Enter" && event.target.closest("button, a");
  if (!key || isElsewhere || isPressing || !state.round.current) return;
  event.preventDefault();
  press(key);
}

if (phone) start();
