// Fetches what is new, job by job, each from where this device left off.

import type { ID } from "../contract.ts";
import type { Disk } from "../disk/disk.ts";
import type { Queue } from "../disk/queue.ts";
import type { Access } from "./access.ts";
import { Unreachable, type PulledJob, type Trip, type Wire } from "./wire.ts";

const limit = 1000; // entries in an answer
const offered = 10_000; // ids in one question "which of these have you not?"

export interface PullReport { /** entries that the server had lost and that were queued for it */ lost: number; /** the server lost a part of its history */ restored: boolean }

/** The id of an entry: the SHA-256 of its bytes as 64 hex digits. */
export async function idOf(bytes: string): Promise<ID> {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(bytes)));
  let id = "";
  for (const b of digest) id += b.toString(16).padStart(2, "0");
  return id;
}

export class Pull {
  constructor(
    private readonly disk: Disk,
    private readonly queue: Queue,
    private readonly wire: Wire,
    private readonly access: Access,
    private readonly answered: (server: string, time_ms: number, trip: Trip) => void,
    /** told after entries of a job that are new here were stored */ private readonly stored: (job: string) => void,
  ) {}

  /** Fetches until the server has nothing more. Throws what the network or the server threw; what was stored until then stays, with its cursor. */
  async all(): Promise<PullReport> {
    const report: PullReport = { lost: 0, restored: false };
    for (;;) {
      const cursors = (await this.disk.cursors()).map(({ job, n, hash }) => ({ job, n, hash }));
      const [answer, trip] = await this.access.with((token) => this.wire.pull(token, cursors, limit));
      this.answered(answer.server, answer.time_ms, trip);
      let again = answer.more;
      for (const job of answer.jobs ?? []) {
        if (job.continues) {
          await this.store(job);
        } else {
          if (!cursors.some((c) => c.job === job.job)) throw new Unreachable(`the server calls the history of job ${job.job} broken though it was asked for all of it`);
          report.restored = true;
          report.lost += await this.offerWhatIsLost(job.job);
          again = true;
        }
      }
      if (!again) return report;
    }
  }

  private async store(job: PulledJob): Promise<void> {
    const entries = await Promise.all((job.entries ?? []).map(async (bytes) => ({ id: await idOf(bytes), bytes })));
    const fresh = await this.disk.putPulled(job.job, entries, { job: job.job, n: job.n, hash: job.hash, backed_up_through: job.backed_up_through ?? 0 });
    if (fresh > 0) this.stored(job.job);
  }

  // The server cannot continue from where this device stood: it was restored from an older state. It is offered every id held here.
  private async offerWhatIsLost(job: string): Promise<number> {
    const ids = await this.disk.ids(job);
    const missing: ID[] = [];
    for (let at = 0; at < ids.length; at += offered) {
      missing.push(...(await this.access.with((token) => this.wire.have(token, job, ids.slice(at, at + offered)))));
    }
    await this.queue.offerAgain(job, missing);
    return missing.length;
  }
}
