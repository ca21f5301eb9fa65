// When to send and fetch, and what the page may say about it.
//
// One round: make sure that it is our server that answers, send entries, fetch entries, send photos. A round follows every save, news on the live
// channel, the network's return, the page's return to the front, and a timer; after a failure the next waits longer each time.
// "Online" is a fresh answer of our own server within the last minute, never the browser's opinion.

import type { Disk } from "../disk/disk.ts";
import { PhotoShelf } from "../disk/photos.ts";
import { Queue } from "../disk/queue.ts";
import type { ClockNote, StoredSession } from "../disk/schema.ts";
import { SessionShelf } from "../disk/session.ts";
import { Access, NotEntered } from "./access.ts";
import { Live } from "./live.ts";
import { PhotoUpload } from "./photo-upload.ts";
import { Pull } from "./pull.ts";
import { Push } from "./push.ts";
import { backOff, type Surroundings } from "./surroundings.ts";
import { ServerSays, Unreachable, type Trip, type Wire } from "./wire.ts";

export const freshFor = 60_000; // ms for which an answer makes us online
const turns = 3; // of sending and fetching in a round, while the server turns out to have lost something
const askEvery = 45_000; // ms between rounds when nothing happens, so that an idle page stays fresh

export interface Outcome { /** jobs with entries that are new on this device; what waits in the queue may have changed as well */ changed: Set<string> }

export interface Told {
  round(outcome: Outcome): void;
  state(part: { busy?: boolean; trouble?: string; online?: boolean }): void;
  session(session: StoredSession): void;
  /** The server answered, with its time. */
  clock(note: ClockNote): void;
}

/** Another server answers at this address. Nothing may be sent to it. */
export class OtherServer extends Error {
  override readonly name = "OtherServer";
}

export class Sync {
  readonly queue: Queue;
  readonly photos: PhotoShelf;
  readonly sessions: SessionShelf;
  readonly access: Access;
  private readonly push: Push;
  private readonly pull: Pull;
  private readonly upload: PhotoUpload;
  private readonly live: Live;
  private changed = new Set<string>();
  private wanted = false;
  private running: Promise<void> | null = null;
  private failures = 0;
  private cancelNext: (() => void) | null = null;
  private cancelStale: (() => void) | null = null;
  private answeredAt = Number.NEGATIVE_INFINITY; // on the clock that is never set back
  private stopped = false;
  private noted: Promise<void> = Promise.resolve(); // the last note of the server's clock

  constructor(private readonly disk: Disk, private readonly wire: Wire, private readonly around: Surroundings, private readonly told: Told) {
    this.queue = new Queue(disk.db);
    this.photos = new PhotoShelf(disk.db);
    this.sessions = new SessionShelf(disk.db);
    const answered = (server: string, time_ms: number, trip: Trip): void => this.answered(server, time_ms, trip);
    this.access = new Access(this.sessions, wire, around, (session) => told.session(session), (time_ms, trip) => this.answered(disk.server, time_ms, trip));
    this.push = new Push(disk, this.queue, wire, this.access, around, answered);
    this.pull = new Pull(disk, this.queue, wire, this.access, answered, (job) => this.changed.add(job));
    this.upload = new PhotoUpload(this.photos, wire, this.access);
    this.live = new Live(wire, this.access, around, { sign: () => this.fresh(), opened: () => this.nudge(), news: () => this.nudge() });
  }

  /** Something waits or may be new: a round follows at once, or, after a failure, when its pause is over. */
  nudge(): void {
    this.wanted = true;
    if (!this.running && this.failures === 0) this.soon(0);
  }

  /** Like `nudge`, without the pause: the network is back, the page is in front again, or a person asked. */
  nudgeNow(): void {
    this.failures = 0;
    this.nudge();
  }

  /** A whole round now; answers when it is over. What went wrong is in the state. */
  async now(): Promise<void> {
    this.nudgeNow();
    await this.run();
  }

  /** The page is in front: listen to news. In the back, a frozen page must not hold one of the few connections. */
  setInFront(front: boolean): void {
    if (front) {
      this.live.start();
      this.nudgeNow();
    } else this.live.stop();
  }

  /** No more rounds; answers when the present one is over. */
  async stop(): Promise<void> {
    this.stopped = true;
    this.live.stop();
    this.cancelNext?.();
    this.cancelStale?.();
    await this.running;
    await this.noted;
  }

  private soon(ms: number): void {
    if (this.stopped) return;
    this.cancelNext?.();
    this.cancelNext = this.around.after(ms, () => {
      this.cancelNext = null;
      this.wanted = true;
      void this.run();
    });
  }

  private run(): Promise<void> {
    this.running ??= this.rounds().finally(() => {
      this.running = null;
    });
    return this.running;
  }

  private async rounds(): Promise<void> {
    this.told.state({ busy: true });
    while (this.wanted && !this.stopped) {
      this.wanted = false;
      try {
        const troubles = await this.round();
        this.failures = 0;
        this.told.state({ trouble: troubles.join(" ") });
      } catch (cause) {
        this.failures++;
        this.told.state({ trouble: words(cause) });
        break;
      }
    }
    this.told.state({ busy: false });
    this.soon(this.failures > 0 ? backOff(this.failures, this.around.random()) : askEvery);
  }

  private async round(): Promise<string[]> {
    const troubles: string[] = [];
    if (this.around.monotonic() - this.answeredAt > freshFor) {
      const [me, trip] = await this.access.with((token) => this.wire.me(token));
      this.answered(me.server, me.time_ms, trip);
      const session = await this.sessions.change(me, { roles: me.roles ?? [], name: me.name });
      if (session) this.told.session(session);
    }
    try {
      for (let turn = 1, again = true; again && turn <= turns; turn++) {
        const sent = await this.push.all();
        const got = await this.pull.all();
        const recalled = await this.queue.recall();
        if (got.restored || recalled > 0) await this.photos.offerAgain();
        again = got.lost > 0 || recalled > 0;
        if (sent.stuck.length > 0 && !again) troubles.push(`${sent.stuck.length} entries wait for earlier ones that neither this device nor the server has. They are kept here; the device that made the earlier ones must send them.`);
      }
    } finally {
      this.report();
    }
    const photos = await this.photos.waiting();
    if (photos.length > 0) {
      try {
        troubles.push(...(await this.upload.all()));
      } finally {
        this.report();
      }
    }
    return troubles;
  }

  private report(): void {
    const changed = this.changed;
    this.changed = new Set();
    this.told.round({ changed });
  }

  private answered(server: string, time_ms: number, trip: Trip): void {
    if (server !== this.disk.server) {
      throw new OtherServer(`Another server answers at this address (${server}, not ${this.disk.server}). Nothing was sent to it. To work with it enter a code that it made; what is kept for the old one stays on this device.`);
    }
    const wall = this.around.now();
    const off = Math.round(time_ms - (trip.sent + trip.received) / 2);
    this.fresh();
    const note: ClockNote = { off_ms: off, server_ms: time_ms, wall_ms: wall, highest_wall_ms: wall };
    this.told.clock(note);
    this.noted = this.sessions.putClock(note)
      .catch((cause: unknown) => this.told.state({ trouble: words(cause) }));
  }

  private fresh(): void {
    this.answeredAt = this.around.monotonic();
    this.told.state({ online: true });
    this.cancelStale?.();
    this.cancelStale = this.around.after(freshFor, () => this.told.state({ online: false }));
  }
}

/** What went wrong, for the status line. */
export function words(cause: unknown): string {
  if (cause instanceof NotEntered || cause instanceof OtherServer || cause instanceof ServerSays) return cause.message;
  if (cause instanceof Unreachable) return `No answer from the server (${cause.message}). Everything is kept here and is sent when it answers.`;
  return cause instanceof Error ? cause.message : String(cause);
}
