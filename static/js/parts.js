/* Parts of a page that the workshop works out anew while somebody types. Without a network that is said in their place:
 * what stands there is as old as the page.
 *
 *   watchParts(scope)   listens to htmx
 */

const WORDS = "This needs the network: it stands as it was. What you typed is still here.";

export function watchParts(scope = document) {
  scope.addEventListener("htmx:sendError", ({ detail: { target } }) => {
    if (target.querySelector(":scope > .not-anew")) return;
    const line = Object.assign(scope.createElement("p"), { className: "say not-anew", role: "status", textContent: WORDS });
    target.prepend(line);
  });
}
