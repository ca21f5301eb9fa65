// The backend in a real browser.

import type { WorkerLike } from "../engine/engine.ts";
import { browserSurroundings } from "../sync/surroundings.ts";
import { DeviceBackend } from "./backend.ts";
import { browserPlace } from "./capture.ts";
import { browserTabs } from "./tabs.ts";
import { Update } from "./update.ts";

const updateEvery = 3_600_000; // ms between looks for a newer version of the page

/** Makes the backend and ties it to the browser's events. Nothing runs before its `start`. */
export function createBackend(): DeviceBackend {
  const around = browserSurroundings();
  const backend = new DeviceBackend({
    around,
    spawnEngine: () => new Worker(new URL("../worker/main.ts", import.meta.url), { type: "module", name: "engine" }) as unknown as WorkerLike,
    tabs: browserTabs(),
    place: browserPlace(),
    salt: () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join(""),
    persist: async () => (await navigator.storage?.persist?.()) ?? false,
    async measure(picture) {
      const bitmap = await createImageBitmap(picture);
      const size = { w: bitmap.width, h: bitmap.height };
      bitmap.close();
      return size;
    },
    reload: () => location.reload(),
    painted: () => new Promise((done) => requestAnimationFrame(() => setTimeout(done))),
  });
  document.addEventListener("visibilitychange", () => backend.setInFront(document.visibilityState === "visible"));
  window.addEventListener("pagehide", () => backend.setInFront(false));
  window.addEventListener("online", () => backend.networkBack());
  window.addEventListener("beforeunload", (event) => {
    if (backend.hasUnsaved()) event.preventDefault();
  });
  if (import.meta.env.PROD) keepForOffline(backend, around.after);
  takeInvitation(backend);
  window.addEventListener("hashchange", () => takeInvitation(backend));
  return backend;
}

function keepForOffline(backend: DeviceBackend, after: (ms: number, run: () => void) => () => void): void {
  const update = new Update(() => backend.hasUnsaved(), () => backend.idle(), {
    waiting: () => backend.updateWaiting(),
    trouble: (words) => backend.tellSync(words),
  });
  backend.takeNewVersion = () => update.apply();
  const look = (): void => {
    after(updateEvery, look);
    update.look().catch((cause: unknown) => backend.tellSync(String(cause)));
  };
  window.addEventListener("load", () => {
    void update.start().then(() => after(updateEvery, look));
  });
}

/** Takes the code out of a link like …/#enter=CODE and out of the address and the history, where others could read it. */
function takeInvitation(backend: DeviceBackend): void {
  const code = /^#enter=(.+)$/.exec(location.hash)?.[1];
  if (code === undefined) return;
  let decoded = code;
  try {
    decoded = decodeURIComponent(code);
  } catch (cause) {
    if (!(cause instanceof URIError)) throw cause; // a code with a bare % is taken as it stands; the server will say so
  }
  backend.invitation.value = decoded;
  location.replace("#/enter");
}
