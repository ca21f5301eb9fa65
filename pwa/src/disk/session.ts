// Who works on this device, the tokens with which it speaks to the server, and what is known of the server's clock.

import type { Database } from "./database.ts";
import type { ClockNote, StoredSession } from "./schema.ts";

export class SessionShelf {
  constructor(private readonly db: Database) {}

  get(): Promise<StoredSession | undefined> {
    return this.db.read("reading the session", ["session"], (tx) => tx.objectStore("session").get("now"));
  }

  put(session: StoredSession): Promise<void> {
    return this.db.write("keeping the session", ["session"], async (tx) => {
      await tx.objectStore("session").put(session, "now");
    });
  }

  /** Changes a part of the session, if it is still this device's and person's; another tab may have entered anew. Answers the result. */
  change(of: { device: string; person: string }, part: Partial<StoredSession>): Promise<StoredSession | undefined> {
    return this.db.write("keeping the session", ["session"], async (tx) => {
      const now = await tx.objectStore("session").get("now");
      if (!now || now.device !== of.device || now.person !== of.person) return now;
      const next = { ...now, ...part };
      await tx.objectStore("session").put(next, "now");
      return next;
    });
  }

  clear(): Promise<void> {
    return this.db.write("forgetting the session", ["session"], async (tx) => {
      await tx.objectStore("session").delete("now");
    });
  }

  clock(): Promise<ClockNote | undefined> {
    return this.db.read("reading the clock's note", ["clock"], (tx) => tx.objectStore("clock").get("note"));
  }

  /** Keeps what a fresh answer of the server taught. It also forgives a clock that once stood too far ahead. */
  putClock(note: ClockNote): Promise<void> {
    return this.db.write("keeping the clock's note", ["clock"], async (tx) => {
      await tx.objectStore("clock").put(note, "note");
    });
  }

  /** Notes that this device's clock showed this time, so that a clock set back later is noticed. Without any answer of the server there is nothing to keep. */
  sawWall(wall_ms: number): Promise<void> {
    return this.db.write("keeping the clock's note", ["clock"], async (tx) => {
      const note = await tx.objectStore("clock").get("note");
      if (note && note.highest_wall_ms < wall_ms) await tx.objectStore("clock").put({ ...note, highest_wall_ms: wall_ms }, "note");
    });
  }
}
