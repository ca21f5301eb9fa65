// The connection to IndexedDB, and the two ways to use it: reading, and writing with everything that makes a write safe.
//
// A write is done when its transaction has completed with `durability: "strict"`, never before. Browsers lose the connection when a device has
// slept, so a failed transaction is tried once more on a newly opened database; the work it does must therefore be safe to run twice, and it
// is, as the first transaction left nothing behind.

import type { IDBPDatabase, IDBPTransaction } from "idb";
import { openDatabase, type Schema, type StoreName } from "./schema.ts";
import { StorageTrouble, storageTrouble } from "./trouble.ts";

export type Writing<S extends StoreName> = IDBPTransaction<Schema, S[], "readwrite">;
export type Reading<S extends StoreName> = IDBPTransaction<Schema, S[], "readonly">;

export class Database {
  private connection: Promise<IDBPDatabase<Schema>> | null = null;

  /** @param name of the database; it is opened by the first use */
  constructor(readonly name: string) {}

  /** Reads in one transaction, so that what comes together belongs together. */
  read<S extends StoreName, T>(what: string, stores: S[], work: (tx: Reading<S>) => Promise<T>): Promise<T> {
    return this.twice(what, false, (db) => {
      const tx = db.transaction(stores, "readonly");
      return settle(tx, work(tx));
    });
  }

  /** Writes in one transaction. Answers after it completed. `work` may await nothing but requests of this transaction. */
  write<S extends StoreName, T>(what: string, stores: S[], work: (tx: Writing<S>) => Promise<T>): Promise<T> {
    return this.twice(what, true, (db) => {
      const tx = db.transaction(stores, "readwrite", { durability: "strict" });
      return settle(tx, work(tx));
    });
  }

  /** Closes the connection; the next use opens it again. */
  async close(): Promise<void> {
    const open = this.connection;
    this.connection = null;
    if (!open) return;
    try {
      (await open).close();
    } catch (cause) {
      // It never opened; whoever asked for it was told.
      if (!(cause instanceof Error) && !(cause instanceof DOMException)) throw cause;
    }
  }

  private db(): Promise<IDBPDatabase<Schema>> {
    this.connection ??= openDatabase(this.name, () => {
      this.connection = null;
    });
    return this.connection;
  }

  private async twice<T>(what: string, writing: boolean, attempt: (db: IDBPDatabase<Schema>) => Promise<T>): Promise<T> {
    try {
      return await attempt(await this.db());
    } catch (first) {
      if (first instanceof StorageTrouble || (first instanceof DOMException && first.name === "QuotaExceededError")) throw storageTrouble(what, writing, first);
      await this.close();
      try {
        return await attempt(await this.db());
      } catch (second) {
        await this.close();
        throw storageTrouble(what, writing, second);
      }
    }
  }
}

// The result of the work, once the transaction completed. Work that failed takes the transaction with it.
async function settle<T>(tx: { done: Promise<void>; abort(): void }, work: Promise<T>): Promise<T> {
  let finished = false;
  const done = tx.done.finally(() => {
    finished = true;
  });
  try {
    const [result] = await Promise.all([work, done]);
    return result;
  } catch (cause) {
    if (!finished) {
      try {
        tx.abort();
      } catch (late) {
        // InvalidStateError: the transaction ended by itself in the meantime, which is what was wanted.
        if (!(late instanceof DOMException && late.name === "InvalidStateError")) throw late;
      }
      await done.catch(() => undefined); // what went wrong is already in `cause`
    }
    throw cause;
  }
}
