// Bytes that were altered on the way, in either direction, are turned away whole.

import { createHash } from "node:crypto";
import { expect, test } from "vitest";
import { Unreachable, Wire } from "../../src/sync/wire.ts";
import { World } from "../fakes/world.ts";

const digest = (text: string): string => `sha-256=:${createHash("sha256").update(text).digest("base64")}:`;

/** A wire whose far end answers this, with the digest of what it meant to say. */
function wire(meant: string, said: string, seen: (init: RequestInit) => void = () => undefined): Wire {
  return new Wire(new World(async (_url, init) => {
    seen(init);
    return new Response(said, { status: 200, headers: { "Content-Digest": digest(meant) } });
  }));
}

const answer = '{"server":"s","time_ms":1,"taken":[],"refused":null,"waiting":null,"note":"Ø70 µm"}';

test("what is sent carries the digest of its bytes", async () => {
  let headers = new Headers(), body = "";
  await wire(answer, answer, (init) => { headers = new Headers(init.headers); body = String(init.body); }).push("token", 3, ['{"typed":"Ø 4.0 µm"}']);
  expect(headers.get("Content-Digest")).toBe(digest(body));
});

test("an answer with one digit altered is no answer", async () => {
  await expect(wire(answer, answer.replace('"time_ms":1', '"time_ms":2')).push("token", 3, [])).rejects.toBeInstanceOf(Unreachable);
  expect((await wire(answer, answer).push("token", 3, []))[0].time_ms).toBe(1);
});

test("an answer without a digest, as a proxy may leave it, is taken", async () => {
  const plain = new Wire(new World(async () => new Response(answer)));
  expect((await plain.push("token", 3, []))[0].server).toBe("s");
});
