// Small helps for the stores' rows.

import type { IDBPObjectStore } from "idb";
import type { Schema, StoreName } from "./schema.ts";

export type Store<N extends StoreName> = IDBPObjectStore<Schema, StoreName[], N, "readwrite">;

/** A record whose key the database itself counts on. */
export function uncounted<T extends { seq: number }>(value: Omit<T, "seq">): T {
  return value as T;
}

/** The length of an entry in a request's body, in bytes: as a JSON string in UTF-8, and a comma. */
export function sizeInRequest(bytes: string): number {
  return new TextEncoder().encode(JSON.stringify(bytes)).length + 1;
}
