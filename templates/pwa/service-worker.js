/* Keeps the app on the phone. Pages: from the network, from the phone when there is none. Static files: by their
 * hashed names, each release its own. What is written never passes here: the outbox is the pages' own. */

{% load static %}importScripts("{% static 'js/push-worker.js' %}");

const RELEASE = {{ release|safe }};
const STATIC = `curelog-static-${RELEASE.name}`;
const PAGES = `curelog-pages-${RELEASE.name}`;
const PHOTOS = "curelog-photos";

// A page that takes longer is shown as it was kept; when it comes after all, it is kept for next time.
const PATIENCE_MS = 3_000;
const MOST_PHOTOS = 400;
const MOST_PAGES = 1.5 * RELEASE.most_pages;
// Times in words grow stale even where no fact was added.
const FRESH_MS = 12 * 3_600_000;
// A kept form of an act serves for all its bars, a kept Today for all ways to it; but never for a correction.
const ONE_FOR_ALL = /^\/($|weigh\/$|t\/[a-z2-7]{8}\/$|loaves\/[0-9a-f-]{36}\/[a-z]+\/$)/i;

let forgotten = 0;

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin || request.headers.has("HX-Request")) return;
  if (url.pathname.startsWith(RELEASE.static)) event.respondWith(staticFile(request));
  else if (url.pathname.startsWith("/photos/")) event.respondWith(photo(event));
  else if (request.mode === "navigate") event.respondWith(page(event));
});
self.addEventListener("message", (event) => event.waitUntil(obey(event)));

async function obey({ data, ports }) {
  if (data.type === "activate") await self.skipWaiting();
  if (data.type === "forget") await forget();
  if (data.type === "keep") await keepPages(data.pages);
  ports[0]?.postMessage("done");
}

/* Pages kept by the release before name its files: they are fetched anew, so that none is left with files that are gone. */
async function install() {
  const files = await caches.open(STATIC);
  await Promise.all(RELEASE.files.map((url) => keepFile(files, url)));
  // Without cookies: a page that is kept for everybody must know nobody.
  await files.add(new Request(RELEASE.offline, { cache: "reload", credentials: "omit" }));
  const before = (await caches.keys()).filter((name) => name.startsWith("curelog-pages-") && name !== PAGES);
  const requests = (await Promise.all(before.map(async (name) => (await caches.open(name)).keys()))).flat();
  await keepPages(requests.map((request) => ({ url: request.url, stamp: "" })));
}

async function keepFile(files, url) {
  const same = await caches.match(url);
  return same ? files.put(url, same) : files.add(url);
}

async function activate() {
  const kept = [STATIC, PAGES, PHOTOS];
  const old = (await caches.keys()).filter((name) => name.startsWith("curelog-") && !kept.includes(name));
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function staticFile(request) {
  const files = await caches.open(STATIC);
  const kept = await files.match(request);
  if (kept) return kept;
  const response = await fetch(request);
  if (response.ok) await files.put(request, response.clone());
  return response;
}

/* The largest are not kept: a few dozen would fill what others leave free. */
async function photo(event) {
  const { request } = event;
  const photos = await caches.open(PHOTOS);
  const kept = await photos.match(request, { ignoreVary: true });
  if (kept) return kept;
  const response = await fetch(request).catch(() => null);
  if (!response) return photoInstead(photos, request);
  if (response.ok && !response.redirected && !request.url.endsWith("/full/")) {
    event.waitUntil(photos.put(request, response.clone()).then(() => bound(photos, MOST_PHOTOS)));
  }
  return response;
}

/* The same picture in another size is better than none. */
async function photoInstead(photos, request) {
  for (const size of ["screen", "thumb"]) {
    const other = await photos.match(request.url.replace(/[a-z]+\/$/, `${size}/`), { ignoreVary: true });
    if (other) return other;
  }
  if (request.mode === "navigate") return caches.match(RELEASE.offline);
  const absent = await caches.match(RELEASE.absent);
  // The browser must not take it for the picture itself, once there is a network again.
  return new Response(absent.body, { headers: { "Content-Type": "image/svg+xml", "Cache-Control": "no-store" } });
}

async function page(event) {
  const { request } = event;
  const fresh = fetch(request).then((response) => {
    event.waitUntil(keepPage(request.url, response.clone(), ""));
    return response;
  });
  event.waitUntil(fresh.catch(() => {}));
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS));
  const first = await Promise.race([fresh, late]).catch(() => null);
  if (first && !isAway(first)) return first;
  return (await keptPage(request)) ?? first ?? fresh.catch(() => caches.match(RELEASE.offline));
}

/* A proxy's word that the workshop itself cannot be reached. */
function isAway(response) {
  return response.status >= 502 && response.status <= 504;
}

async function keptPage(request) {
  const pages = await caches.open(PAGES);
  const exact = await pages.match(request, { ignoreVary: true });
  const url = new URL(request.url);
  if (exact || !ONE_FOR_ALL.test(url.pathname) || url.searchParams.has("corrects")) return exact;
  // A tag leads to the round, which knows all tags of its bars.
  return pages.match(url.pathname.startsWith("/t/") ? "/weigh/" : url.pathname, { ignoreVary: true });
}

/* Kept with the moment in it, for the page to say how old it is. `no-store` is obeyed: links that invite, sign-in. */
async function keepPage(url, response, stamp) {
  const isPage = response.ok && !response.redirected && response.headers.get("Content-Type")?.startsWith("text/html");
  if (!isPage || response.headers.get("Cache-Control")?.includes("no-store")) return false;
  const generation = forgotten;
  const now = new Date().toISOString();
  const html = (await response.text()).replace("<html", `<html data-as-of="${now}"`);
  const headers = new Headers(response.headers);
  for (const name of ["Content-Encoding", "Content-Length"]) headers.delete(name);
  headers.set("X-Kept-At", now);
  headers.set("X-Stamp", stamp);
  const pages = await caches.open(PAGES);
  if (generation !== forgotten) return false;
  await pages.put(url, new Response(html, { headers }));
  return true;
}

/* One after the other: a small machine serves the workshop, and somebody may be waiting for a page. */
async function keepPages(wanted) {
  const pages = await caches.open(PAGES);
  const generation = forgotten;
  for (const { url, stamp } of wanted.slice(0, RELEASE.most_pages)) {
    if (generation !== forgotten) return;
    if (isFresh(await pages.match(url, { ignoreVary: true }), stamp)) continue;
    const response = await fetch(url, { credentials: "same-origin", redirect: "manual" });
    // Signed out meanwhile: every page would be the way to sign in.
    if (response.type === "opaqueredirect") return;
    await keepPage(url, response, stamp);
  }
  await bound(pages, MOST_PAGES);
}

function isFresh(kept, stamp) {
  if (!kept || !stamp || kept.headers.get("X-Stamp") !== stamp) return false;
  return Date.now() - new Date(kept.headers.get("X-Kept-At")) < FRESH_MS;
}

async function bound(cache, most) {
  const requests = await cache.keys();
  await Promise.all(requests.slice(0, Math.max(0, requests.length - most)).map((request) => cache.delete(request)));
}

/* Of every release: a newer one that still waits to be asked for has fetched its pages already. */
async function forget() {
  forgotten += 1;
  const pages = (await caches.keys()).filter((name) => name.startsWith("curelog-pages-"));
  await Promise.all([...pages, PHOTOS].map((name) => caches.delete(name)));
}
