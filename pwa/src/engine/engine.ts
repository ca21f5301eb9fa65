// The page's way to the engine. Nothing else in the page talks to the worker.
//
// One order is with the worker at a time; urgent ones (a person waits) go before those of the background. A worker that dies or does not answer is
// replaced at the next order, and jobs are loaded into the new one from the disk as they are asked for.

import { type Hello, type Method, type Order, type Progress, type Reply, type Request } from "./messages.ts";

/** As much of a Worker as is needed. */
export interface WorkerLike {
  postMessage(message: Request): void;
  terminate(): void;
  onmessage: ((event: { data: Reply }) => void) | null;
  onerror: ((event: { message?: string }) => void) | null;
}

/** The engine answered with an error, or could not be asked. `code` is the engine's own, or "dead", "silent". */
export class EngineTrouble extends Error {
  override readonly name = "EngineTrouble";
  constructor(readonly code: string, words: string) {
    super(words);
  }
}

export interface EngineTold {
  ready(hello: Hello): void;
  /** The engine is gone; it is started again by the next order. */
  gone(words: string): void;
}

interface Waiting { order: Order; urgent: boolean; done: (answer: unknown) => void; failed: (cause: EngineTrouble) => void }

const patience = 90_000; // ms for one order: the first fold of the largest job on the slowest phone stays far below it

export class Engine {
  private worker: WorkerLike | null = null;
  private server: string | null = null;
  private queue: Waiting[] = [];
  private current: (Waiting & { n: number; cancel: () => void }) | null = null;
  private count = 0;
  private wanted = false; // somebody asked for the engine to be ready
  private started = false;
  private readonly loaded = new Set<string>();

  constructor(private readonly spawn: () => WorkerLike, private readonly after: (ms: number, run: () => void) => () => void, private readonly told: EngineTold) {}

  /** Starts the engine on this server's database; orders given before wait for it. Another server means another worker. */
  start(server: string): void {
    if (this.server !== server && this.worker) this.bury("another server was entered");
    this.server = server;
    this.wanted = true;
    this.next();
  }

  /** One call of the engine. `T` is the method's answer. */
  call<T>(method: Method, input: unknown, urgent: boolean): Promise<T> {
    return this.give<T>({ do: "call", method, input }, urgent);
  }

  /** Brings the engine's knowledge of a job up to what is on the disk. */
  async catchUp(job: string, urgent: boolean): Promise<Progress> {
    const all: Progress = { job, upTo: 0, more: false, added: 0, heads: [], refused: [], waiting: [], missing: [] };
    for (;;) {
      const piece = await this.give<Progress>({ do: "catch up", job }, urgent);
      all.added += piece.added;
      all.refused.push(...piece.refused);
      if (!piece.more) {
        this.loaded.add(job);
        return { ...piece, added: all.added, refused: all.refused };
      }
    }
  }

  /** Makes sure that the engine knows the job at all; it may lack what was stored since. */
  async ensure(job: string, urgent: boolean): Promise<void> {
    if (!this.loaded.has(job)) await this.catchUp(job, urgent);
  }

  /** Takes a job out of memory. */
  async forget(job: string): Promise<void> {
    if (!this.loaded.delete(job)) return;
    await this.give({ do: "forget", job }, false);
  }

  private give<T>(order: Order, urgent: boolean): Promise<T> {
    return new Promise<T>((done, failed) => {
      this.queue.push({ order, urgent, done: done as (answer: unknown) => void, failed });
      this.next();
    });
  }

  private next(): void {
    if (this.current || this.server === null) return;
    if (!this.worker) {
      if (!this.wanted && this.queue.length === 0) return; // one that failed is not raised again for nothing
      this.raise();
    }
    if (!this.started) {
      this.post({
        order: { do: "start", server: this.server }, urgent: true,
        done: (hello) => {
          this.started = true;
          this.told.ready(hello as Hello);
        },
        failed: (cause) => this.bury(cause.message),
      });
      return;
    }
    const at = Math.max(0, this.queue.findIndex((w) => w.urgent));
    const [waiting] = this.queue.splice(at, 1);
    if (waiting) this.post(waiting);
  }

  private post(waiting: Waiting): void {
    const n = ++this.count;
    const cancel = this.after(patience, () => this.bury("it did not answer", "silent"));
    this.current = { ...waiting, n, cancel };
    this.worker!.postMessage({ n, order: waiting.order });
  }

  private raise(): void {
    const worker = this.spawn();
    worker.onmessage = ({ data }) => {
      if (this.worker === worker) this.heard(data);
    };
    worker.onerror = (event) => {
      if (this.worker === worker) this.bury(event.message ?? "its script could not be loaded");
    };
    this.worker = worker;
    this.wanted = false;
    this.started = false;
    this.loaded.clear();
  }

  private heard(reply: Reply): void {
    if ("dead" in reply) {
      this.bury(reply.dead);
      return;
    }
    const current = this.current;
    if (!current || current.n !== reply.n) return;
    this.current = null;
    current.cancel();
    if ("error" in reply) current.failed(new EngineTrouble(reply.error.code, reply.error.message));
    else current.done(reply.ok);
    this.next();
  }

  // The order at hand and all that wait fail: whoever gave them knows best whether to give them again.
  private bury(why: string, code = "dead"): void {
    const { worker, current, queue } = this;
    if (!worker) return;
    this.worker = null;
    this.current = null;
    this.queue = [];
    this.started = false;
    this.loaded.clear();
    worker.onmessage = null;
    worker.onerror = null;
    worker.terminate();
    current?.cancel();
    const trouble = new EngineTrouble(code, `the part that computes stopped (${why}); it is started again by the next try. Everything that was saved is kept.`);
    this.told.gone(trouble.message);
    if (current && current.order.do !== "start") current.failed(trouble);
    for (const waiting of queue) waiting.failed(trouble);
  }
}
