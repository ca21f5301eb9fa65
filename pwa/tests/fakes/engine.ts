// An engine of a few lines, with the real one's door: it reads and writes the entries of the fake server, so that what stands around the engine can be
// tested without it. Bodies of kind "bad" are malformed.

import { Host, type Call } from "../../src/worker/host.ts";
import type { Reply, Request } from "../../src/engine/messages.ts";
import type { WorkerLike } from "../../src/engine/engine.ts";
import { Disk } from "../../src/disk/disk.ts";
import { idOfBytes } from "./device.ts";

interface Known { id: string; parents: string[]; kind: string; body: unknown }
interface Input { job: string; entries: string[]; kind: string; body: unknown; parents: string[]; by: string; salt: string; text: string; format: string; overlay: { knowledge_ms: number; fresh_limit_ms: number } }

/** Counts the calls by method. */
export function fakeEngine(calls: Map<string, number> = new Map()): Call {
  const jobs = new Map<string, Map<string, Known>>();
  const job = (name: string): Map<string, Known> => {
    const known = jobs.get(name);
    if (!known) throw new Error(`job ${name} is not loaded`);
    return known;
  };
  const heads = (known: Map<string, Known>): string[] => {
    const under = new Set([...known.values()].flatMap((e) => e.parents));
    return [...known.keys()].filter((id) => !under.has(id)).sort();
  };
  function run(method: string, a: Input): unknown {
    switch (method) {
      case "hello": return { engine: "fake-1", protocol: 1, entry_version: 1 };
      case "load": {
        const known = jobs.get(a.job) ?? new Map<string, Known>();
        jobs.set(a.job, known);
        let added = 0;
        const refused: unknown[] = [];
        a.entries.forEach((bytes, index) => {
          const entry = JSON.parse(bytes) as { job: string; parents: string[]; kind?: string; body?: unknown };
          const id = idOfBytes(bytes);
          if (entry.kind === "bad") refused.push({ index, id, code: "malformed", message: "the entry is malformed" });
          else if (!known.has(id)) {
            known.set(id, { id, parents: entry.parents, kind: entry.kind ?? "", body: entry.body });
            added++;
          }
        });
        return { job: a.job, count: known.size, added, heads: heads(known), refused, waiting: [], missing: [] };
      }
      case "drop": return jobs.delete(a.job);
      case "make": {
        if (a.kind === "bad") throw new Error("the entry is malformed: nothing was made");
        const bytes = JSON.stringify({ job: a.job, parents: a.parents, salt: a.salt, by: a.by, kind: a.kind, body: a.body });
        return { id: idOfBytes(bytes), bytes };
      }
      case "sheet": return { job: a.job, entries: job(a.job).size, heads: heads(job(a.job)), holds: a.overlay.knowledge_ms < 0 || a.overlay.knowledge_ms > a.overlay.fresh_limit_ms ? [{ code: "old knowledge" }] : [] };
      case "line": return { job: a.job, entries: job(a.job).size };
      case "shop": return { name: "a shop", people: [], gauges: [], masters: [], settings: {} };
      case "understand": return { ok: true, words: "", value_pm: Number(a.text), entries: job(a.job).size };
      case "export": return { name: `${a.job}.${a.format}`, type: "text/plain", text: `entries: ${job(a.job).size}` };
      default: throw new Error(`the fake engine has no ${method}`);
    }
  }
  return (method, json) => {
    calls.set(method, (calls.get(method) ?? 0) + 1);
    try {
      return JSON.stringify({ ok: run(method, JSON.parse(json) as Input) });
    } catch (cause) {
      return JSON.stringify({ error: { code: "fake", message: (cause as Error).message } });
    }
  };
}

/** A worker that runs in the test's own thread. `kill` makes it die as a crashed engine does. */
export class FakeWorker implements WorkerLike {
  onmessage: ((event: { data: Reply }) => void) | null = null;
  onerror: ((event: { message?: string }) => void) | null = null;
  terminated = false;
  deaf = false;
  private readonly host: Host;
  private last: Promise<void> = Promise.resolve();

  constructor(load: () => Promise<Call>) {
    this.host = new Host(load, (server) => new Disk(server));
  }

  postMessage({ n, order }: Request): void {
    if (this.deaf) return;
    this.last = this.last.then(async () => {
      let reply: Reply;
      try {
        reply = { n, ok: structuredClone(await this.host.obey(order)) };
      } catch (cause) {
        reply = { n, error: { code: (cause as { code?: string }).code ?? "error", message: (cause as Error).message } };
      }
      if (!this.terminated) this.onmessage?.({ data: reply });
    });
  }
  terminate(): void {
    this.terminated = true;
  }
  kill(): void {
    this.onmessage?.({ data: { dead: "killed by the test" } });
  }
}
