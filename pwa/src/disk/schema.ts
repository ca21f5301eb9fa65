// What lies in IndexedDB, and the versions of it.
//
// One database a server, "runtrue-" + the server's id: what belongs to one server is never mixed with another's. A small database "runtrue" says
// which of them is in use (which.ts). Stores are only ever added; a later version must read all that an earlier one wrote.

import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import type { ID, JobLine, Role } from "../contract.ts";

/** An entry as its author's engine wrote it. `seq` counts what this device stored, in the order in which it stored it, without meaning elsewhere. */
export interface StoredEntry { seq: number; id: ID; job: string; bytes: string; own: boolean }

/**
 * An entry of which it is not yet certain that the server keeps it. `size` is its length in a request's body, in bytes.
 * `sent` 1: the server said that it has it; the entry stays here until it comes back in a pull, because from then on the cursor tells whether a
 * server restored from an older state has lost it. `covered`: when the server said so, it had had the entry before and the cursor stood past it, so
 * the cursor vouches for it already. A cursor that came later vouches for nothing: the server may have been restored in between.
 */
export interface Waiting { seq: number; id: ID; job: string; size: number; sent: 0 | 1; covered?: boolean }

export interface Refused { id: ID; job: string; words: string; at_ms: number }

/** How far the server's arrivals of a job are known here: arrival number and the running hash at it. */
export interface Cursor { job: string; n: number; hash: string; backed_up_through: number }

export interface StoredJob { job: string; heads: ID[]; line: JobLine | null }

/** `data` and not a Blob: a Blob in IndexedDB is a file of its own in some browsers and can go missing alone. */
export interface StoredPhoto { hash: string; type: string; data: ArrayBuffer; w: number; h: number }

export interface PhotoWaiting { hash: string; bytes: number }

export interface StoredSession {
  server: string; device: string; person: string; name: string; roles: { role: Role; grant: ID }[]; as: Role;
  access: string; refresh: string; access_expires_ms: number; /** the server took the tokens back: capture goes on, sending waits for a new code */ ended: boolean;
}

/** What is known of the server's clock. All in milliseconds; `wall` is this device's clock. */
export interface ClockNote { off_ms: number; server_ms: number; wall_ms: number; /** the latest time that this device's clock ever showed */ highest_wall_ms: number }

export interface Schema extends DBSchema {
  entries: { key: number; value: StoredEntry; indexes: { id: ID; job: [string, number] } };
  jobs: { key: string; value: StoredJob };
  cursors: { key: string; value: Cursor };
  outbox: { key: number; value: Waiting; indexes: { id: ID; sent: number } };
  refused: { key: ID; value: Refused };
  photos: { key: string; value: StoredPhoto };
  photoQueue: { key: string; value: PhotoWaiting };
  session: { key: "now"; value: StoredSession };
  saved: { key: "count"; value: number };
  clock: { key: "note"; value: ClockNote };
}

export type StoreName = "entries" | "jobs" | "cursors" | "outbox" | "refused" | "photos" | "photoQueue" | "session" | "saved" | "clock";

export function databaseName(server: string): string {
  return `runtrue-${server}`;
}

/** Opens the database of one server. `lost` is called when the browser or a newer page closes it under us. */
export function openDatabase(name: string, lost: () => void): Promise<IDBPDatabase<Schema>> {
  return openDB<Schema>(name, 1, {
    upgrade(db) {
      const entries = db.createObjectStore("entries", { keyPath: "seq", autoIncrement: true });
      entries.createIndex("id", "id", { unique: true });
      entries.createIndex("job", ["job", "seq"], { unique: true });
      db.createObjectStore("jobs", { keyPath: "job" });
      db.createObjectStore("cursors", { keyPath: "job" });
      const outbox = db.createObjectStore("outbox", { keyPath: "seq", autoIncrement: true });
      outbox.createIndex("id", "id", { unique: true });
      outbox.createIndex("sent", "sent");
      db.createObjectStore("refused", { keyPath: "id" });
      db.createObjectStore("photos", { keyPath: "hash" });
      db.createObjectStore("photoQueue", { keyPath: "hash" });
      for (const name of ["session", "saved", "clock"] as const) db.createObjectStore(name);
    },
    blocking(_now, _wanted, event) {
      (event.target as IDBDatabase).close();
      lost();
    },
    terminated: lost,
  });
}
