// The service worker: keeps one whole version of the page, so that it starts without the network.
//
// - A version is the list of files that the build wrote into this script. Installing fetches every one and checks its SHA-256; if one is missing
//   or differs (a server being replaced at that moment) nothing of it is kept, and the browser tries again at the next visit.
// - Requests under /api are never answered from here. A file of the version comes from its cache; every navigation gets the page.
// - A new version waits. It takes over when no page of the old one is open, or when a page asks for it and every open page says that nothing is
//   unsaved; a page that does not answer counts as "not now".
// - The old version's cache goes when the new one becomes active, which is when no page uses the old one any more.

declare const __VERSION__: string;
declare const __FILES__: { url: string; sha256: string }[];

import { answersReady, cachePrefix, pageFor, sha256Hex, wholeVersion } from "./version";

const worker = globalThis as unknown as ServiceWorkerGlobalScope;
const cacheName = cachePrefix + __VERSION__;
const urls = new Set(__FILES__.map((f) => f.url));

worker.addEventListener("install", (event) => event.waitUntil(install()));
worker.addEventListener("activate", (event) => event.waitUntil(activate()));
worker.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== worker.location.origin) return;
  const path = pageFor(url.pathname, event.request.mode === "navigate", urls);
  if (path !== null) event.respondWith(fromCache(path, event.request));
});
worker.addEventListener("message", (event) => {
  if (event.data === "take over") event.waitUntil(takeOver());
});

async function install(): Promise<void> {
  const files = await wholeVersion(__FILES__, (url) => fetch(url, { cache: "no-cache", credentials: "same-origin" }), sha256Hex);
  const cache = await caches.open(cacheName);
  try {
    for (const { url, response } of files) await cache.put(url, response);
  } catch (error) {
    await caches.delete(cacheName); // storage full: a part of a version is worse than none
    throw error;
  }
}

async function activate(): Promise<void> {
  for (const name of await caches.keys()) {
    if (name.startsWith(cachePrefix) && name !== cacheName) await caches.delete(name);
  }
  await worker.clients.claim();
}

async function fromCache(path: string, request: Request): Promise<Response> {
  const cached = await (await caches.open(cacheName)).match(path);
  // Missing only if the browser threw the cache away by itself: then the network is the one way left.
  return cached ?? fetch(request);
}

async function takeOver(): Promise<void> {
  const pages = await worker.clients.matchAll({ type: "window", includeUncontrolled: true });
  const ready = await answersReady(
    pages.map((page) => (port) => page.postMessage("may the new version take over?", [port])),
    (ms) => new Promise((done) => setTimeout(done, ms)),
  );
  if (ready) await worker.skipWaiting();
}
