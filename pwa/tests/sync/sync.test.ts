import { describe, expect, test } from "vitest";
import { Device, entry, freshName } from "../fakes/device.ts";
import { FakeServer } from "../fakes/server.ts";
import { World } from "../fakes/world.ts";

async function device(server = new FakeServer(freshName("server"), () => Date.UTC(2026, 10, 25, 8)), own = "a"): Promise<{ server: FakeServer; device: Device }> {
  const d = new Device(server, own);
  await d.enter();
  return { server, device: d };
}

/** Saves a chain of entries: each has the one before as its parent. */
async function chain(d: Device, job: string, count: number, prefix: string): Promise<string[]> {
  const ids: string[] = [];
  for (let k = 0; k < count; k++) {
    const e = entry(job, ids.slice(-1), `${prefix}${k}`);
    await d.disk.putOwn(e, ids.slice(-1));
    ids.push(e.id);
  }
  return ids;
}

describe("sending", () => {
  test("what was saved offline reaches the server once and leaves the queue", async () => {
    const { server, device: d } = await device();
    const ids = await chain(d, "job-1", 3, "s");
    server.faults = ["lost request", "lost request"];
    await d.sync.now();
    expect(d.trouble).toContain("No answer from the server");
    expect((await d.disk.counts()).unsent).toBe(3);
    await d.sync.now();
    await d.sync.now();
    expect(server.all().map((a) => a.id)).toEqual(ids);
    expect(await d.disk.counts()).toMatchObject({ unsent: 0, saved: 3, refused: [] });
    expect(server.savedCounts.at(-1)).toBe(3);
    expect(d.trouble).toBe("");
  });

  test("an answer that was lost or cut costs a repeat and no second entry", async () => {
    for (const fault of ["lost answer", "cut answer", "half done"] as const) {
      const { server, device: d } = await device();
      const ids = await chain(d, "job-1", 4, fault);
      server.faults = ["none", fault]; // first "me", then the push
      await d.sync.now();
      expect((await d.disk.counts()).unsent, fault).toBe(4);
      await d.sync.now();
      expect(server.all().map((a) => a.id).sort(), fault).toEqual([...ids].sort());
      expect((await d.disk.counts()).unsent, fault).toBe(0);
    }
  });

  test("a refused entry stays here with the reason, and does not hold up the others", async () => {
    const { server, device: d } = await device();
    const bad = entry("job-1", [], "bad");
    server.refuse.set(bad.id, { code: "malformed", message: "the entry is malformed; it was not kept" });
    await d.disk.putOwn(bad, []);
    const good = await chain(d, "job-1", 2, "good");
    await d.sync.now();
    expect(server.all().map((a) => a.id)).toEqual(good);
    const counts = await d.disk.counts();
    expect(counts.unsent).toBe(0);
    expect(counts.refused).toMatchObject([{ id: bad.id, job: "job-1", words: "the entry is malformed; it was not kept" }]);
    expect(await d.disk.has(bad.id)).toBe(true);
  });

  test("an entry that spoils a whole request is found and set apart", async () => {
    const { server, device: d } = await device();
    const ids = await chain(d, "job-1", 5, "fine");
    const big = entry("job-2", [], "big");
    await d.disk.putOwn(big, []);
    server.poison.add(big.id);
    const later = await chain(d, "job-3", 3, "later");
    await d.sync.now();
    expect(server.all().map((a) => a.id).sort()).toEqual([...ids, ...later].sort());
    expect((await d.disk.counts()).refused.map((r) => r.id)).toEqual([big.id]);
  });

  test("more entries than a request holds go in several", async () => {
    const { server, device: d } = await device();
    const ids = await chain(d, "job-1", 1203, "many");
    await d.sync.now();
    expect(server.all().length).toBe(ids.length);
    expect(server.requests.filter((r) => r === "POST /api/v1/push").length).toBe(3);
  });

  test("an entry whose parents the server lost brings them along", async () => {
    const { server, device: d } = await device();
    const first = await chain(d, "job-1", 4, "old");
    await d.sync.now();
    server.state.jobs.clear(); // put back to nothing; the device has pulled, so its cursor tells
    const next = entry("job-1", first.slice(-1), "new");
    await d.disk.putOwn(next, first.slice(-1));
    await d.sync.now();
    expect(server.all().map((a) => a.id).sort()).toEqual([...first, next.id].sort());
    expect((await d.disk.counts()).unsent).toBe(0);
  });
});

describe("fetching", () => {
  test("news of other devices come in, and only once", async () => {
    const { server, device: d } = await device();
    const a = entry("job-9", [], "theirs");
    server.arrive("job-9", a.id, a.bytes);
    await d.sync.now();
    expect(d.changed).toEqual(new Set(["job-9"]));
    expect((await d.disk.readJob("job-9", 0, 10)).map((e) => e.id)).toEqual([a.id]);
    d.changed.clear();
    await d.sync.now();
    expect(d.changed.size).toBe(0);
  });

  test("a pull that is cut leaves the cursor where the stored entries end", async () => {
    const { server, device: d } = await device();
    for (let k = 0; k < 130; k++) {
      const e = entry("job-9", [], `k${k}`);
      server.arrive("job-9", e.id, e.bytes);
    }
    server.faults = ["none", "none", "cut answer"]; // me, first 50, then cut
    await d.sync.now();
    expect((await d.disk.cursors()).map((c) => c.n)).toEqual([50]);
    expect(d.changed).toEqual(new Set(["job-9"]));
    await d.sync.now();
    expect((await d.disk.readJob("job-9", 0, 1000)).length).toBe(130);
  });

  test("a server restored from an older state gets back what it lost, though nobody says so", async () => {
    const { server, device: d } = await device();
    const before = server.snapshot();
    const mine = await chain(d, "job-1", 3, "mine");
    const theirs = entry("job-1", mine.slice(-1), "theirs");
    await d.sync.now();
    server.arrive("job-1", theirs.id, theirs.bytes);
    await d.sync.now();
    server.restore(before);
    await d.sync.now();
    expect(server.all().map((a) => a.id).sort()).toEqual([...mine, theirs.id].sort());
  });

  test("what the server took and lost before this device fetched again is sent again", async () => {
    const { server, device: d } = await device();
    const before = server.snapshot();
    const mine = await chain(d, "job-1", 2, "mine");
    server.faults = ["none", "none", "lost request"]; // me, push, and the pull fails
    await d.sync.now();
    expect((await d.disk.counts()).unsent).toBe(0);
    server.restore(before);
    await d.sync.now();
    expect(server.all().map((a) => a.id)).toEqual(mine);
  });
});

describe("tokens", () => {
  test("an expired token is renewed and the request repeated", async () => {
    const { server, device: d } = await device();
    await chain(d, "job-1", 1, "x");
    server.expireToken();
    await d.sync.now();
    expect(server.all().length).toBe(1);
    expect((await d.sync.sessions.get())?.refresh).toBe("refresh-1");
  });

  test("a lost answer to a renewal does not end the session", async () => {
    const { server, device: d } = await device();
    await chain(d, "job-1", 1, "x");
    server.expireToken();
    server.faults = ["none", "lost answer"];
    await d.sync.now();
    expect(server.all().length).toBe(0);
    await d.sync.now();
    expect(server.all().length).toBe(1);
  });

  test("an ended session keeps everything and says what to do", async () => {
    const { server, device: d } = await device();
    server.ended = true;
    await chain(d, "job-1", 2, "kept");
    await d.sync.now();
    expect(d.trouble).toContain("Enter a new code");
    expect(await d.disk.counts()).toMatchObject({ unsent: 2, saved: 2 });
    server.ended = false;
    await d.enter();
    await d.sync.now();
    expect(server.all().length).toBe(2);
  });
});

describe("our server and no other", () => {
  test("nothing is sent to another server at the same address", async () => {
    const { server, device: d } = await device();
    const other = new FakeServer("someone-else", () => 0);
    await chain(d, "job-1", 1, "x");
    Object.defineProperty(d.world, "network", { value: other.fetch });
    await d.sync.now();
    expect(other.all()).toEqual([]);
    expect(d.trouble).toContain("Another server answers");
    expect(d.trouble).toContain(server.id);
    expect((await d.disk.counts()).unsent).toBe(1);
  });
});

describe("freshness and pauses", () => {
  test("online lasts a minute after an answer and no longer", async () => {
    const { device: d } = await device();
    await d.sync.now();
    expect(d.online).toBe(true);
    d.server.faults = Array(50).fill("lost request");
    d.world.pass(59_000);
    expect(d.online).toBe(true);
    d.world.pass(2_000);
    expect(d.online).toBe(false);
    await d.sync.stop();
  });

  test("the server's clock is learnt at half the way", async () => {
    const server = new FakeServer(freshName("server"), () => 5_000_000);
    const d = new Device(server, "a", () => new World(async (url, init) => {
      d.world.wall += 40;
      const answer = await server.fetch(url, init);
      d.world.wall += 40;
      return answer;
    }));
    await d.enter();
    const start = d.world.wall;
    await d.sync.now();
    await d.sync.stop();
    const clock = await d.sync.sessions.clock();
    // A round without anything to send asks who is there and then pulls: two trips of 80 ms, the second of which began 80 ms after the start.
    expect(clock?.off_ms).toBe(5_000_000 - (start + 80 + 40));
  });
});

describe("photos", () => {
  test("the smallest goes first and a cut upload goes on where it stopped", async () => {
    const { server, device: d } = await device();
    const { createHash } = await import("node:crypto");
    const make = (size: number, fill: number): { hash: string; type: string; data: ArrayBuffer; w: number; h: number } => {
      const data = new Uint8Array(size).fill(fill);
      return { hash: createHash("sha256").update(data).digest("hex"), type: "image/jpeg", data: data.buffer, w: 4, h: 3 };
    };
    const large = make(600_000, 1);
    const small = make(1000, 2);
    await d.sync.photos.put(large);
    await d.sync.photos.put(small);
    // me, pull, then small: HEAD, PUT; large: HEAD, first PUT, second PUT lost
    server.faults = ["none", "none", "none", "none", "none", "none", "lost request"];
    await d.sync.now();
    expect(server.requests.filter((r) => r.startsWith("PUT")).map((r) => r.slice(-64))).toEqual([small.hash, large.hash, large.hash]);
    expect(server.state.photos.get(large.hash)?.length).toBe(262_144);
    expect((await d.disk.counts()).photosUnsent).toBe(1);
    await d.sync.now();
    expect(server.state.photos.get(large.hash)?.length).toBe(600_000);
    expect((await d.disk.counts()).photosUnsent).toBe(0);
  });
});
