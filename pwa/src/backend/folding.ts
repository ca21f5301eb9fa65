// Keeps what people see in step with what is on the disk: the open job's sheet, the list of jobs, the shop. All computing is the engine's; this
// decides what is computed when. The open job goes first; the list follows in the background, one job at a time.

import type { Signal } from "@preact/signals";
import type { ID, JobLine, Sheet, Shop } from "../contract.ts";
import type { Disk } from "../disk/disk.ts";
import type { Engine } from "../engine/engine.ts";
import type { Overlay } from "./knowledge.ts";

/** The shop's own record. */
export const shopJob = "shop";
/** Jobs that stay in the engine's memory after they were looked at, besides the shop. */
const kept = 3;

export interface Seen { jobs: Signal<JobLine[]>; shop: Signal<Shop | null>; sheet: Signal<Sheet | null> }

export class Folding {
  private disk: Disk | null = null;
  private openJob: string | null = null;
  private recent: string[] = [];
  private readonly stale = new Set<string>();
  private background: Promise<void> | null = null;
  private folding: Promise<void> | null = null;
  private again = false;
  /** the heads of the shop's record as it was folded last: what a person who looks at the shop has seen */
  shopHeads: ID[] = [];

  constructor(
    private readonly engine: Engine,
    private readonly seen: Seen,
    private readonly overlay: () => Overlay,
    private readonly trouble: (words: string) => void,
  ) {}

  /** Shows the list of jobs as it was kept, without any computing. */
  async use(disk: Disk | null): Promise<void> {
    this.disk = disk;
    this.openJob = null;
    this.recent = [];
    this.stale.clear();
    this.shopHeads = [];
    this.seen.sheet.value = null;
    this.seen.shop.value = null;
    const stored = disk ? await disk.jobs() : [];
    this.seen.jobs.value = sorted(stored.flatMap(({ job, line }) => (line && job !== shopJob ? [line] : [])));
  }

  /** The engine is ready (again): compute the shop, the open job and then every line anew, as they may come from another version. */
  async everything(): Promise<void> {
    const disk = this.disk;
    if (!disk) return;
    const stored = await disk.jobs();
    // Jobs that have no line yet come first: they are not in the list at all.
    for (const { job } of stored.sort((a, b) => Number(a.line !== null) - Number(b.line !== null))) this.stale.add(job);
    await this.foldShop();
    if (this.openJob !== null) await this.foldOpen();
    this.run();
  }

  /** Opens a job: answers when its sheet is there. Throws in words if it is not on this device. */
  async open(job: string): Promise<void> {
    const disk = this.disk;
    if (!disk) throw new Error("Nobody has entered on this device yet. Enter a code first.");
    if (this.openJob !== job) this.seen.sheet.value = null;
    this.openJob = job;
    if ((await disk.readJob(job, 0, 1)).length === 0) throw new Error(`Job ${job} is not on this device. If it is new elsewhere, it comes with the next answer of the server.`);
    await this.foldOpen();
    await this.keepRecent(job);
  }

  /** Entries were stored in these jobs. */
  changed(jobs: Iterable<string>): void {
    for (const job of jobs) {
      if (job === shopJob) void this.foldShop().then(() => this.foldOpen()).catch((cause: unknown) => this.tell(cause));
      else if (job === this.openJob) void this.foldOpen().catch((cause: unknown) => this.tell(cause));
      else this.stale.add(job);
    }
    this.run();
  }

  /** What lies outside the record (the age of knowledge) changed. */
  overlayChanged(): void {
    if (this.openJob !== null && this.seen.sheet.value) void this.foldOpen().catch((cause: unknown) => this.tell(cause));
  }

  /** Computes the open job's sheet; calls that come while it runs are answered by one more run. */
  private foldOpen(): Promise<void> {
    if (this.folding) {
      this.again = true;
      return this.folding;
    }
    this.folding = (async () => {
      do {
        this.again = false;
        await this.foldOpenOnce();
      } while (this.again);
    })().finally(() => {
      this.folding = null;
    });
    return this.folding;
  }

  private async foldOpenOnce(): Promise<void> {
    const job = this.openJob;
    const disk = this.disk;
    if (job === null || !disk) return;
    const progress = await this.engine.catchUp(job, true);
    const sheet = await this.engine.call<Sheet>("sheet", { job, overlay: this.overlay() }, true);
    if (this.openJob !== job || this.disk !== disk) {
      this.again = true; // another was opened meanwhile
      return;
    }
    this.seen.sheet.value = sheet;
    if (job !== shopJob) await this.keepLine(disk, job, progress.upTo, progress.heads);
  }

  private async foldShop(): Promise<void> {
    const disk = this.disk;
    const progress = await this.engine.catchUp(shopJob, true);
    const shop = await this.engine.call<Shop>("shop", {}, true);
    if (this.disk !== disk || !disk) return;
    this.shopHeads = progress.heads;
    this.seen.shop.value = progress.upTo > 0 ? shop : null;
    await disk.noteJob(shopJob, progress.upTo, progress.heads, null);
  }

  private async keepLine(disk: Disk, job: string, upTo: number, heads: ID[]): Promise<void> {
    const line = await this.engine.call<JobLine>("line", { job, overlay: this.overlay() }, false);
    if (this.disk !== disk) return;
    this.stale.delete(job);
    this.seen.jobs.value = sorted([...this.seen.jobs.value.filter((l) => l.job !== job), line]);
    await disk.noteJob(job, upTo, heads, line);
  }

  private run(): void {
    this.background ??= this.foldStale().catch((cause: unknown) => this.tell(cause)).finally(() => {
      this.background = null;
    });
  }

  private async foldStale(): Promise<void> {
    for (;;) {
      const disk = this.disk;
      const [job] = this.stale;
      if (job === undefined || !disk) return;
      this.stale.delete(job);
      if (job === shopJob || job === this.openJob) continue;
      const progress = await this.engine.catchUp(job, false);
      await this.keepLine(disk, job, progress.upTo, progress.heads);
      if (job !== this.openJob && !this.recent.includes(job)) await this.engine.forget(job);
    }
  }

  private async keepRecent(job: string): Promise<void> {
    this.recent = [job, ...this.recent.filter((j) => j !== job)];
    for (const old of this.recent.splice(kept)) await this.engine.forget(old);
  }

  private tell(cause: unknown): void {
    this.trouble(cause instanceof Error ? cause.message : String(cause));
  }
}

function sorted(lines: JobLine[]): JobLine[] {
  return lines.sort((a, b) => (a.job < b.job ? -1 : a.job > b.job ? 1 : 0));
}
