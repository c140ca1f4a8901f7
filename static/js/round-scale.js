/* offerScale(button, {onWeight, say}, scope): "Connect scale", where the browser can talk to one. */

import { connect } from "./weight-scale.js";

const COARSE = "Connected. It sends steps of 5 g or more: good for several bars together, too coarse for one late in the cure.";

export function offerScale(button, { onWeight, say }, scope = globalThis) {
  const { bluetooth } = scope.navigator;
  if (!bluetooth) return;
  button.hidden = false;
  let held = null;
  const gone = () => {
    held = null;
    button.textContent = "Connect scale";
  };
  button.addEventListener("click", async () => {
    if (held) return held.close();
    try {
      held = await connect(bluetooth, { onWeight, onGone: gone });
      button.textContent = `Let go of ${held.name}`;
      say(COARSE);
    } catch (error) {
      // Choosing none in the browser's list is no fault.
      if (error.name !== "NotFoundError") say(`The scale did not answer: ${error.message}`);
    }
    return undefined;
  });
}
