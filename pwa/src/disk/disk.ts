// The record of one server on this device: entries, what the server has of them, and where its news were left.
//
// This folder is the one place that touches IndexedDB. What must hold together is written in one transaction:
// an entry with the job's heads and its place in the queue; pulled entries with the cursor that says they are here.

import type { ID, JobLine } from "../contract.ts";
import { Database } from "./database.ts";
import { sizeInRequest, uncounted, type Store } from "./rows.ts";
import { databaseName, type Cursor, type Refused, type StoredEntry, type Waiting } from "./schema.ts";
import { StorageTrouble } from "./trouble.ts";

export interface NewEntry { id: ID; job: string; bytes: string }

export interface Counts { unsent: number; refused: Refused[]; photosUnsent: number; saved: number }

export class Disk {
  readonly db: Database;

  constructor(readonly server: string) {
    this.db = new Database(databaseName(server));
  }

  /**
   * Stores an entry made on this device: with it the job's heads (its parents are heads no longer), its place in the queue and the count of
   * what this device saved. Every parent must be here already. Storing the same entry again changes nothing.
   */
  putOwn(entry: NewEntry, parents: readonly ID[]): Promise<void> {
    const size = sizeInRequest(entry.bytes);
    return this.db.write("saving the entry", ["entries", "jobs", "outbox", "saved"], async (tx) => {
      const entries = tx.objectStore("entries");
      if ((await entries.index("id").getKey(entry.id)) !== undefined) return;
      for (const parent of parents) {
        if ((await entries.index("id").getKey(parent)) === undefined) {
          throw new StorageTrouble("refused", `the entry stands on entry ${parent.slice(0, 8)}, which is not on this device. Nothing was saved. Open the job again and repeat.`);
        }
      }
      await entries.add(uncounted<StoredEntry>({ ...entry, own: true }));
      const jobs = tx.objectStore("jobs");
      const job = (await jobs.get(entry.job)) ?? { job: entry.job, heads: [], line: null };
      const under = new Set(parents);
      job.heads = [...job.heads.filter((head) => !under.has(head)), entry.id].sort();
      await jobs.put(job);
      await tx.objectStore("outbox").add(uncounted<Waiting>({ id: entry.id, job: entry.job, size, sent: 0 }));
      const saved = tx.objectStore("saved");
      await saved.put(((await saved.get("count")) ?? 0) + 1, "count");
    });
  }

  /**
   * Stores what the server sent of a job, and the cursor that says so. An entry that was here already leaves the queue: the server has it, and
   * from now on the cursor vouches for that. Answers how many were new here.
   */
  putPulled(job: string, pulled: readonly { id: ID; bytes: string }[], cursor: Cursor): Promise<number> {
    return this.db.write("storing what the server sent", ["entries", "outbox", "refused", "cursors", "jobs"], async (tx) => {
      let fresh = 0;
      for (const { id, bytes } of pulled) {
        if (await addIfNew(tx.objectStore("entries"), { id, job, bytes, own: false })) fresh++;
        else await leaveQueue(tx.objectStore("outbox"), tx.objectStore("refused"), id);
      }
      await ensureJob(tx.objectStore("jobs"), job);
      await tx.objectStore("cursors").put(cursor);
      return fresh;
    });
  }

  /** Stores entries that came in a file. They go into the queue, since the server may not have them. Answers how many were new here. */
  putImported(entries: readonly NewEntry[]): Promise<number> {
    return this.db.write("storing the file's entries", ["entries", "outbox", "jobs"], async (tx) => {
      let fresh = 0;
      for (const entry of entries) {
        if (!(await addIfNew(tx.objectStore("entries"), { ...entry, own: false }))) continue;
        fresh++;
        await tx.objectStore("outbox").add(uncounted<Waiting>({ id: entry.id, job: entry.job, size: sizeInRequest(entry.bytes), sent: 0 }));
        await ensureJob(tx.objectStore("jobs"), entry.job);
      }
      return fresh;
    });
  }

  /** Up to `count` entries of a job that were stored after `after`, oldest first. */
  readJob(job: string, after: number, count: number): Promise<StoredEntry[]> {
    return this.db.read("reading the job", ["entries"], (tx) =>
      tx.objectStore("entries").index("job").getAll(IDBKeyRange.bound([job, after], [job, Infinity], true, true), count));
  }

  /** Up to `count` entries of all jobs stored after `after`, oldest first. */
  readAll(after: number, count: number): Promise<StoredEntry[]> {
    return this.db.read("reading the entries", ["entries"], (tx) => tx.objectStore("entries").getAll(IDBKeyRange.lowerBound(after, true), count));
  }

  /** The ids held of a job, in the order in which they were stored. */
  ids(job: string): Promise<ID[]> {
    return this.db.read("reading the job's ids", ["entries"], async (tx) => {
      const ids: ID[] = [];
      for await (const at of tx.objectStore("entries").index("job").iterate(IDBKeyRange.bound([job, 0], [job, Infinity]))) ids.push(at.value.id);
      return ids;
    });
  }

  countAll(): Promise<number> {
    return this.db.read("counting the entries", ["entries"], (tx) => tx.objectStore("entries").count());
  }

  has(id: ID): Promise<boolean> {
    return this.db.read("looking for an entry", ["entries"], async (tx) => (await tx.objectStore("entries").index("id").getKey(id)) !== undefined);
  }

  heads(job: string): Promise<ID[]> {
    return this.db.read("reading the job's heads", ["jobs"], async (tx) => (await tx.objectStore("jobs").get(job))?.heads ?? []);
  }

  /** Keeps what the engine made of a job whose newest entry here is `upTo`; ignored if something newer was stored since. */
  noteJob(job: string, upTo: number, heads: ID[], line: JobLine | null): Promise<boolean> {
    return this.db.write("keeping the list of jobs", ["entries", "jobs"], async (tx) => {
      const newest = await tx.objectStore("entries").index("job").openKeyCursor(IDBKeyRange.bound([job, 0], [job, Infinity]), "prev");
      if (!newest || newest.primaryKey !== upTo) return false;
      await tx.objectStore("jobs").put({ job, heads, line });
      return true;
    });
  }

  jobs(): Promise<{ job: string; line: JobLine | null }[]> {
    return this.db.read("reading the list of jobs", ["jobs"], (tx) => tx.objectStore("jobs").getAll());
  }

  cursors(): Promise<Cursor[]> {
    return this.db.read("reading the cursors", ["cursors"], (tx) => tx.objectStore("cursors").getAll());
  }

  counts(): Promise<Counts> {
    return this.db.read("counting what waits", ["outbox", "refused", "photoQueue", "saved"], async (tx) => {
      const [unsent, refused, photosUnsent, saved] = await Promise.all([
        tx.objectStore("outbox").index("sent").count(0), tx.objectStore("refused").getAll(), tx.objectStore("photoQueue").count(), tx.objectStore("saved").get("count"),
      ]);
      return { unsent, refused, photosUnsent, saved: saved ?? 0 };
    });
  }
}

/** Adds the entry; false if it was here. */
async function addIfNew(entries: Store<"entries">, entry: Omit<StoredEntry, "seq">): Promise<boolean> {
  if ((await entries.index("id").getKey(entry.id)) !== undefined) return false;
  await entries.add(uncounted<StoredEntry>(entry));
  return true;
}

async function ensureJob(jobs: Store<"jobs">, job: string): Promise<void> {
  if ((await jobs.getKey(job)) === undefined) await jobs.put({ job, heads: [], line: null });
}

async function leaveQueue(outbox: Store<"outbox">, refused: Store<"refused">, id: ID): Promise<void> {
  const key = await outbox.index("id").getKey(id);
  if (key !== undefined) await outbox.delete(key);
  await refused.delete(id);
}
