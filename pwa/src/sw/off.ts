// The service worker of last resort. A server that answers this in place of sw.js takes the stored page off every device that comes by, and
// the device then asks the server for everything. What people measured lies in IndexedDB and is not touched.

import { cachePrefix } from "./version";

const worker = globalThis as unknown as ServiceWorkerGlobalScope;

worker.addEventListener("install", (event) => event.waitUntil(worker.skipWaiting()));
worker.addEventListener("activate", (event) => event.waitUntil(leave()));

async function leave(): Promise<void> {
  for (const name of await caches.keys()) {
    if (name.startsWith(cachePrefix)) await caches.delete(name);
  }
  await worker.registration.unregister();
}
