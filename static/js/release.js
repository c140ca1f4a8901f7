/* The service worker: registered, and a newer one offered calmly. Nothing reloads before the person says so.
 *
 *   watchRelease(workerUrl)
 *   tellWorker(message) -> promise, resolved when the worker has done it or nobody is there to do it
 */

const ANSWER_MS = 2_000;

export async function watchRelease(workerUrl) {
  const { serviceWorker } = navigator;
  if (!workerUrl || !serviceWorker) return;
  const hadWorker = Boolean(serviceWorker.controller);
  let isAsked = false;
  serviceWorker.addEventListener("controllerchange", () => {
    if (isAsked) location.reload();
    else if (hadWorker) offer(() => location.reload());
  });
  const registration = await serviceWorker.register(workerUrl, { scope: "/" });
  const look = () => {
    if (!registration.waiting || !serviceWorker.controller) return;
    offer(() => {
      isAsked = true;
      registration.waiting.postMessage({ type: "activate" });
    });
  };
  look();
  registration.addEventListener("updatefound", () => registration.installing.addEventListener("statechange", look));
  document.addEventListener("visibilitychange", () => document.hidden || registration.update().catch(() => {}));
}

function offer(reload) {
  const bar = document.querySelector('[data-phone="release"]');
  bar.hidden = false;
  bar.querySelector("button").onclick = reload;
}

export async function tellWorker(message) {
  // Not the page's controller: a page that was reloaded past its worker has none, and the worker is there all the same.
  const worker = (await navigator.serviceWorker?.getRegistration())?.active;
  if (!worker) return;
  const { port1, port2 } = new MessageChannel();
  await new Promise((resolve) => {
    port1.onmessage = resolve;
    setTimeout(resolve, ANSWER_MS);
    worker.postMessage(message, [port2]);
  });
}
