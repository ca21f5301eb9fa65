// A device without a page: its disk and its sending and fetching.

import { createHash } from "node:crypto";
import { Disk } from "../../src/disk/disk.ts";
import { Sync, type Told } from "../../src/sync/sync.ts";
import { Wire } from "../../src/sync/wire.ts";
import type { FakeServer } from "./server.ts";
import { World } from "./world.ts";

let databases = 0;

/** A name that no earlier test used for its database. */
export function freshName(what: string): string {
  return `${what}-${++databases}`;
}

export function idOfBytes(bytes: string): string {
  return createHash("sha256").update(bytes).digest("hex");
}

/** An entry in the form that the fake server reads. `salt` keeps two of the same content apart. */
export function entry(job: string, parents: readonly string[], salt: string): { id: string; job: string; bytes: string } {
  const bytes = JSON.stringify({ job, parents: [...parents].sort(), salt });
  return { id: idOfBytes(bytes), job, bytes };
}

export class Device {
  disk: Disk;
  sync: Sync;
  world: World;
  trouble = "";
  online = false;
  readonly changed = new Set<string>();

  /** @param own part of the database's name: devices do not share their storage */
  constructor(readonly server: FakeServer, readonly own: string, start: (told: Told) => World = () => new World(server.fetch)) {
    this.disk = new Disk(server.id);
    Object.defineProperty(this.disk.db, "name", { value: `runtrue-${server.id}-${own}` });
    const told = this.told();
    this.world = start(told);
    this.sync = new Sync(this.disk, new Wire(this.world), this.world, told);
  }

  private told(): Told {
    return {
      round: ({ changed }) => changed.forEach((job) => this.changed.add(job)),
      state: (part) => {
        if (part.trouble !== undefined) this.trouble = part.trouble;
        if (part.online !== undefined) this.online = part.online;
      },
      session: () => undefined,
      clock: () => undefined,
    };
  }

  async enter(): Promise<void> {
    await this.sync.sessions.put({
      server: this.server.id, device: "tablet-1", person: "p1", name: "Ana", roles: [], as: "technician",
      access: this.server.access, refresh: this.server.refresh, access_expires_ms: this.server.expires, ended: false,
    });
  }

  /** The tab dies and a new one starts on the same storage. */
  async crash(): Promise<void> {
    await this.sync.stop();
    await this.disk.db.close();
    this.disk = new Disk(this.server.id);
    Object.defineProperty(this.disk.db, "name", { value: `runtrue-${this.server.id}-${this.own}` });
    this.sync = new Sync(this.disk, new Wire(this.world), this.world, this.told());
  }
}
