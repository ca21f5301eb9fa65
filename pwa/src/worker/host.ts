// Holds the engine inside the worker: feeds it from the disk and passes calls on, one at a time.

import type { Disk } from "../disk/disk.ts";
import { methods, protocol, type Hello, type Method, type Order, type Progress } from "../engine/messages.ts";

/** The engine's door: a method and JSON in, JSON out: {"ok":…} or {"error":{"code","message"}}. */
export type Call = (method: string, json: string) => string;

/** The engine, or the disk under it, answered that something is wrong. */
export class Refusal extends Error {
  override readonly name = "Refusal";
  constructor(readonly code: string, message: string, options?: ErrorOptions) {
    super(message, options);
  }
}

const piece = 1000; // entries read at once: other calls get their turn in between

interface Loaded { added: number; heads: string[] | null; refused: Progress["refused"] | null; waiting: string[] | null; missing: string[] | null }

export class Host {
  private call: Call | null = null;
  private disk: Disk | null = null;
  private readonly upTo = new Map<string, number>(); // by job: the disk's count of the newest entry that the engine has

  constructor(private readonly loadEngine: () => Promise<Call>, private readonly openDisk: (server: string) => Disk) {}

  async obey(order: Order): Promise<unknown> {
    switch (order.do) {
      case "start": return this.start(order.server);
      case "catch up": return this.catchUp(order.job);
      case "forget":
        this.upTo.delete(order.job);
        return this.ask("drop", { job: order.job });
      case "call":
        if (!(methods as readonly string[]).includes(order.method)) throw new Refusal("method", `the engine has no method ${JSON.stringify(order.method)}`);
        return this.ask(order.method, order.input);
      default: throw new Refusal("order", `the worker does not know what ${JSON.stringify((order as { do?: unknown }).do)} means`);
    }
  }

  private async start(server: string): Promise<Hello> {
    this.disk = this.openDisk(server);
    this.call ??= await this.loadEngine();
    const hello = this.ask<Hello>("hello", {});
    if (hello.protocol !== protocol) {
      throw new Refusal("protocol", `the engine speaks protocol ${hello.protocol}, this page ${protocol}: a part of the page is of another version. Close every tab of the page and open it again.`);
    }
    return hello;
  }

  private async catchUp(job: string): Promise<Progress> {
    if (!this.disk) throw new Refusal("not started", "the engine has not been started");
    const after = this.upTo.get(job) ?? 0;
    const entries = await this.disk.readJob(job, after, piece);
    const loaded = this.ask<Loaded>("load", { job, entries: entries.map((e) => e.bytes) });
    const upTo = entries.at(-1)?.seq ?? after;
    this.upTo.set(job, upTo);
    return { job, upTo, more: entries.length === piece, added: loaded.added, heads: loaded.heads ?? [], refused: loaded.refused ?? [], waiting: loaded.waiting ?? [], missing: loaded.missing ?? [] };
  }

  private ask<T>(method: Method, input: unknown): T {
    if (!this.call) throw new Refusal("not started", "the engine has not been started");
    const answer = JSON.parse(this.call(method, JSON.stringify(input))) as { ok?: T; error?: { code: string; message: string } };
    if (answer.error) throw new Refusal(answer.error.code, answer.error.message);
    return answer.ok as T;
  }
}
