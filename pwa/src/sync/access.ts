// The tokens with which this device speaks to the server.
//
// The short-lived one is renewed by the long-lived one, which is itself replaced each time. Two tabs that renew at once could be taken for a thief,
// so renewing is done by one at a time, and whoever comes second finds the new tokens in the database.

import type { StoredSession } from "../disk/schema.ts";
import type { SessionShelf } from "../disk/session.ts";
import type { Surroundings } from "./surroundings.ts";
import { ServerSays, type Trip, type Wire } from "./wire.ts";

/** Nobody has entered on this device, or the server ended the session: saving goes on, sending waits for a code. */
export class NotEntered extends Error {
  override readonly name = "NotEntered";
}

const margin = 30_000; // ms before its end at which a token is renewed

export class Access {
  constructor(
    private readonly sessions: SessionShelf,
    private readonly wire: Wire,
    private readonly around: Surroundings,
    /** told after tokens were renewed or the session ended */ private readonly changed: (session: StoredSession) => void,
    /** told of every answer that carries the server's time */ private readonly answered: (time_ms: number, trip: Trip) => void,
  ) {}

  /** Does something under a valid token; a token that the server no longer takes is renewed once. */
  async with<T>(work: (token: string) => Promise<T>): Promise<T> {
    const session = await this.session();
    const clock = await this.sessions.clock();
    const serverNow = this.around.now() + (clock?.off_ms ?? 0);
    const token = session.access_expires_ms - margin > serverNow ? session.access : await this.renew(session.access);
    try {
      return await work(token);
    } catch (cause) {
      if (!(cause instanceof ServerSays && cause.status === 401)) throw cause;
    }
    return work(await this.renew(token));
  }

  private async session(): Promise<StoredSession> {
    const session = await this.sessions.get();
    if (!session) throw new NotEntered("nobody has entered on this device; enter a code to send and fetch");
    if (session.ended) throw new NotEntered("the server ended this session; what was saved is kept here. Enter a new code to send it");
    return session;
  }

  private renew(stale: string): Promise<string> {
    return this.around.alone("runtrue-token", 10_000, async () => {
      const session = await this.session();
      if (session.access !== stale) return session.access; // another tab was faster
      try {
        const [fresh, trip] = await this.wire.refresh(session.refresh);
        const next = await this.sessions.change(session, {
          access: fresh.access, refresh: fresh.refresh, access_expires_ms: fresh.access_expires_ms, roles: fresh.roles ?? [],
        });
        this.answered(fresh.time_ms, trip);
        if (next) this.changed(next);
        return fresh.access;
      } catch (cause) {
        if (!(cause instanceof ServerSays && (cause.status === 401 || cause.status === 403))) throw cause;
        const ended = await this.sessions.change(session, { ended: true });
        if (ended) this.changed(ended);
        throw new NotEntered("the server ended this session; what was saved is kept here. Enter a new code to send it", { cause });
      }
    });
  }
}
