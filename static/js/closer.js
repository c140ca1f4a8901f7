/* Looking closer at a picture: which part of it is seen. All places are shares of the frame, 0 to 1.
 *
 *   WHOLE                              {zoom: 1, x: 0, y: 0}: the picture is scaled by `zoom` and moved by x, y
 *   zoomed(seen, factor, point)        larger or smaller, with what lies under `point` staying there
 *   moved(seen, across, down)
 *   pinched(seen, before, after)       two fingers that went from `before` to `after`, each [{x, y}, {x, y}]
 */

export const WHOLE = { zoom: 1, x: 0, y: 0 };
export const CLOSEST = 8;
const CENTRE = { x: 0.5, y: 0.5 };

const within = (low, value, high) => Math.min(high, Math.max(low, value));

/* The frame stays filled: nothing is gained by drawing the picture out of it. */
const bounded = ({ zoom, x, y }) => ({ zoom, x: within(1 - zoom, x, 0), y: within(1 - zoom, y, 0) });

export function zoomed(seen, factor, point = CENTRE) {
  const zoom = within(1, seen.zoom * factor, CLOSEST);
  const grown = zoom / seen.zoom;
  return bounded({ zoom, x: point.x - grown * (point.x - seen.x), y: point.y - grown * (point.y - seen.y) });
}

export const moved = (seen, across, down) => bounded({ ...seen, x: seen.x + across, y: seen.y + down });

const middle = ([one, other]) => ({ x: (one.x + other.x) / 2, y: (one.y + other.y) / 2 });
const apart = ([one, other]) => Math.hypot(one.x - other.x, one.y - other.y);

export function pinched(seen, before, after) {
  const [from, to] = [middle(before), middle(after)];
  // Two fingers at one place tell no scale.
  const factor = apart(before) ? apart(after) / apart(before) : 1;
  return moved(zoomed(seen, factor, from), to.x - from.x, to.y - from.y);
}
