// Sends what waits. Ids make it safe to send anything twice, so whatever is in doubt is sent again.

import type { ID } from "../contract.ts";
import type { Disk } from "../disk/disk.ts";
import type { Outgoing, Queue } from "../disk/queue.ts";
import type { Access } from "./access.ts";
import type { Surroundings } from "./surroundings.ts";
import { ServerSays, type Pushed, type Trip, type Wire } from "./wire.ts";

const most = 500; // entries in a request
const room = 3_900_000; // bytes in a request: the server takes 4 MiB, and the rest of the body needs a little

export interface PushReport { taken: number; refused: number; /** entries that stand on others which neither the server nor this device has */ stuck: ID[] }

interface Step { sent: number; taken: number; refused: number }

export class Push {
  constructor(
    private readonly disk: Disk,
    private readonly queue: Queue,
    private readonly wire: Wire,
    private readonly access: Access,
    private readonly around: Surroundings,
    private readonly answered: (server: string, time_ms: number, trip: Trip) => void,
  ) {}

  /** Sends everything that waits. Throws what the network or the server threw; what was confirmed until then has left the queue. */
  async all(): Promise<PushReport> {
    const report: PushReport = { taken: 0, refused: 0, stuck: [] };
    const stuck = new Set<ID>();
    for (;;) {
      const later = new Set(stuck);
      const before = report.taken;
      let limit = most;
      for (;;) {
        const step = await this.around.alone("runtrue-push", 15_000, () => this.batch(limit, later, stuck));
        if (step === "split") {
          limit = Math.max(1, Math.floor(limit / 2));
          continue;
        }
        limit = most;
        if (step.sent === 0) break;
        report.taken += step.taken;
        report.refused += step.refused;
      }
      // What waited for its parents goes once more after these were sent; if none was, nothing would change.
      if (later.size === stuck.size || report.taken === before) break;
    }
    report.stuck = [...stuck];
    return report;
  }

  private async batch(limit: number, later: Set<ID>, stuck: Set<ID>): Promise<Step | "split"> {
    const batch = await this.queue.next(limit, room, later);
    if (batch.length === 0) return { sent: 0, taken: 0, refused: 0 };
    const { saved } = await this.disk.counts();
    let answer: Pushed;
    try {
      const [body, trip] = await this.access.with((token) => this.wire.push(token, saved, batch.map((e) => e.bytes)));
      this.answered(body.server, body.time_ms, trip);
      answer = body;
    } catch (cause) {
      // 413 too large, 422 not to be processed: one entry spoils the lot. It is found by halving, and then stands alone.
      if (!(cause instanceof ServerSays && (cause.status === 413 || cause.status === 422))) throw cause;
      if (batch.length > 1) return "split";
      await this.queue.settle([], [{ id: batch[0]!.id, words: cause.message }], this.around.now());
      return { sent: 1, taken: 0, refused: 1 };
    }
    return this.keep(batch, answer, later, stuck);
  }

  private async keep(batch: Outgoing[], answer: Pushed, later: Set<ID>, stuck: Set<ID>): Promise<Step> {
    const open = new Set(batch.map((e) => e.id));
    const taken = (answer.taken ?? []).filter((t) => open.delete(t.id)).map(({ id, n, repeat }) => ({ id, n, repeat }));
    const refused: { id: ID; words: string }[] = [];
    for (const r of answer.refused ?? []) {
      const entry = batch[r.index];
      if (entry && open.delete(entry.id)) refused.push({ id: entry.id, words: r.message || r.code });
    }
    await this.queue.settle(taken, refused, this.around.now());
    for (const w of answer.waiting ?? []) {
      const entry = batch[w.index];
      if (!entry) continue;
      later.add(entry.id);
      const absent = await this.queue.offer(w.missing ?? []);
      if (absent.length > 0) stuck.add(entry.id);
    }
    for (const id of open) later.add(id); // not mentioned in the answer: not confirmed, so it stays in the queue for the next time
    return { sent: batch.length, taken: taken.length, refused: refused.length };
  }
}
