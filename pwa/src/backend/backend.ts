// The one implementation of what the page asks for: over the disk, the engine and the exchange with the server.
//
// Saving: the engine makes the entry, the disk takes it, and only after its transaction completed is it called saved. Folding, the other tabs and
// the server follow in the background. What the disk did not take stays in memory, goes into an export, and is tried again as the same entry when
// the person repeats it.

import { batch, signal, type Signal } from "@preact/signals";
import type { Backend, Explanation, ID, JobLine, ReadingBody, Role, Saved, Session, SetupBody, Sheet, Shop, SyncState, Understood } from "../contract.ts";
import { Disk, type NewEntry } from "../disk/disk.ts";
import type { ClockNote, StoredSession } from "../disk/schema.ts";
import { StorageTrouble } from "../disk/trouble.ts";
import { chooseServer, currentServer } from "../disk/which.ts";
import { Engine, EngineTrouble, type WorkerLike } from "../engine/engine.ts";
import { backOff, type Surroundings } from "../sync/surroundings.ts";
import { Sync, words } from "../sync/sync.ts";
import { Wire } from "../sync/wire.ts";
import { mayCapture, type Place } from "./capture.ts";
import { hashOf } from "./entry-file.ts";
import { takeIn, writeEverything } from "./everything-file.ts";
import { Folding, shopJob } from "./folding.ts";
import { isOld, offset, overlay, type ClockReading, type Overlay } from "./knowledge.ts";
import type { TabNews, Tabs } from "./tabs.ts";

/** What the browser gives; a test gives its own. */
export interface Browser {
  around: Surroundings;
  spawnEngine(): WorkerLike;
  tabs: Tabs;
  place: Place;
  /** 16 random bytes as 32 hex digits. */ salt(): string;
  /** Asks the browser to keep our storage; whether it promised. */ persist(): Promise<boolean>;
  /** Width and height of a picture in pixels. */ measure(picture: Blob): Promise<{ w: number; h: number }>;
  /** Loads the page anew. */ reload(): void;
  /** Answers after the page was drawn. */ painted(): Promise<void>;
}

const minute = 60_000;
const mostParents = 256; // of one entry; the record refuses more
const preferred: Role[] = ["technician", "inspector", "assembler", "quality", "office", "admin"];
const idle: SyncState = {
  unsent: 0, refused: [], photosUnsent: 0, online: false, lastAnswerMs: null, busy: false, trouble: "",
  persisted: false, savedCount: 0, engineReady: false, updateWaiting: false,
};

export class DeviceBackend implements Backend {
  readonly jobs: Signal<JobLine[]> = signal([]);
  readonly shop: Signal<Shop | null> = signal(null);
  readonly session: Signal<Session | null> = signal(null);
  readonly sync: Signal<SyncState> = signal(idle);
  readonly sheet: Signal<Sheet | null> = signal(null);
  readonly mayCapture: Signal<{ ok: boolean; words: string }>;
  readonly invitation: Signal<string> = signal("");
  /** Set by whoever knows of new versions of the page. */
  takeNewVersion: () => void = () => undefined;

  private disk: Disk | null = null;
  private exchange: Sync | null = null;
  private stored: StoredSession | null = null;
  private note: ClockNote | undefined;
  private answeredAt: number | null = null; // on the clock that is never set back; null before the first answer since the page began
  private syncTrouble = "";
  private engineTrouble = "";
  private engineFailures = 0;
  private old = false; // knowledge was past the shop's limit when the sheet was computed
  private typed = false;
  private saving = 0;
  private waitingForIdle: (() => void)[] = [];
  private readonly unsaved = new Map<string, NewEntry & { parents: ID[] }>(); // by what was asked for
  private readonly wire: Wire;
  private readonly engine: Engine;
  private readonly folding: Folding;

  constructor(private readonly browser: Browser) {
    this.mayCapture = signal(mayCapture(browser.place));
    this.wire = new Wire(browser.around);
    this.engine = new Engine(() => browser.spawnEngine(), (ms, run) => browser.around.after(ms, run), {
      ready: () => this.engineReady(),
      gone: (why) => this.engineGone(why),
    });
    this.folding = new Folding(this.engine, this, () => this.overlayOfSheet(), (why) => this.tellEngine(why));
    browser.tabs.hear = (news) => void this.heard(news).catch((cause: unknown) => this.tellSync(words(cause)));
  }

  // ---- starting ----

  async start(): Promise<void> {
    try {
      const server = await currentServer();
      if (server !== null) await this.use(server);
    } catch (cause) {
      this.tellSync(`What is stored on this device could not be opened: ${words(cause)} Nothing can be saved until it can. Close every tab of the page and open it again.`);
      return;
    }
    await this.browser.painted();
    if (this.disk) this.begin(this.disk);
    this.everyMinute();
  }

  private async use(server: string): Promise<void> {
    const disk = new Disk(server);
    const exchange = new Sync(disk, this.wire, this.browser.around, {
      round: ({ changed }) => this.roundOver(changed),
      state: (part) => this.exchangeState(part),
      session: (session) => this.setSession(session),
      clock: (note) => this.clockLearnt(note),
    });
    await this.exchange?.stop();
    this.disk = disk;
    this.exchange = exchange;
    this.note = await exchange.sessions.clock();
    this.answeredAt = null;
    this.setSession((await exchange.sessions.get()) ?? null);
    await this.folding.use(disk);
    await this.recount();
    this.patch({ lastAnswerMs: this.note?.server_ms ?? null, online: false });
  }

  private begin(disk: Disk): void {
    this.engine.start(disk.server);
    void this.exchange?.queue.offer(this.sync.value.refused.map((r) => r.id)) // another server version may take what an earlier one refused
      .then(() => this.exchange?.setInFront(true))
      .catch((cause: unknown) => this.tellSync(words(cause)));
    void this.browser.persist().then((persisted) => this.patch({ persisted }), (cause: unknown) => this.tellSync(words(cause)));
  }

  private everyMinute(): void {
    this.browser.around.after(minute, () => {
      this.everyMinute();
      void this.minutePassed().catch((cause: unknown) => this.tellSync(words(cause)));
    });
  }

  private async minutePassed(): Promise<void> {
    if (!this.exchange) return;
    await this.exchange.sessions.sawWall(this.browser.around.now());
    if (isOld(this.overlay()) !== this.old) this.folding.overlayChanged();
  }

  /** The page came to the front or went to the back. */
  setInFront(front: boolean): void {
    this.exchange?.setInFront(front);
    if (!front) void this.exchange?.sessions.sawWall(this.browser.around.now()).catch((cause: unknown) => this.tellSync(words(cause)));
    else this.folding.overlayChanged();
  }

  /** The browser believes that the network is back. */
  networkBack(): void {
    this.exchange?.nudgeNow();
  }

  // ---- who ----

  async enrol(code: string, deviceName: string): Promise<{ ok: true } | { ok: false; words: string }> {
    try {
      const [entered, trip] = await this.wire.enrol(code.trim(), deviceName.trim());
      const other = this.disk?.server !== entered.server;
      await chooseServer(entered.server, this.browser.around.now());
      if (other) await this.use(entered.server);
      const roles = entered.roles ?? [];
      const session: StoredSession = {
        server: entered.server, device: entered.device, person: entered.person, name: entered.name, roles, as: firstRole(roles, this.stored?.as),
        access: entered.access, refresh: entered.refresh, access_expires_ms: entered.access_expires_ms, ended: false,
      };
      const exchange = this.exchange!;
      await exchange.sessions.put(session);
      const wall = this.browser.around.now();
      this.note = { off_ms: Math.round(entered.time_ms - (trip.sent + trip.received) / 2), server_ms: entered.time_ms, wall_ms: wall, highest_wall_ms: wall };
      await exchange.sessions.putClock(this.note);
      this.answeredAt = this.browser.around.monotonic();
      this.setSession(session);
      this.invitation.value = "";
      this.browser.tabs.tell({ what: other ? "server" : "session" });
      this.begin(this.disk!);
      return { ok: true };
    } catch (cause) {
      return { ok: false, words: words(cause) };
    }
  }

  async leave(): Promise<void> {
    await this.exchange?.sessions.clear();
    this.setSession(null);
    this.browser.tabs.tell({ what: "session" });
  }

  setRole(as: Role): void {
    const stored = this.stored;
    if (!stored || !stored.roles.some((r) => r.role === as)) return;
    this.setSession({ ...stored, as });
    void this.exchange?.sessions.change(stored, { as })
      .then(() => this.browser.tabs.tell({ what: "session" }))
      .catch((cause: unknown) => this.tellSync(words(cause)));
  }

  private setSession(stored: StoredSession | null): void {
    if (stored && stored.roles.length > 0) stored = { ...stored, as: firstRole(stored.roles, stored.as) };
    this.stored = stored;
    this.session.value = stored && { person: { id: stored.person, name: stored.name, roles: stored.roles }, as: stored.as, device: stored.device, server: stored.server };
  }

  // ---- the record ----

  open(job: string): Promise<void> {
    return this.folding.open(job);
  }

  async save(job: string, kind: string, body: unknown, seen: ID[]): Promise<Saved> {
    const { disk, stored } = this;
    if (!disk || !stored) return { ok: false, words: "Nobody has entered on this device. Enter a code first; what you typed is still on the screen." };
    if (!this.mayCapture.value.ok) return { ok: false, words: this.mayCapture.value.words };
    this.saving++;
    const asked = JSON.stringify([job, kind, body, seen]);
    try {
      let entry = this.unsaved.get(asked);
      if (!entry) {
        const parents = await this.gathered(disk, stored, job, await this.parents(disk, job, seen));
        entry = { ...(await this.make(stored, job, kind, body, parents)), parents };
        this.unsaved.set(asked, entry);
      }
      await disk.putOwn({ id: entry.id, job, bytes: entry.bytes }, entry.parents);
      this.unsaved.delete(asked);
      this.saved(job);
      return { ok: true, id: entry.id };
    } catch (cause) {
      if (cause instanceof StorageTrouble && cause.fault === "refused") this.unsaved.delete(asked); // it could never be stored
      return { ok: false, words: words(cause) };
    } finally {
      this.doneSaving();
    }
  }

  private doneSaving(): void {
    this.saving--;
    this.maybeIdle();
  }

  private maybeIdle(): void {
    if (!this.hasUnsaved()) for (const go of this.waitingForIdle.splice(0)) go();
  }

  // Parents are what the person saw. Nothing seen is right for the first entry of a job only; who looks at the shop sees its fold.
  private async parents(disk: Disk, job: string, seen: ID[]): Promise<ID[]> {
    const parents = seen.length === 0 && job === shopJob ? this.folding.shopHeads : seen;
    if (parents.length === 0 && (await disk.readJob(job, 0, 1)).length > 0) {
      throw new Error(`Job ${job} has entries that this screen has not shown yet. Nothing was saved. Open the job, then repeat.`);
    }
    return [...new Set(parents)].sort();
  }

  // An entry takes a limited number of parents. Beyond it, entries that say nothing gather them, in as many layers as it needs; no head is dropped.
  private async gathered(disk: Disk, stored: StoredSession, job: string, parents: ID[]): Promise<ID[]> {
    while (parents.length > mostParents) {
      const fewer: ID[] = [];
      for (let at = 0; at < parents.length; at += mostParents) {
        const group = parents.slice(at, at + mostParents);
        const entry = await this.make(stored, job, "gather", {}, group);
        await disk.putOwn(entry, group);
        fewer.push(entry.id);
      }
      parents = fewer.sort();
    }
    return parents;
  }

  private async make(stored: StoredSession, job: string, kind: string, body: unknown, parents: ID[]): Promise<NewEntry> {
    const draft = {
      job, kind, body, parents, by: stored.person, as: stored.as, grant: stored.roles.find((r) => r.role === stored.as)?.grant ?? "", device: stored.device,
      wall_ms: Math.round(this.browser.around.now()), off_ms: offset(this.note, this.clockReading()), salt: this.browser.salt(),
    };
    type Made = { id: ID; bytes: string };
    const made = await this.engine.call<Made>("make", draft, true).catch((cause: unknown) => {
      if (!(cause instanceof EngineTrouble && cause.code === "dead")) throw cause;
      return this.engine.call<Made>("make", draft, true); // the engine died under it; a new one is raised
    });
    return { id: made.id, job, bytes: made.bytes };
  }

  private saved(job: string): void {
    this.folding.changed([job]);
    this.browser.tabs.tell({ what: "stored", jobs: [job] });
    // Before anybody is told that it is saved: not for a moment may all be called "on the server" while this one is not.
    this.patch({ unsent: this.sync.value.unsent + 1, savedCount: this.sync.value.savedCount + 1 });
    void this.recount().catch((cause: unknown) => this.tellSync(words(cause)));
    this.exchange?.nudge();
  }

  async understand(q: { job: string; feature: string; characteristic: string; setup: ID; text: string; unit: string; means: ReadingBody["means"] }): Promise<Understood> {
    try {
      await this.engine.ensure(q.job, true);
      return await this.engine.call<Understood>("understand", q, true);
    } catch (cause) {
      return { ok: false, words: words(cause) };
    }
  }

  async capable(q: { job: string; feature: string; characteristic: string; setup: SetupBody }): Promise<{ can: boolean; words: string; best_pc: number; bound_U_pm: number }> {
    await this.engine.ensure(q.job, true);
    return this.engine.call("capable", q, true);
  }

  async explain(q: { job: string; feature: string; characteristic: string }): Promise<Explanation> {
    await this.engine.catchUp(q.job, true);
    const { explanations } = await this.engine.call<{ explanations: Explanation[] }>("explain", q, true);
    if (!explanations[0]) throw new Error(`Nothing is specified as ${q.characteristic} of ${q.feature}.`);
    return explanations[0];
  }

  async export(job: string, format: "html" | "csv" | "json" | "job"): Promise<Blob> {
    await this.engine.catchUp(job, true);
    const file = await this.engine.call<{ name: string; type: string; text: string }>("export", { job, format, overlay: this.overlay() }, true);
    return new File([file.text], file.name, { type: file.type });
  }

  async exportEntries(): Promise<Blob> {
    const { disk, exchange } = this;
    if (!disk || !exchange) throw new Error("Nothing is stored on this device yet: nobody has entered.");
    return writeEverything(disk, exchange.photos, [...this.unsaved.values()], { server: disk.server, device: this.stored?.device ?? "", written_ms: this.browser.around.now() });
  }

  async importEntries(file: Blob): Promise<{ taken: number; words: string }> {
    const { disk, exchange } = this;
    if (!disk || !exchange) return { taken: 0, words: "Enter a code first: entries are kept for a server." };
    try {
      const { taken, jobs, words: said } = await takeIn(file, disk, exchange.photos, this.engine);
      if (jobs.size > 0) {
        this.folding.changed(jobs);
        this.browser.tabs.tell({ what: "stored", jobs: [...jobs] });
      }
      await this.recount();
      exchange.nudgeNow();
      return { taken, words: said };
    } catch (cause) {
      return { taken: 0, words: words(cause) };
    }
  }

  async savePhoto(blob: Blob): Promise<{ hash: string; bytes: number; w: number; h: number }> {
    if (!this.exchange) throw new Error("Nobody has entered on this device. Enter a code first.");
    if (!this.mayCapture.value.ok) throw new Error(this.mayCapture.value.words);
    this.saving++;
    try {
      const data = await blob.arrayBuffer();
      const [hash, { w, h }] = await Promise.all([hashOf(data), this.browser.measure(blob)]);
      await this.exchange.photos.put({ hash, type: blob.type, data, w, h });
      await this.recount();
      this.exchange.nudge();
      return { hash, bytes: data.byteLength, w, h };
    } finally {
      this.doneSaving();
    }
  }

  async photo(hash: string): Promise<Blob | null> {
    const exchange = this.exchange;
    if (!exchange) return null;
    const here = await exchange.photos.get(hash);
    if (here) return new Blob([here.data], { type: here.type });
    if (!this.sync.value.online) return null;
    try {
      const theirs = await exchange.access.with((token) => this.wire.photo(token, hash));
      if (!theirs || (await hashOf(theirs.data)) !== hash) return null;
      await exchange.photos.keep({ hash, type: theirs.type, data: theirs.data, w: 0, h: 0 });
      return new Blob([theirs.data], { type: theirs.type });
    } catch (cause) {
      this.tellSync(words(cause));
      return null;
    }
  }

  async syncNow(): Promise<void> {
    if (!this.exchange) return;
    await this.exchange.queue.offer(this.sync.value.refused.map((r) => r.id));
    await this.exchange.now();
  }

  typing(open: boolean): void {
    this.typed = open;
    this.maybeIdle();
  }

  /** Whether something is typed, being saved, or could not be saved. */
  hasUnsaved(): boolean {
    return this.typed || this.saving > 0 || this.unsaved.size > 0;
  }

  /** Answers when nothing is unsaved: only then may the page be loaded anew. */
  idle(): Promise<void> {
    if (!this.hasUnsaved()) return Promise.resolve();
    return new Promise((done) => this.waitingForIdle.push(done));
  }

  applyUpdate(): void {
    if (!this.hasUnsaved()) this.takeNewVersion();
  }

  updateWaiting(): void {
    this.patch({ updateWaiting: true });
  }

  /** Something about keeping the page for use without the network. */
  tellSync(why: string): void {
    this.syncTrouble = why;
    this.tell();
  }

  // ---- what is heard ----

  private roundOver(changed: Set<string>): void {
    if (changed.size > 0) this.folding.changed(changed);
    this.browser.tabs.tell({ what: "stored", jobs: [...changed] });
    void this.recount().catch((cause: unknown) => this.tellSync(words(cause)));
  }

  private exchangeState(part: { busy?: boolean; trouble?: string; online?: boolean }): void {
    const { trouble, ...rest } = part;
    if (trouble !== undefined) this.syncTrouble = trouble;
    batch(() => {
      this.patch(rest);
      if (trouble !== undefined) this.tell();
    });
  }

  private clockLearnt(note: ClockNote): void {
    this.note = note;
    this.answeredAt = this.browser.around.monotonic();
    this.patch({ lastAnswerMs: note.server_ms });
    if (this.old) this.folding.overlayChanged();
  }

  private async heard(news: TabNews): Promise<void> {
    switch (news.what) {
      case "stored":
        if (news.jobs.length > 0) this.folding.changed(news.jobs);
        return this.recount();
      case "session":
        if (this.exchange) this.setSession((await this.exchange.sessions.get()) ?? null);
        return;
      case "server":
        await this.idle();
        this.browser.reload();
    }
  }

  private engineReady(): void {
    this.engineFailures = 0;
    this.engineTrouble = "";
    batch(() => {
      this.patch({ engineReady: true });
      this.tell();
    });
    void this.folding.everything().catch((cause: unknown) => this.tellEngine(words(cause)));
  }

  private engineGone(why: string): void {
    this.engineFailures++;
    this.patch({ engineReady: false });
    this.tellEngine(why);
    const server = this.disk?.server;
    if (server !== undefined) this.browser.around.after(backOff(this.engineFailures, this.browser.around.random()), () => this.engine.start(server));
  }

  private tellEngine(why: string): void {
    this.engineTrouble = why;
    this.tell();
  }

  private tell(): void {
    this.patch({ trouble: [this.engineTrouble, this.syncTrouble].filter((t) => t !== "").join(" ") });
  }

  private async recount(): Promise<void> {
    if (!this.disk) return;
    const { unsent, refused, photosUnsent, saved } = await this.disk.counts();
    this.patch({ unsent, refused: refused.map(({ id, job, words: why }) => ({ id, job, words: why })), photosUnsent, savedCount: saved });
  }

  private patch(part: Partial<SyncState>): void {
    this.sync.value = { ...this.sync.value, ...part };
  }

  private clockReading(): ClockReading {
    const { around } = this.browser;
    return { wall_ms: around.now(), elapsed_ms: this.answeredAt === null ? null : around.monotonic() - this.answeredAt };
  }

  private overlay(): Overlay {
    return overlay(this.note, this.clockReading(), this.shop.value?.settings ?? {});
  }

  private overlayOfSheet(): Overlay {
    const made = this.overlay();
    this.old = isOld(made);
    return made;
  }
}

function firstRole(roles: { role: Role }[], wish?: Role): Role {
  if (wish && roles.some((r) => r.role === wish)) return wish;
  return preferred.find((role) => roles.some((r) => r.role === role)) ?? "technician";
}
