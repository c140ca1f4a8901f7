/* A page of faces from the phone's own store was kept for other pictures than its address asks for now: those are put
 * in their place, with what the strips tell of them.
 *
 *   pairOf(strips, first, second) -> [key, key or undefined]; strips: lists of keys; as `pair` in curelog/models/faces.py
 *   chosePictures(section)
 */

export function pairOf(strips, first, second) {
  const strip = (key) => strips.find((keys) => keys.includes(key));
  if (strip(first) && strip(second) && first !== second) return [first, second];
  const asked = strip(first) ? first : second;
  const keys = strip(asked) ?? strips.reduce((most, one) => (one.length > most.length ? one : most));
  return withItsLike(keys, strip(asked) ? asked : keys[0]);
}

function withItsLike(keys, key) {
  if (keys.length === 1) return [key];
  return key === keys.at(-1) ? [keys[0], key] : [key, keys.at(-1)];
}

export function chosePictures(section) {
  const strips = [...document.querySelectorAll(".strip")].map((strip) => [...strip.querySelectorAll("[data-photo]")]);
  const items = new Map(strips.flat().map((item) => [item.dataset.photo, item]));
  const asked = new URLSearchParams(location.search);
  const pair = pairOf(strips.map((strip) => strip.map((item) => item.dataset.photo)), asked.get("a"), asked.get("b"));
  for (const [place, figure] of [...section.querySelectorAll("figure")].entries()) {
    const links = section.querySelectorAll("p.links")[place];
    if (pair[place]) fill(figure, links, items.get(pair[place]));
    else for (const part of [figure, links, section.querySelector("fieldset"), section.querySelector(".share")]) part?.remove();
  }
  for (const [key, item] of items) link(item, key, pair);
}

function fill(figure, links, item) {
  const url = (size) => item.querySelector("img").getAttribute("src").replace("/thumb/", `/${size}/`);
  const [name, image] = [figure.querySelector("b"), figure.querySelector("img")];
  const [when, title] = [item.dataset.when, item.parentElement.dataset.title];
  Object.assign(image, { src: url("screen"), alt: `${title}, ${when}` });
  image.dataset.full = url("full");
  const small = Object.assign(document.createElement("small"), { textContent: title });
  figure.querySelector("figcaption").replaceChildren(name, ` ${when}`, document.createElement("br"), small);
  const [full, ...others] = links.querySelectorAll("a");
  full.href = url("full");
  // Erasing needs the network anyway.
  for (const other of others) other.remove();
}

/* Put on the side opposite to its own, a picture changes places with the other. */
function link(item, key, [first, second]) {
  const sides = [[key, key === second ? first : second], [key === first ? second : first, key]];
  for (const [place, button] of [...item.querySelectorAll(".choose a")].entries()) {
    const isThere = key === [first, second][place];
    const asked = sides[place].map((one, side) => one && `${"ab"[side]}=${one}`).filter(Boolean);
    button.setAttribute("href", isThere ? "#compare" : `?${asked.join("&")}#compare`);
    if (isThere) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
  }
}
