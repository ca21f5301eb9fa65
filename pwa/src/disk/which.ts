// Which server's database is in use. Another server gets a database of its own, and the earlier one stays as it is.

import { openDB, type DBSchema, type IDBPDatabase } from "idb";

interface WhichSchema extends DBSchema {
  servers: { key: string; value: { server: string; entered_ms: number } };
  current: { key: "server"; value: string };
}

async function withDatabase<T>(use: (db: IDBPDatabase<WhichSchema>) => Promise<T>): Promise<T> {
  const db = await openDB<WhichSchema>("runtrue", 1, {
    upgrade(fresh) {
      fresh.createObjectStore("servers", { keyPath: "server" });
      fresh.createObjectStore("current");
    },
  });
  try {
    return await use(db);
  } finally {
    db.close();
  }
}

/** The id of the server that this device last entered at, or null on a device that never did. */
export function currentServer(): Promise<string | null> {
  return withDatabase(async (db) => (await db.get("current", "server")) ?? null);
}

/** All servers at which this device ever entered, in order of their ids. */
export function knownServers(): Promise<string[]> {
  return withDatabase((db) => db.getAllKeys("servers"));
}

/** From now on this server's database is the one in use. */
export function chooseServer(server: string, now_ms: number): Promise<void> {
  return withDatabase(async (db) => {
    const tx = db.transaction(["servers", "current"], "readwrite", { durability: "strict" });
    await Promise.all([
      tx.objectStore("servers").put({ server, entered_ms: now_ms }),
      tx.objectStore("current").put(server, "server"),
      tx.done,
    ]);
  });
}
