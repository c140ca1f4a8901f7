/* "Tell me in this browser": asks for the permission, subscribes at the browser's push service, tells the workshop. */

export function keyBytes(text) {
  const padded = text.replace(/-/g, "+").replace(/_/g, "/").padEnd(Math.ceil(text.length / 4) * 4, "=");
  return Uint8Array.from(atob(padded), (letter) => letter.charCodeAt(0));
}

/* A name that its owner knows again in a list. */
export function browserName(agent) {
  const place = ["iPhone", "iPad", "Android", "Windows", "Mac OS", "Linux"].find((name) => agent.includes(name));
  const maker = ["Edg", "Firefox", "Chrome", "Safari"].find((name) => agent.includes(name)) ?? "Browser";
  return `${maker === "Edg" ? "Edge" : maker}${place ? ` on ${place}` : ""}`;
}

/* Why it cannot be done here; empty when it can. On an iPhone only an app on the home screen is told. */
export function obstacle(scope) {
  if (!scope.isSecureContext) return "Notifications need HTTPS, or the machine that the workshop runs on.";
  if (!scope.navigator.serviceWorker || !scope.PushManager || !scope.Notification) {
    return "This browser has no notifications. On an iPhone, add curelog to the home screen and open it from there.";
  }
  if (scope.Notification.permission === "denied") {
    return "Notifications of this site are switched off: allow them in the browser's settings of the site.";
  }
  return "";
}

export async function subscribe(place, scope) {
  if ((await scope.Notification.requestPermission()) !== "granted") throw new Error("You did not allow notifications.");
  const registration = await scope.navigator.serviceWorker.ready;
  const wanted = { userVisibleOnly: true, applicationServerKey: keyBytes(place.dataset.publicKey) };
  const subscription = await freshSubscription(registration.pushManager, wanted);
  const response = await scope.fetch(place.dataset.subscribe, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-CSRFToken": place.dataset.csrf },
    body: JSON.stringify({ ...subscription.toJSON(), name: browserName(scope.navigator.userAgent) }),
  });
  const told = await response.json().catch(() => ({}));
  if (!response.ok) throw new Error(told.error ?? `The workshop answered ${response.status}.`);
  return told.url;
}

/* A subscription made for another key, from a workshop that was here before, is in the way and let go. */
async function freshSubscription(manager, wanted) {
  try {
    return await manager.subscribe(wanted);
  } catch (error) {
    if (error.name !== "InvalidStateError") throw error;
    await (await manager.getSubscription())?.unsubscribe();
    return manager.subscribe(wanted);
  }
}

export function offer(place, scope) {
  const words = place.querySelector("[data-push-words]");
  const button = place.querySelector("[data-push-button]");
  const why = obstacle(scope);
  words.textContent = why || "You are asked once whether curelog may show notifications here.";
  button.hidden = Boolean(why);
  button.addEventListener("click", async () => {
    button.disabled = true;
    try {
      scope.location.assign(await subscribe(place, scope));
    } catch (error) {
      words.textContent = error.message;
      button.disabled = false;
    }
  });
}

const place = globalThis.document?.querySelector("[data-push]");
if (place) offer(place, globalThis);
