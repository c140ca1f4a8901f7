/* Two pictures beside each other, wiped or blended by a slider, and looked at closely. Without this module they stand
 * one below the other. What is shown goes to the style as custom properties; see faces.css. */

import { moved, pinched, WHOLE, zoomed } from "./closer.js";
import { chosePictures } from "./faces-kept.js";

const STEP = 1.5;
const KEY_SHARE = 0.1;
// The screen rendition is sharp enough up to here.
const FULL_FROM = 1.2;
const ARROWS = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

const section = document.getElementById("compare");
if (section && "asOf" in document.documentElement.dataset) chosePictures(section);
const pictures = [...(section?.querySelectorAll(".view img") ?? [])];
let seen = WHOLE;

function start() {
  const [first] = pictures;
  section.style.setProperty("--ratio", first.width / first.height || 1);
  section.querySelector(".tools").hidden = false;
  show(WHOLE);
  listenToTools();
  for (const picture of pictures) listenToView(picture.parentElement);
}

function show(next) {
  seen = next;
  for (const [name, value] of Object.entries(seen)) section.style.setProperty(`--${name}`, value.toFixed(4));
  section.toggleAttribute("data-close", seen.zoom > 1);
  section.querySelector(".zoom output").textContent = `${Number(seen.zoom.toFixed(1))}×`;
  if (seen.zoom > FULL_FROM) for (const picture of pictures) sharpen(picture);
}

function sharpen(picture) {
  if (picture.getAttribute("src") !== picture.dataset.full) picture.src = picture.dataset.full;
}

function listenToTools() {
  const presses = { in: () => zoomed(seen, STEP), out: () => zoomed(seen, 1 / STEP), whole: () => WHOLE };
  for (const button of section.querySelectorAll("[data-zoom]")) {
    button.addEventListener("click", () => show(presses[button.dataset.zoom]()));
  }
  const slider = section.querySelector("#share");
  if (!slider) return setWay("beside");
  const ways = [...section.querySelectorAll("[name=way]")];
  for (const way of ways) way.addEventListener("change", () => setWay(way.value));
  slider.addEventListener("input", () => setShare(slider));
  setShare(slider);
  // After going back, the browser may have kept another choice.
  return setWay(ways.find((way) => way.checked).value);
}

function setWay(way) {
  section.dataset.way = way;
  const share = section.querySelector(".share");
  if (share) share.hidden = way === "beside";
}

function setShare(slider) {
  section.style.setProperty("--share", slider.value / 100);
  slider.setAttribute("aria-valuetext", `${slider.value} % of the 2nd`);
}

/* Fingers on both pictures pinch too: all are measured in the frame of the one that was touched first. */
const fingers = new Map();
let frame = null;

function place({ clientX, clientY }) {
  const box = frame.getBoundingClientRect();
  return { x: (clientX - box.left) / box.width, y: (clientY - box.top) / box.height };
}

function listenToView(view) {
  view.addEventListener("pointerdown", (event) => {
    if (!fingers.size) frame = view;
    fingers.set(event.pointerId, place(event));
    if (seen.zoom > 1) view.setPointerCapture(event.pointerId);
  });
  view.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    const before = [...fingers.values()];
    fingers.set(event.pointerId, place(event));
    show(followed(before, [...fingers.values()]));
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) {
    view.addEventListener(end, (event) => fingers.delete(event.pointerId));
  }
  view.tabIndex = 0;
  view.setAttribute("role", "group");
  view.setAttribute("aria-label", view.firstElementChild.alt);
  view.setAttribute("aria-describedby", "move-help");
  view.addEventListener("keydown", onKey);
}

function followed(before, after) {
  if (after.length === 2) return pinched(seen, before, after);
  if (after.length > 2) return seen;
  return moved(seen, after[0].x - before[0].x, after[0].y - before[0].y);
}

function onKey(event) {
  const arrow = ARROWS[event.key];
  if (arrow && seen.zoom > 1) show(moved(seen, KEY_SHARE * arrow[0], KEY_SHARE * arrow[1]));
  else if (event.key === "+") show(zoomed(seen, STEP));
  else if (event.key === "-") show(zoomed(seen, 1 / STEP));
  else return;
  event.preventDefault();
}

if (section) start();
