// The server's routes, as this device uses them. Entries are strings here and go as they are.

import type { ID, Role } from "../contract.ts";
import type { Surroundings } from "./surroundings.ts";

export interface Grants { role: Role; grant: ID }
export interface Enrolled { server: string; device: string; person: string; name: string; roles: Grants[]; access: string; refresh: string; access_expires_ms: number; time_ms: number }
export interface Refreshed { access: string; refresh: string; access_expires_ms: number; time_ms: number; roles: Grants[] }
export interface Me { server: string; device: string; person: string; name: string; roles: Grants[]; time_ms: number }
export interface Pushed {
  server: string; time_ms: number; taken: { id: ID; job: string; n: number; hash: string; repeat: boolean }[];
  refused: { index: number; id: ID; code: string; message: string }[] | null; waiting: { index: number; id: ID; missing: ID[] }[] | null;
}
export interface PulledJob { job: string; continues: boolean; n: number; hash: string; head_n: number; head_hash: string; backed_up_through: number; entries: string[] | null }
export interface Pulled { server: string; time_ms: number; jobs: PulledJob[] | null; more: boolean }

/** No answer, or one that was cut, or one that does not come from our server's program. */
export class Unreachable extends Error {
  override readonly name = "Unreachable";
}

/** The server answered, with an error. */
export class ServerSays extends Error {
  override readonly name = "ServerSays";
  constructor(readonly status: number, readonly code: string, words: string) {
    super(words);
  }
}

/** When a request left and its answer was there, on this device's clock in milliseconds. */
export interface Trip { sent: number; received: number }

const patience = 30_000; // ms for a whole request; a slow radio takes seconds for 4 MiB

export class Wire {
  /** @param base of the server's address, "" for the page's own */
  constructor(private readonly around: Surroundings, private readonly base = "") {}

  enrol(code: string, device_name: string): Promise<[Enrolled, Trip]> {
    return this.json("POST", "/api/v1/enrol", null, { code, device_name });
  }
  refresh(refresh: string): Promise<[Refreshed, Trip]> {
    return this.json("POST", "/api/v1/refresh", null, { refresh });
  }
  me(token: string): Promise<[Me, Trip]> {
    return this.json("GET", "/api/v1/me", token, undefined);
  }
  push(token: string, device_saved: number, entries: string[]): Promise<[Pushed, Trip]> {
    return this.json("POST", "/api/v1/push", token, { device_saved, entries });
  }
  pull(token: string, cursors: { job: string; n: number; hash: string }[], limit: number): Promise<[Pulled, Trip]> {
    return this.json("POST", "/api/v1/pull", token, { cursors, limit });
  }
  async have(token: string, job: string, ids: ID[]): Promise<ID[]> {
    const [answer] = await this.json<{ missing: ID[] | null }>("POST", "/api/v1/have", token, { job, ids });
    return answer.missing ?? [];
  }

  /** How many bytes of a photo the server has. */
  async photoState(token: string, hash: string): Promise<{ size: number; complete: boolean }> {
    return this.within(async (signal) => {
      const response = await this.send(`/api/v1/photos/${hash}`, { method: "HEAD", headers: authorised(token), signal });
      if (response.status === 404) return { size: 0, complete: false };
      if (!response.ok) throw await error(response);
      const size = Number(response.headers.get("x-runtrue-size") ?? "0");
      if (!Number.isSafeInteger(size) || size < 0) throw new Unreachable(`the server told no size of photo ${hash.slice(0, 8)}`);
      return { size, complete: response.headers.get("x-runtrue-complete") === "true" };
    });
  }

  async putPhoto(token: string, hash: string, offset: number, bytes: ArrayBuffer): Promise<{ size: number; complete: boolean }> {
    return this.within(async (signal) => {
      const response = await this.send(`/api/v1/photos/${hash}?offset=${offset}`, {
        method: "PUT", headers: { ...authorised(token), "Content-Type": "application/octet-stream" }, body: bytes, signal,
      });
      return parsed<{ size: number; complete: boolean }>(response);
    });
  }

  async photo(token: string, hash: string): Promise<{ data: ArrayBuffer; type: string } | null> {
    return this.within(async (signal) => {
      const response = await this.send(`/api/v1/photos/${hash}`, { method: "GET", headers: authorised(token), signal });
      if (response.status === 404) return null;
      if (!response.ok) throw await error(response);
      try {
        return { data: await response.arrayBuffer(), type: response.headers.get("Content-Type") ?? "application/octet-stream" };
      } catch (cause) {
        throw new Unreachable("the photo's transfer was cut", { cause });
      }
    });
  }

  /** Opens the channel on which the server tells what is new. It stays open; the caller ends it by the signal. */
  async live(token: string, signal: AbortSignal): Promise<ReadableStream<Uint8Array>> {
    const response = await this.send("/api/v1/live", { method: "GET", headers: { ...authorised(token), Accept: "text/event-stream" }, cache: "no-store", signal });
    if (!response.ok) throw await error(response);
    if (!response.body) throw new Unreachable("the live channel has no body");
    return response.body;
  }

  private async json<T>(method: string, path: string, token: string | null, body: unknown): Promise<[T, Trip]> {
    return this.within(async (signal) => {
      const text = body === undefined ? null : JSON.stringify(body);
      const headers = { ...(token === null ? {} : authorised(token)), ...(text === null ? {} : { "Content-Type": "application/json", [digestField]: await digestOf(new TextEncoder().encode(text)) }) };
      const sent = this.around.now();
      const response = await this.send(path, { method, signal, cache: "no-store", headers, ...(text === null ? {} : { body: text }) });
      const answer = await parsed<T>(response);
      return [answer, { sent, received: this.around.now() }];
    });
  }

  private async send(path: string, init: RequestInit): Promise<Response> {
    try {
      return await this.around.fetch(this.base + path, { credentials: "same-origin", redirect: "error", ...init });
    } catch (cause) {
      throw new Unreachable("the server does not answer", { cause });
    }
  }

  private async within<T>(work: (signal: AbortSignal) => Promise<T>): Promise<T> {
    const tooLong = new AbortController();
    const cancel = this.around.after(patience, () => tooLong.abort());
    try {
      return await work(tooLong.signal);
    } finally {
      cancel();
    }
  }
}

// SHA-256 of a body, after RFC 9530: an altered digit in a reading would otherwise be another entry, which nobody wrote.
const digestField = "Content-Digest";

async function digestOf(bytes: Uint8Array<ArrayBuffer>): Promise<string> {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return `sha-256=:${btoa(String.fromCharCode(...sum))}:`;
}

function authorised(token: string): Record<string, string> {
  return { Authorization: `Bearer ${token}` };
}

async function parsed<T>(response: Response): Promise<T> {
  if (!response.ok) throw await error(response);
  try {
    const bytes = new Uint8Array(await response.arrayBuffer());
    const digest = response.headers.get(digestField);
    if (digest !== null && digest !== (await digestOf(bytes))) throw new Error("the answer is not what its digest was made of");
    const answer: unknown = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes));
    if (typeof answer !== "object" || answer === null) throw new Error("the answer is no JSON object");
    return answer as T;
  } catch (cause) {
    throw new Unreachable("the answer was cut or altered, or something other than our server answered", { cause });
  }
}

async function error(response: Response): Promise<ServerSays | Unreachable> {
  let text = "";
  try {
    text = await response.text();
    const body = JSON.parse(text) as { error?: { code?: unknown; message?: unknown } };
    if (typeof body.error?.code === "string" && typeof body.error.message === "string") return new ServerSays(response.status, body.error.code, body.error.message);
  } catch (cause) {
    // HEAD answers and proxies in between say nothing that we can read: only the status counts then.
    if (response.status === 401 || response.status === 404 || response.status === 413) return new ServerSays(response.status, "", `the server answered ${response.status}`);
    return new Unreachable(`the server answered ${response.status} and no reason that can be read`, { cause });
  }
  return new ServerSays(response.status, "", `the server answered ${response.status}: ${text.slice(0, 200)}`);
}
