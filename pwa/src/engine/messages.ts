// What the page and the engine's worker say to one another: this list and nothing else.

import type { ID } from "../contract.ts";

/** The engine's methods; each takes and answers JSON. */
export const methods = ["hello", "load", "drop", "make", "heads", "ids", "sheet", "line", "shop", "understand", "capable", "explain", "export"] as const;
export type Method = (typeof methods)[number];

export type Order =
  /** start the engine, reading entries from this server's database */ | { do: "start"; server: string }
  /** load the next piece of a job from the disk into the engine */ | { do: "catch up"; job: string }
  /** take a job out of the engine's memory */ | { do: "forget"; job: string }
  /** one call of the engine */ | { do: "call"; method: Method; input: unknown };

export interface Hello { engine: string; protocol: number; entry_version: number }

/** Where the engine stands with a job after a piece was loaded. `upTo` is the disk's count of its newest entry, 0 without any. */
export interface Progress {
  job: string; upTo: number; more: boolean; added: number; heads: ID[];
  refused: { index: number; id: ID; code: string; message: string }[]; /** entries whose parents are not here */ waiting: ID[]; /** those parents */ missing: ID[];
}

export interface Request { n: number; order: Order }

export type Reply =
  | { n: number; ok: unknown }
  | { n: number; error: { code: string; message: string } }
  /** the engine ended by itself; nothing can be asked of this worker any more */ | { dead: string };

/** The version of the engine's calls that this page speaks. */
export const protocol = 1;
