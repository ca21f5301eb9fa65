import { describe, expect, test, vi } from "vitest";
import { Disk } from "../../src/disk/disk.ts";
import { Queue } from "../../src/disk/queue.ts";
import { chooseServer, currentServer, knownServers } from "../../src/disk/which.ts";
import { entry, freshName } from "../fakes/device.ts";

describe("saving", () => {
  test("an entry, the heads and the queue are written together, durably", async () => {
    const disk = new Disk(freshName("server"));
    const asked: (IDBTransactionOptions | undefined)[] = [];
    const original = IDBDatabase.prototype.transaction;
    const spy = vi.spyOn(IDBDatabase.prototype, "transaction").mockImplementation(function (this: IDBDatabase, stores, mode, options) {
      if (mode === "readwrite") asked.push(options);
      return original.call(this, stores, mode, options);
    });
    const a = entry("job-1", [], "a");
    const b = entry("job-1", [a.id], "b");
    const c = entry("job-1", [a.id], "c");
    await disk.putOwn(a, []);
    expect(await disk.heads("job-1")).toEqual([a.id]);
    await disk.putOwn(b, [a.id]);
    await disk.putOwn(c, [a.id]);
    spy.mockRestore();
    expect(await disk.heads("job-1")).toEqual([b.id, c.id].sort());
    expect(await disk.counts()).toMatchObject({ unsent: 3, saved: 3 });
    expect(asked).toEqual([{ durability: "strict" }, { durability: "strict" }, { durability: "strict" }]);
  });

  test("two tabs that save at once lose nothing", async () => {
    const server = freshName("server");
    const tabs = [new Disk(server), new Disk(server)];
    const first = entry("job-1", [], "first");
    await tabs[0]!.putOwn(first, []);
    const both = ["x", "y"].map((salt) => entry("job-1", [first.id], salt));
    await Promise.all(both.map((e, k) => tabs[k]!.putOwn(e, [first.id])));
    expect(await tabs[0]!.heads("job-1")).toEqual(both.map((e) => e.id).sort());
    expect((await tabs[1]!.readJob("job-1", 0, 10)).length).toBe(3);
  });

  test("the same entry twice is one", async () => {
    const disk = new Disk(freshName("server"));
    const a = entry("job-1", [], "a");
    await Promise.all([disk.putOwn(a, []), disk.putOwn(a, [])]);
    expect(await disk.counts()).toMatchObject({ unsent: 1, saved: 1 });
  });

  test("an entry whose parent is not here is refused whole", async () => {
    const disk = new Disk(freshName("server"));
    const orphan = entry("job-1", ["f".repeat(64)], "orphan");
    await expect(disk.putOwn(orphan, ["f".repeat(64)])).rejects.toMatchObject({ name: "StorageTrouble", fault: "refused" });
    expect(await disk.counts()).toMatchObject({ unsent: 0, saved: 0 });
    expect(await disk.heads("job-1")).toEqual([]);
  });
});

/** Makes the next `times` write transactions fail by themselves, as the browser's do after a device has slept. */
function failWrites(times: number, name: string): { restore(): void } {
  const original = IDBDatabase.prototype.transaction;
  let left = times;
  const spy = vi.spyOn(IDBDatabase.prototype, "transaction").mockImplementation(function (this: IDBDatabase, stores, mode, options) {
    if (mode === "readwrite" && left > 0) {
      left--;
      throw new DOMException("Connection to the database was lost", name);
    }
    return original.call(this, stores, mode, options);
  });
  return { restore: () => spy.mockRestore() };
}

describe("when the storage fails", () => {
  test("a lost connection is opened again and the entry written once", async () => {
    const disk = new Disk(freshName("server"));
    await disk.counts();
    const failing = failWrites(1, "InvalidStateError");
    const a = entry("job-1", [], "a");
    await disk.putOwn(a, []);
    failing.restore();
    expect((await disk.readAll(0, 10)).map((e) => e.id)).toEqual([a.id]);
    expect(await disk.counts()).toMatchObject({ unsent: 1, saved: 1 });
  });

  test("two failures are told, and nothing is called saved", async () => {
    const disk = new Disk(freshName("server"));
    await disk.counts();
    const failing = failWrites(2, "UnknownError");
    await expect(disk.putOwn(entry("job-1", [], "a"), [])).rejects.toMatchObject({ fault: "lost", message: expect.stringContaining("NOT saved") });
    failing.restore();
    expect(await disk.counts()).toMatchObject({ unsent: 0, saved: 0 });
    await disk.putOwn(entry("job-1", [], "b"), []);
    expect((await disk.counts()).saved).toBe(1);
  });

  test("a full device is told at once, without a second try", async () => {
    const disk = new Disk(freshName("server"));
    await disk.counts();
    const failing = failWrites(1, "QuotaExceededError");
    await expect(disk.putOwn(entry("job-1", [], "a"), [])).rejects.toMatchObject({ fault: "full", message: expect.stringContaining("no room") });
    failing.restore();
  });

  test("a transaction that aborts in the middle leaves nothing behind", async () => {
    const disk = new Disk(freshName("server"));
    const original = IDBObjectStore.prototype.put;
    let left = 2; // of both tries
    const spy = vi.spyOn(IDBObjectStore.prototype, "put").mockImplementation(function (this: IDBObjectStore, value: unknown, key?: IDBValidKey) {
      const request = key === undefined ? original.call(this, value) : original.call(this, value, key);
      if (this.name === "saved" && left-- > 0) this.transaction.abort();
      return request;
    });
    await expect(disk.putOwn(entry("job-1", [], "a"), [])).rejects.toMatchObject({ fault: "lost" });
    spy.mockRestore();
    expect(await disk.countAll()).toBe(0);
    expect(await disk.heads("job-1")).toEqual([]);
  });
});

describe("fetched entries", () => {
  test("come with their cursor or not at all", async () => {
    const disk = new Disk(freshName("server"));
    const a = entry("job-1", [], "a");
    const cursor = { job: "job-1", n: 1, hash: "aa", backed_up_through: 0 };
    const failing = failWrites(2, "UnknownError");
    await expect(disk.putPulled("job-1", [a], cursor)).rejects.toMatchObject({ fault: "lost" });
    failing.restore();
    expect(await disk.cursors()).toEqual([]);
    expect(await disk.countAll()).toBe(0);
    expect(await disk.putPulled("job-1", [a], cursor)).toBe(1);
    expect(await disk.putPulled("job-1", [a], cursor)).toBe(0);
    expect(await disk.cursors()).toEqual([cursor]);
  });

  test("the list of jobs is not written over by an older fold", async () => {
    const disk = new Disk(freshName("server"));
    const a = entry("job-1", [], "a");
    await disk.putOwn(a, []);
    const [first] = await disk.readJob("job-1", 0, 1);
    await disk.putOwn(entry("job-1", [a.id], "b"), [a.id]);
    expect(await disk.noteJob("job-1", first!.seq, [a.id], null)).toBe(false);
    expect((await disk.heads("job-1"))[0]).not.toBe(a.id);
  });
});

test("a batch holds what fits into a request, and always something", async () => {
  const disk = new Disk(freshName("server"));
  const queue = new Queue(disk.db);
  for (const salt of ["1", "2", "3"]) await disk.putOwn(entry("job-1", [], salt.repeat(1000)), []);
  expect((await queue.next(500, 2500, new Set())).length).toBe(2);
  expect((await queue.next(500, 10, new Set())).length).toBe(1);
  expect((await queue.next(1, 1e6, new Set())).length).toBe(1);
});

describe("what the server said it has", () => {
  const cursor = (n: number) => ({ job: "job-1", n, hash: "0".repeat(64), backed_up_through: 0 });

  test("waits again if only a later cursor would vouch for it: the server may have been restored in between, and others may have filled the numbers", async () => {
    const disk = new Disk(freshName("server"));
    const queue = new Queue(disk.db);
    const mine = entry("job-1", [], "mine");
    await disk.putOwn(mine, []);
    await queue.settle([{ id: mine.id, n: 1, repeat: true }], [], 0); // asked again after a lost answer; nothing was fetched yet
    await disk.putPulled("job-1", [entry("job-1", [], "another"), entry("job-1", [], "a third")], cursor(2));
    expect(await queue.recall()).toBe(1);
    expect((await queue.next(10, 1e6, new Set())).map((e) => e.id)).toEqual([mine.id]);
  });

  test("leaves the queue if the cursor covered it when the server said so", async () => {
    const disk = new Disk(freshName("server"));
    const queue = new Queue(disk.db);
    const mine = entry("job-1", [], "mine");
    await disk.putOwn(mine, []);
    await disk.putPulled("job-1", [entry("job-1", [], "another")], cursor(2));
    await queue.settle([{ id: mine.id, n: 1, repeat: true }], [], 0);
    expect(await queue.recall()).toBe(0);
    expect(await disk.counts()).toMatchObject({ unsent: 0 });
  });

  test("waits again if the server turned out to have lost a part before it came back", async () => {
    const disk = new Disk(freshName("server"));
    const queue = new Queue(disk.db);
    const mine = entry("job-1", [], "mine");
    await disk.putOwn(mine, []);
    await disk.putPulled("job-1", [entry("job-1", [], "another")], cursor(2));
    await queue.settle([{ id: mine.id, n: 1, repeat: true }], [], 0);
    await queue.offerAgain("job-1", []);
    expect(await queue.recall()).toBe(1);
  });
});

test("each server has its own database, and the last entered one is in use", async () => {
  expect(await currentServer()).toBe(null);
  await chooseServer("shop-a", 1);
  await chooseServer("shop-b", 2);
  expect(await currentServer()).toBe("shop-b");
  expect(await knownServers()).toEqual(["shop-a", "shop-b"]);
  const [a, b] = [new Disk("shop-a"), new Disk("shop-b")];
  await a.putOwn(entry("job-1", [], "a"), []);
  expect(await a.countAll()).toBe(1);
  expect(await b.countAll()).toBe(0);
});
