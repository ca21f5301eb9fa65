// The office's end of the wire: writes the shop's record and the beginnings of jobs with the real engine, and reads what the server holds.

import { createHash } from "node:crypto";
import { Engine } from "./engine.ts";

type Role = "technician" | "inspector" | "assembler" | "quality" | "office" | "admin";
interface Enrolled { person: string; device: string; access: string; roles: { role: Role; grant: string }[] }
interface Pulled { jobs: { job: string; n: number; hash: string; entries: string[] }[]; more: boolean }

export interface Envelope { parents: string[]; by: string; as: string; device: string; wall_ms: number; off_ms?: number; kind: string; body: Record<string, unknown> }

export class Desk {
  private roles: { role: Role; grant: string }[];
  private written = 0;

  private constructor(private readonly address: () => string, readonly engine: Engine, private readonly who: Enrolled) {
    this.roles = who.roles;
  }

  static async enter(address: () => string, code: string): Promise<Desk> {
    const answer = await fetch(`${address()}/api/v1/enrol`, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ code, device_name: "office desk" }) });
    const who = (await answer.json()) as Enrolled;
    if (!answer.ok) throw new Error(`enrol answered ${answer.status}: ${JSON.stringify(who)}`);
    return new Desk(address, await Engine.from(address()), who);
  }

  /** One request; anything but success is an error with the server's words. */
  async ask<T>(method: string, path: string, body?: unknown): Promise<T> {
    return (await (await this.request(method, path, body)).json()) as T;
  }

  /** A file of a job as the server hands it out. */
  async file(job: string, name: string): Promise<string> {
    return (await this.request("GET", `/api/v1/jobs/${job}/${name}`)).text();
  }

  private async request(method: string, path: string, body?: unknown): Promise<Response> {
    const answer = await fetch(this.address() + path, {
      method, headers: { Authorization: `Bearer ${this.who.access}`, ...(body === undefined ? {} : { "Content-Type": "application/json" }) },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    if (!answer.ok) throw new Error(`${method} ${path} answered ${answer.status}: ${await answer.text()}`);
    return answer;
  }

  async codeFor(person: string): Promise<string> {
    return (await this.ask<{ code: string }>("POST", "/api/v1/codes", { person })).code;
  }

  /** The job's entries on the server, in the order of their arrival. */
  async entries(job: string): Promise<Envelope[]> {
    return (await this.bytes(job)).map((text) => JSON.parse(text) as Envelope);
  }

  async bytes(job: string): Promise<string[]> {
    const all: string[] = [];
    let cursors: { job: string; n: number; hash: string }[] = [];
    for (let more = true; more;) {
      const answer = await this.ask<Pulled>("POST", "/api/v1/pull", { cursors, limit: 500 });
      for (const j of answer.jobs) if (j.job === job) all.push(...j.entries);
      cursors = [...cursors.filter((c) => !answer.jobs.some((j) => j.job === c.job)), ...answer.jobs.map(({ job: name, n, hash }) => ({ job: name, n, hash }))];
      more = answer.more;
    }
    return all;
  }

  /** Writes entries one after the other on what the server holds of the job, and sends them. Answers their ids. */
  async write(job: string, as: Role, ...list: [kind: string, body: unknown][]): Promise<string[]> {
    this.engine.call("load", { job, entries: await this.bytes(job) });
    const made: { id: string; bytes: string }[] = [];
    for (const [kind, body] of list) {
      const { heads } = this.engine.call<{ heads: string[] }>("heads", { job });
      const entry = this.engine.call<{ id: string; bytes: string }>("make", {
        job, kind, body, parents: [...heads].sort(), by: this.who.person, as, grant: this.roles.find((r) => r.role === as)?.grant ?? "0".repeat(64), device: this.who.device,
        wall_ms: Date.now(), off_ms: 0, salt: (++this.written).toString(16).padStart(32, "0"),
      });
      this.engine.call("load", { job, entries: [entry.bytes] });
      made.push(entry);
    }
    const answer = await this.ask<{ taken: unknown[]; refused: unknown[]; waiting: unknown[] }>("POST", "/api/v1/push", { device_saved: this.written, entries: made.map((e) => e.bytes) });
    if (answer.taken.length !== made.length) throw new Error(`of ${made.length} entries the server took ${answer.taken.length}: ${JSON.stringify(answer)}`);
    return made.map((e) => e.id);
  }

  /** The id of an entry: the SHA-256 of its bytes. */
  idOf(bytes: string): string {
    return createHash("sha256").update(bytes).digest("hex");
  }

  /** Learns which roles this person holds by now. */
  async learnRoles(): Promise<void> {
    this.roles = (await this.ask<{ roles: { role: Role; grant: string }[] }>("GET", "/api/v1/me")).roles;
  }

  /** The sheet that the server's entries give, by the engine here. */
  async sheet<T>(job: string): Promise<T> {
    this.engine.call("load", { job, entries: await this.bytes(job) });
    return this.engine.call<T>("sheet", { job, overlay: {} });
  }
}
