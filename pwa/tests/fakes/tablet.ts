// A whole device in a test: the backend over a disk in memory, an engine of a few lines and a server with faults.

import { vi } from "vitest";
import { DeviceBackend } from "../../src/backend/backend.ts";
import type { Place } from "../../src/backend/capture.ts";
import type { TabNews, Tabs } from "../../src/backend/tabs.ts";
import { fakeEngine, FakeWorker } from "./engine.ts";
import type { FakeServer } from "./server.ts";
import { World } from "./world.ts";

export const tablet: Place = { userAgent: "Mozilla/5.0 (Linux; Android 15; Tablet)", platform: "Linux armv8l", touchPoints: 5, standalone: true };

/** Tabs of one device: what one tells the others hear. */
export class TabGroup {
  private readonly members: Tabs[] = [];
  join(): Tabs {
    const me: Tabs = { hear: null, tell: (news: TabNews) => this.members.filter((m) => m !== me).forEach((m) => m.hear?.(structuredClone(news))) };
    this.members.push(me);
    return me;
  }
}

export class Tablet {
  readonly world: World;
  readonly workers: FakeWorker[] = [];
  readonly calls = new Map<string, number>();
  readonly backend: DeviceBackend;
  reloads = 0;
  private salt = 0;

  constructor(server: FakeServer, tabs: TabGroup = new TabGroup(), place: Place = tablet) {
    this.world = new World(async (url, init) => {
      if (new URL(url, "http://fake").pathname !== "/api/v1/enrol") return server.fetch(url, init);
      const { code } = JSON.parse(init.body as string) as { code: string };
      if (code !== "GOOD") return new Response(JSON.stringify({ error: { code: "code", message: "This code is not known or was used. Ask for a new one." } }), { status: 403 });
      return new Response(JSON.stringify({
        server: server.id, device: "tablet-1", person: "ana", name: "Ana", roles: [{ role: "admin", grant: "aa" }, { role: "technician", grant: "bb" }],
        access: server.access, refresh: server.refresh, access_expires_ms: server.expires, time_ms: this.world.wall,
      }));
    });
    const prefix = Math.floor(Math.random() * 0xffffff).toString(16);
    this.backend = new DeviceBackend({
      around: this.world,
      spawnEngine: () => {
        const worker = new FakeWorker(async () => fakeEngine(this.calls));
        this.workers.push(worker);
        return worker;
      },
      tabs: tabs.join(), place,
      salt: () => `${prefix}-${++this.salt}`,
      persist: async () => true,
      measure: async () => ({ w: 640, h: 480 }),
      reload: () => this.reloads++,
      painted: async () => undefined,
    });
  }

  /** Enters with a good code and waits for the engine. */
  async enter(): Promise<void> {
    await this.backend.start();
    const answer = await this.backend.enrol("GOOD", "bench tablet");
    if (!answer.ok) throw new Error(answer.words);
    await vi.waitFor(() => {
      if (!this.backend.sync.value.engineReady) throw new Error("the engine is not ready");
    });
  }

  /** Waits until a condition holds; the work it waits for has no timers of its own. */
  async until(what: string, holds: () => boolean): Promise<void> {
    await vi.waitFor(() => {
      if (!holds()) throw new Error(`still not so: ${what}; sync is ${JSON.stringify(this.backend.sync.value)}`);
    }, { timeout: 5000, interval: 5 });
  }
}
