// A server in memory, with every way to fail that a test asks for. It orders parents first, numbers arrivals and chains their hashes as the real one does.

import { createHash } from "node:crypto";

export type Fault =
  | "none"
  /** the request never arrives */ | "lost request"
  /** the server did it, the answer never arrives */ | "lost answer"
  /** the server did it, half of the answer arrives */ | "cut answer"
  /** the server dies after the first half of a push */ | "half done"
  /** the server is out of order */ | "broken";

export interface Arrival { id: string; bytes: string; n: number; hash: string }

export interface Envelope { job: string; parents: string[]; [key: string]: unknown }

const sha256 = (text: string | Uint8Array): string => createHash("sha256").update(text).digest("hex");

interface State { jobs: Map<string, Arrival[]>; photos: Map<string, Uint8Array> }

export class FakeServer {
  state: State = { jobs: new Map(), photos: new Map() };
  readonly requests: string[] = [];
  /** faults of the requests to come; afterwards all goes well */
  faults: Fault[] = [];
  /** entries that are refused, by id */
  refuse = new Map<string, { code: string; message: string }>();
  /** ids whose presence in a push makes the whole request fail with 413 */
  poison = new Set<string>();
  access = "access-0";
  refresh = "refresh-0";
  /** the refresh token before, still good until the new one is first used */
  previous = "";
  private renewals = 0;
  expires = Number.MAX_SAFE_INTEGER;
  ended = false;
  savedCounts: number[] = [];

  constructor(readonly id: string, private readonly now: () => number) {}

  snapshot(): State {
    return { jobs: new Map([...this.state.jobs].map(([job, list]) => [job, [...list]])), photos: new Map(this.state.photos) };
  }
  restore(state: State): void {
    this.state = { jobs: new Map([...state.jobs].map(([job, list]) => [job, [...list]])), photos: new Map(state.photos) };
  }
  all(): Arrival[] {
    return [...this.state.jobs.values()].flat();
  }
  /** Makes the present access token worthless, as if its time had run out. */
  expireToken(): void {
    this.access = `gone-${this.renewals}`;
  }

  readonly fetch = async (url: string, init: RequestInit): Promise<Response> => {
    const fault = this.faults.shift() ?? "none";
    const { pathname, searchParams } = new URL(url, "http://fake");
    const request = `${init.method} ${pathname}`;
    this.requests.push(request);
    if (fault === "lost request") throw new TypeError("fetch failed");
    if (fault === "broken") return new Response("out of order", { status: 500 });
    const response = await this.answer(request, searchParams, init, fault === "half done");
    if (fault === "lost answer" || fault === "half done") throw new TypeError("fetch failed");
    if (fault === "cut answer") {
      const text = await response.text();
      return new Response(text.slice(0, Math.floor(text.length / 2)), { status: response.status });
    }
    return response;
  };

  private async answer(request: string, query: URLSearchParams, init: RequestInit, half: boolean): Promise<Response> {
    if (request === "POST /api/v1/refresh") return this.renew(JSON.parse(init.body as string));
    const authorisation = new Headers(init.headers).get("Authorization");
    if (this.ended || authorisation !== `Bearer ${this.access}`) return fail(401, "unauthorised", "the token is not valid any more; refresh it");
    if (this.previous !== "") this.previous = "";
    const photo = /^(HEAD|PUT|GET) \/api\/v1\/photos\/([0-9a-f]{64})$/.exec(request);
    if (photo) return this.photo(photo[1]!, photo[2]!, Number(query.get("offset") ?? "0"), init.body as ArrayBuffer);
    const body = init.body === undefined ? {} : JSON.parse(init.body as string);
    switch (request) {
      case "GET /api/v1/me": return ok({ server: this.id, device: "tablet-1", person: "p1", name: "Ana", roles: [{ role: "technician", grant: "" }], time_ms: this.now() });
      case "POST /api/v1/push": return this.push(body, half);
      case "POST /api/v1/pull": return this.pull(body);
      case "POST /api/v1/have": return ok({ missing: body.ids.filter((id: string) => !(this.state.jobs.get(body.job) ?? []).some((a) => a.id === id)) });
      default: return fail(404, "no such route", request);
    }
  }

  private renew(body: { refresh: string }): Response {
    if (this.ended || (body.refresh !== this.refresh && body.refresh !== this.previous)) return fail(401, "session ended", "enter a new code");
    this.renewals++;
    this.previous = body.refresh;
    this.refresh = `refresh-${this.renewals}`;
    this.access = `access-${this.renewals}`;
    return ok({ access: this.access, refresh: this.refresh, access_expires_ms: this.expires, time_ms: this.now(), roles: [{ role: "technician", grant: "" }] });
  }

  private push(body: { device_saved: number; entries: string[] }, half: boolean): Response {
    if (body.entries.length > 500) return fail(413, "too large", "at most 500 entries");
    this.savedCounts.push(body.device_saved);
    const ids = body.entries.map((bytes) => sha256(bytes));
    if (ids.some((id) => this.poison.has(id))) return fail(413, "too large", "an entry is larger than this server takes");
    const taken: unknown[] = [];
    const refused: unknown[] = [];
    const open = new Set<number>(body.entries.keys());
    for (const index of [...open]) {
      const why = this.refuse.get(ids[index]!);
      if (!why) continue;
      refused.push({ index, id: ids[index], ...why });
      open.delete(index);
    }
    const limit = half ? Math.floor(open.size / 2) : open.size;
    for (let moved = true; moved && taken.length < limit; ) {
      moved = false;
      for (const index of [...open]) {
        if (taken.length >= limit) break;
        const entry = JSON.parse(body.entries[index]!) as Envelope;
        const list = this.state.jobs.get(entry.job) ?? [];
        if (entry.parents.some((p) => !list.some((a) => a.id === p))) continue;
        open.delete(index);
        moved = true;
        const known = list.find((a) => a.id === ids[index]);
        const arrival = known ?? this.arrive(entry.job, ids[index]!, body.entries[index]!);
        taken.push({ id: arrival.id, job: entry.job, n: arrival.n, hash: arrival.hash, repeat: known !== undefined });
      }
    }
    const waiting = [...open].map((index) => {
      const entry = JSON.parse(body.entries[index]!) as Envelope;
      const list = this.state.jobs.get(entry.job) ?? [];
      return { index, id: ids[index], missing: entry.parents.filter((p) => !list.some((a) => a.id === p) && !ids.includes(p)) };
    });
    return ok({ server: this.id, time_ms: this.now(), taken, refused, waiting });
  }

  /** Takes an entry as another device would have sent it. */
  arrive(job: string, id: string, bytes: string): Arrival {
    const list = this.state.jobs.get(job) ?? [];
    const before = list[list.length - 1];
    const arrival = { id, bytes, n: list.length + 1, hash: sha256((before?.hash ?? "") + id) };
    this.state.jobs.set(job, [...list, arrival]);
    return arrival;
  }

  private pull(body: { cursors: { job: string; n: number; hash: string }[]; limit: number }): Response {
    const cursors = new Map(body.cursors.map((c) => [c.job, c]));
    let room = Math.min(body.limit, 50);
    let more = false;
    const jobs: unknown[] = [];
    for (const job of new Set([...this.state.jobs.keys(), ...cursors.keys()])) {
      const list = this.state.jobs.get(job) ?? [];
      const cursor = cursors.get(job) ?? { n: 0, hash: "" };
      const head = list[list.length - 1];
      const common = { job, head_n: head?.n ?? 0, head_hash: head?.hash ?? "", backed_up_through: 0 };
      if (cursor.n > 0 && list[cursor.n - 1]?.hash !== cursor.hash) {
        jobs.push({ ...common, continues: false, n: 0, hash: "", entries: [] });
        continue;
      }
      const entries = list.slice(cursor.n, cursor.n + room);
      if (cursor.n + entries.length < list.length) more = true;
      if (entries.length === 0) continue;
      room -= entries.length;
      const last = entries[entries.length - 1]!;
      jobs.push({ ...common, continues: true, n: last.n, hash: last.hash, entries: entries.map((e) => e.bytes) });
    }
    return ok({ server: this.id, time_ms: this.now(), jobs, more });
  }

  private photo(method: string, hash: string, offset: number, body: ArrayBuffer): Response {
    const have = this.state.photos.get(hash);
    if (method === "HEAD") {
      if (!have) return new Response(null, { status: 404 });
      return new Response(null, { status: 200, headers: { "x-runtrue-size": String(have.length), "x-runtrue-complete": String(sha256(have) === hash) } });
    }
    if (method === "GET") return have && sha256(have) === hash ? new Response(have.slice().buffer) : new Response(null, { status: 404 });
    const before = have ?? new Uint8Array(0);
    if (offset !== before.length) return fail(409, "offset", `continue at ${before.length}`);
    const next = new Uint8Array(before.length + body.byteLength);
    next.set(before);
    next.set(new Uint8Array(body), before.length);
    this.state.photos.set(hash, next);
    return ok({ size: next.length, complete: sha256(next) === hash });
  }
}

function ok(body: unknown): Response {
  return new Response(JSON.stringify(body), { status: 200, headers: { "Content-Type": "application/json" } });
}

function fail(status: number, code: string, message: string): Response {
  return new Response(JSON.stringify({ error: { code, message } }), { status });
}
