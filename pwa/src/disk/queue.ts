// The queue of what the server has not confirmed for good. It belongs to the database and not to a tab: whichever page runs next sends it.

import type { ID } from "../contract.ts";
import type { Database } from "./database.ts";
import { sizeInRequest, uncounted, type Store } from "./rows.ts";
import type { Waiting } from "./schema.ts";

/** The server's word that it has an entry: its arrival number in the job, and whether it had it before. */
export interface Taken { id: ID; n: number; repeat: boolean }

export interface Outgoing { id: ID; job: string; bytes: string }

export class Queue {
  constructor(private readonly db: Database) {}

  /**
   * The oldest waiting entries, at most `count` of them and `size` bytes in a request's body, always one where any waits.
   * `skip` leaves out entries that were just found to wait for others.
   */
  next(count: number, size: number, skip: ReadonlySet<ID>): Promise<Outgoing[]> {
    return this.db.read("reading what waits for the server", ["outbox", "entries"], async (tx) => {
      const batch: Outgoing[] = [];
      let room = size;
      const byId = tx.objectStore("entries").index("id");
      let at = await tx.objectStore("outbox").index("sent").openCursor(0);
      while (at && batch.length < count) {
        const waiting = at.value;
        if (!skip.has(waiting.id)) {
          if (batch.length > 0 && waiting.size > room) break;
          const entry = await byId.get(waiting.id);
          if (!entry) throw new Error(`entry ${waiting.id} waits for the server but is not stored`);
          batch.push({ id: entry.id, job: entry.job, bytes: entry.bytes });
          room -= waiting.size;
        }
        at = await at.continue();
      }
      return batch;
    });
  }

  /** What the server answered to a push: taken entries are marked as sent, refused ones go to their own list with the reason. */
  settle(taken: readonly Taken[], refused: readonly { id: ID; words: string }[], now_ms: number): Promise<void> {
    return this.db.write("keeping the server's answer", ["outbox", "refused", "cursors"], async (tx) => {
      const outbox = tx.objectStore("outbox");
      for (const { id, n, repeat } of taken) {
        const waiting = await outbox.index("id").get(id);
        if (waiting) {
          const cursor = await tx.objectStore("cursors").get(waiting.job);
          await outbox.put({ ...waiting, sent: 1, covered: repeat && cursor !== undefined && n <= cursor.n });
        }
        await tx.objectStore("refused").delete(id);
      }
      for (const { id, words } of refused) {
        const waiting = await outbox.index("id").get(id);
        if (!waiting) continue;
        await outbox.delete(waiting.seq);
        await tx.objectStore("refused").put({ id, job: waiting.job, words, at_ms: now_ms });
      }
    });
  }

  /**
   * After everything that the server has was fetched: an entry that it had said to have and did not send back is doubtful (the server may have
   * been restored from an older state in between) and waits again. If the server, asked again, had it already, at an arrival number that the
   * cursor covered at that moment, the cursor vouches for it and it leaves the queue. Answers how many wait again.
   */
  recall(): Promise<number> {
    return this.db.write("queueing what the server lost", ["outbox"], async (tx) => {
      const outbox = tx.objectStore("outbox");
      let again = 0;
      for (const { covered, ...waiting } of await outbox.index("sent").getAll(1)) {
        if (covered) {
          await outbox.delete(waiting.seq);
        } else {
          await outbox.put({ ...waiting, sent: 0 });
          again++;
        }
      }
      return again;
    });
  }

  /** Puts entries that are stored here (again) into the queue. Answers those that are not here. */
  offer(ids: readonly ID[]): Promise<ID[]> {
    return this.db.write("queueing entries for the server", ["entries", "outbox", "refused"], async (tx) => {
      const absent: ID[] = [];
      for (const id of ids) if (!(await enqueue(tx.objectStore("entries"), tx.objectStore("outbox"), tx.objectStore("refused"), id))) absent.push(id);
      return absent;
    });
  }

  /** The server lost a part of a job's history: what it misses goes into the queue, and the job is pulled from its beginning. */
  offerAgain(job: string, missing: readonly ID[]): Promise<void> {
    return this.db.write("queueing what the server lost", ["entries", "outbox", "refused", "cursors"], async (tx) => {
      for (const id of missing) await enqueue(tx.objectStore("entries"), tx.objectStore("outbox"), tx.objectStore("refused"), id);
      // The cursor goes, and with it what it vouched for.
      const outbox = tx.objectStore("outbox");
      for (const { covered, ...waiting } of await outbox.index("sent").getAll(1)) if (covered && waiting.job === job) await outbox.put(waiting);
      await tx.objectStore("cursors").delete(job);
    });
  }
}

/** Makes a stored entry wait for the server; false if it is not stored here. */
async function enqueue(entries: Store<"entries">, outbox: Store<"outbox">, refused: Store<"refused">, id: ID): Promise<boolean> {
  const entry = await entries.index("id").get(id);
  if (!entry) return false;
  await refused.delete(id);
  const waiting = await outbox.index("id").get(id);
  if (waiting) await outbox.put({ ...waiting, sent: 0 });
  else await outbox.add(uncounted<Waiting>({ id, job: entry.job, size: sizeInRequest(entry.bytes), sent: 0 }));
  return true;
}
