/* onSwipe(element, {left, right}): a finger drawn sideways. Up and down still scrolls (touch-action in the style). */

const LEAST_PX = 50;

export function onSwipe(element, { left, right }) {
  let from = null;
  element.addEventListener("pointerdown", (event) => {
    from = event.isPrimary ? event : null;
  });
  element.addEventListener("pointerup", (event) => {
    if (!from) return;
    const [across, down] = [event.clientX - from.clientX, event.clientY - from.clientY];
    from = null;
    if (Math.abs(across) < LEAST_PX || Math.abs(across) < 2 * Math.abs(down)) return;
    if (across < 0) left();
    else right();
  });
}
