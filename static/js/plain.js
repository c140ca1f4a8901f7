/* What plain HTTP lacks, said where a page has the words for it (`data-plain`), and once more when the network goes
 * (`data-phone="stay"`): no worker keeps the other pages then. The outbox works here as elsewhere.
 *
 *   showPlain(scope?)
 */

export function showPlain(scope = globalThis) {
  if (scope.isSecureContext) return;
  for (const words of scope.document.querySelectorAll("[data-plain]")) words.hidden = false;
  const stay = scope.document.querySelector('[data-phone="stay"]');
  const update = () => {
    stay.hidden = scope.navigator.onLine;
  };
  scope.addEventListener("online", update);
  scope.addEventListener("offline", update);
  update();
}
