import { beforeEach, describe, expect, test, vi } from "vitest";
import { IDBFactory } from "fake-indexeddb";
import { entry, freshName } from "../fakes/device.ts";
import { FakeServer } from "../fakes/server.ts";
import { TabGroup, Tablet, tablet } from "../fakes/tablet.ts";

beforeEach(() => {
  globalThis.indexedDB = new IDBFactory(); // a device that was never used
});

const now = Date.UTC(2026, 10, 25, 8);
const newServer = (): FakeServer => new FakeServer(freshName("server"), () => now);

describe("entering", () => {
  test("keeps who works here, with the role that fits the bench", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    expect(t.backend.session.value).toMatchObject({ person: { id: "ana", name: "Ana" }, as: "technician", device: "tablet-1" });
    expect(t.backend.sync.value.persisted).toBe(true);
    t.backend.setRole("admin");
    expect(t.backend.session.value?.as).toBe("admin");
    t.backend.setRole("quality");
    expect(t.backend.session.value?.as).toBe("admin");
  });

  test("a wrong code says so in the server's words, and no database is made", async () => {
    const t = new Tablet(newServer());
    await t.backend.start();
    expect(await t.backend.enrol("BAD", "x")).toEqual({ ok: false, words: "This code is not known or was used. Ask for a new one." });
    expect(t.backend.session.value).toBe(null);
    expect(await t.backend.save("job-1", "fact", {}, [])).toMatchObject({ ok: false });
  });

  test("another server gets a database of its own; nothing is mixed", async () => {
    const first = newServer();
    const a = new Tablet(first);
    await a.enter();
    first.faults = Array(100).fill("lost request");
    expect(await a.backend.save("job-1", "fact", { x: 1 }, [])).toMatchObject({ ok: true });
    const second = newServer();
    const b = new Tablet(second);
    await b.backend.start();
    expect(b.backend.session.value?.server).toBe(first.id);
    expect(await b.backend.enrol("GOOD", "bench tablet")).toEqual({ ok: true });
    expect(b.backend.session.value?.server).toBe(second.id);
    expect(b.backend.sync.value).toMatchObject({ unsent: 0, savedCount: 0 });
    await b.backend.syncNow();
    expect(second.all()).toEqual([]);
  });
});

describe("saving", () => {
  test("is counted as waiting for the server before anybody is told that it is saved", async () => {
    const server = newServer();
    const t = new Tablet(server);
    await t.enter();
    await t.until("nothing waits", () => t.backend.sync.value.unsent === 0 && !t.backend.sync.value.busy);
    server.faults = Array(100).fill("lost request");
    const told: { unsent: number; saved: number }[] = [];
    for (let n = 1; n <= 3; n++) {
      expect(await t.backend.save(`job-${n}`, "fact", { n }, [])).toMatchObject({ ok: true });
      told.push({ unsent: t.backend.sync.value.unsent, saved: t.backend.sync.value.savedCount });
    }
    expect(told).toEqual([1, 2, 3].map((n) => ({ unsent: n, saved: n })));
  });

  test("is on the disk before it is called saved, then in the sheet, then on the server", async () => {
    const server = newServer();
    const t = new Tablet(server);
    await t.enter();
    const first = await t.backend.save("job-1", "fact", { subject: "job", field: "customer", value: "An invented mill" }, []);
    if (!first.ok) throw new Error(first.words);
    await t.backend.open("job-1");
    expect(t.backend.sheet.value).toMatchObject({ job: "job-1", entries: 1, heads: [first.id] });
    const second = await t.backend.save("job-1", "reading", { typed: "-2" }, t.backend.sheet.value!.heads);
    if (!second.ok) throw new Error(second.words);
    await t.until("the sheet shows both", () => t.backend.sheet.value?.entries === 2);
    expect(t.backend.sheet.value!.heads).toEqual([second.id]);
    await t.until("the list shows the job", () => t.backend.jobs.value[0]?.entries === 2);
    await t.backend.syncNow();
    await t.until("nothing waits", () => t.backend.sync.value.unsent === 0);
    expect(server.all().map((a) => a.id)).toEqual([first.id, second.id]);
    expect(t.backend.sync.value).toMatchObject({ savedCount: 2, online: true, trouble: "" });
    expect(JSON.parse(server.all()[1]!.bytes)).toMatchObject({ by: "ana", parents: [first.id] });
  });

  test("waits for an engine that is not there yet", async () => {
    const server = newServer();
    const t = new Tablet(server);
    await t.backend.start();
    await t.backend.enrol("GOOD", "bench tablet");
    expect(t.backend.sync.value.engineReady).toBe(false);
    expect(await t.backend.save("job-1", "fact", {}, [])).toMatchObject({ ok: true });
  });

  test("what the engine refuses is not saved, and the reason is told", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    expect(await t.backend.save("job-1", "bad", {}, [])).toEqual({ ok: false, words: "the entry is malformed: nothing was made" });
    expect(t.backend.sync.value.savedCount).toBe(0);
    expect(t.backend.hasUnsaved()).toBe(false);
  });

  test("what the disk refuses is not called saved, goes into an export, and is the same entry when repeated", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    const original = IDBDatabase.prototype.transaction;
    let failing = true;
    const spy = vi.spyOn(IDBDatabase.prototype, "transaction").mockImplementation(function (this: IDBDatabase, stores, mode, options) {
      const saving = mode === "readwrite" && Array.isArray(stores) && stores.includes("saved");
      if (failing && saving) throw new DOMException("Connection to the database was lost", "UnknownError");
      return original.call(this, stores, mode, options);
    });
    const lost = await t.backend.save("job-1", "reading", { typed: "5" }, []);
    expect(lost).toMatchObject({ ok: false, words: expect.stringContaining("NOT saved") });
    expect(t.backend.hasUnsaved()).toBe(true);
    const file = await (await t.backend.exportEntries()).text();
    const exported = JSON.parse(file.split("\n")[1]!) as { id: string };
    failing = false;
    expect(await t.backend.save("job-1", "reading", { typed: "5" }, [])).toEqual({ ok: true, id: exported.id });
    expect(t.backend.hasUnsaved()).toBe(false);
    spy.mockRestore();
  });

  test("a legitimate repeat is a second entry", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    const a = await t.backend.save("job-1", "reading", { typed: "5" }, []);
    if (!a.ok) throw new Error(a.words);
    const b = await t.backend.save("job-1", "reading", { typed: "5" }, [a.id]);
    const c = await t.backend.save("job-1", "reading", { typed: "5" }, [a.id]);
    expect(new Set([a, b, c].map((s) => (s.ok ? s.id : ""))).size).toBe(3);
  });

  test("an entry that has seen nothing is refused where there is something", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    await t.backend.save("job-1", "fact", {}, []);
    expect(await t.backend.save("job-1", "fact", { again: true }, [])).toMatchObject({ ok: false, words: expect.stringContaining("has not shown yet") });
    const shop = await t.backend.save("shop", "fact", { a: 1 }, []);
    await t.until("the shop is folded", () => t.backend.shop.value !== null);
    const next = await t.backend.save("shop", "fact", { a: 2 }, []);
    expect([shop.ok, next.ok]).toEqual([true, true]);
  });

  test("more heads than an entry takes as parents are gathered, and none is dropped", async () => {
    const server = newServer();
    const t = new Tablet(server);
    await t.enter();
    const heads = Array.from({ length: 600 }, (_, k) => entry("job-1", [], `head ${k}`));
    for (const h of heads) server.arrive("job-1", h.id, h.bytes);
    await t.backend.syncNow();
    await t.backend.open("job-1");
    expect(t.backend.sheet.value!.heads.length).toBe(600);
    const saved = await t.backend.save("job-1", "decision", {}, t.backend.sheet.value!.heads);
    if (!saved.ok) throw new Error(saved.words);
    await t.until("one head is left", () => t.backend.sheet.value!.heads.length === 1);
    expect(t.backend.sheet.value!.heads).toEqual([saved.id]);
    await t.backend.syncNow();
    const bodies = server.all().map((a) => JSON.parse(a.bytes) as { kind?: string; parents: string[] });
    expect(Math.max(...bodies.map((b) => b.parents.length))).toBe(256);
    expect(bodies.filter((b) => b.kind === "gather").length).toBe(3);
  });

  test("nothing is kept in a tab of iOS", async () => {
    const t = new Tablet(newServer(), new TabGroup(), { userAgent: "Mozilla/5.0 (iPhone; CPU iPhone OS 27_2 like Mac OS X)", platform: "iPhone", touchPoints: 5, standalone: false });
    await t.enter();
    expect(t.backend.mayCapture.value.ok).toBe(false);
    expect(await t.backend.save("job-1", "fact", {}, [])).toEqual({ ok: false, words: t.backend.mayCapture.value.words });
  });

  test("an engine that dies under a save is replaced and the save done", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    t.workers[0]!.deaf = true;
    const saved = t.backend.save("job-1", "fact", {}, []);
    await t.until("the order is at the worker", () => true);
    t.workers[0]!.kill();
    expect(await saved).toMatchObject({ ok: true });
    expect(t.workers.length).toBe(2);
  });
});

describe("starting again", () => {
  test("the list of jobs is there before the engine is, and the session too", async () => {
    const server = newServer();
    const before = new Tablet(server);
    await before.enter();
    await before.backend.save("job-1", "fact", {}, []);
    await before.until("the line is kept", () => before.backend.jobs.value.length === 1);
    server.faults = Array(1000).fill("lost request");
    const after = new Tablet(server);
    let atPaint: unknown;
    Object.assign(Reflect.get(after.backend, "browser") as object, { painted: async () => {
      atPaint = { jobs: after.backend.jobs.value.length, engine: after.workers.length, person: after.backend.session.value?.person.id, unsent: after.backend.sync.value.unsent };
    } });
    await after.backend.start();
    expect(atPaint).toEqual({ jobs: 1, engine: 0, person: "ana", unsent: before.backend.sync.value.unsent });
    await after.until("the engine is ready", () => after.backend.sync.value.engineReady);
    await after.backend.open("job-1");
    expect(after.backend.sheet.value?.entries).toBe(1);
  });

  test("a job that is not on this device is not called non-existent", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    await expect(t.backend.open("job-77")).rejects.toThrow("not on this device");
  });
});

describe("others", () => {
  test("two tabs see one another's entries, and both save", async () => {
    const server = newServer();
    const group = new TabGroup();
    const a = new Tablet(server, group);
    await a.enter();
    const first = await a.backend.save("job-1", "fact", {}, []);
    if (!first.ok) throw new Error(first.words);
    const b = new Tablet(server, group);
    await b.backend.start();
    await b.until("the engine is ready", () => b.backend.sync.value.engineReady);
    await Promise.all([a.backend.open("job-1"), b.backend.open("job-1")]);
    const both = await Promise.all([a.backend.save("job-1", "reading", { typed: "1" }, [first.id]), b.backend.save("job-1", "reading", { typed: "2" }, [first.id])]);
    expect(both.every((s) => s.ok)).toBe(true);
    await a.until("a shows three", () => a.backend.sheet.value?.entries === 3);
    await b.until("b shows three", () => b.backend.sheet.value?.entries === 3);
    expect(a.backend.sheet.value!.heads).toEqual(b.backend.sheet.value!.heads);
    expect(a.backend.sheet.value!.heads.length).toBe(2);
  });

  test("what comes from the server appears in the open sheet", async () => {
    const server = newServer();
    const t = new Tablet(server);
    await t.enter();
    const mine = await t.backend.save("job-1", "fact", {}, []);
    if (!mine.ok) throw new Error(mine.words);
    await t.backend.open("job-1");
    const theirs = entry("job-1", [], "theirs");
    server.arrive("job-1", theirs.id, theirs.bytes);
    await t.backend.syncNow();
    await t.until("two entries", () => t.backend.sheet.value?.entries === 2);
  });
});

describe("old knowledge", () => {
  test("holds when the shop's limit has passed, and lets go after an answer", async () => {
    const server = newServer();
    const t = new Tablet(server);
    await t.enter();
    await t.backend.save("job-1", "fact", {}, []);
    await t.backend.open("job-1");
    await t.backend.syncNow();
    const held = (): number => t.backend.sheet.value!.holds.length;
    expect(held()).toBe(0);
    server.faults = Array(10_000).fill("lost request");
    t.world.pass(3 * 3_600_000);
    await t.until("the age was looked at", () => t.backend.sync.value.online === false);
    expect(held()).toBe(0);
    t.world.pass(3_600_000 + 60_000);
    await t.until("held for old knowledge", () => held() === 1);
    server.faults = [];
    await t.backend.syncNow();
    await t.until("free again", () => held() === 0);
  });
});

describe("files", () => {
  test("everything goes into one file and comes back on another device, whose server gets it", async () => {
    const server = newServer();
    const a = new Tablet(server);
    await a.enter();
    const first = await a.backend.save("job-1", "fact", { text: "µ Ø ≤ −" }, []);
    if (!first.ok) throw new Error(first.words);
    await a.backend.save("job-1", "reading", { typed: "7" }, [first.id]);
    const photo = await a.backend.savePhoto(new Blob([new Uint8Array([1, 2, 3])], { type: "image/jpeg" }));
    const file = await a.backend.exportEntries();

    globalThis.indexedDB = new IDBFactory();
    const other = newServer();
    const b = new Tablet(other);
    await b.enter();
    expect(await b.backend.importEntries(file)).toEqual({ taken: 2, words: "2 entries were taken in. 1 photos." });
    expect(await b.backend.importEntries(file)).toMatchObject({ taken: 0, words: expect.stringContaining("2 were here already") });
    await b.backend.syncNow();
    expect(other.all().length).toBe(2);
    expect(other.all()[0]!.id).toBe(first.id);
    expect(await (await b.backend.photo(photo.hash))!.arrayBuffer()).toEqual(new Uint8Array([1, 2, 3]).buffer);
    await b.until("the job is listed", () => b.backend.jobs.value.length === 1);
  });

  test("a cut, altered or foreign file says so and takes in what is sound", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    const first = await t.backend.save("job-1", "fact", { a: 1 }, []);
    if (!first.ok) throw new Error(first.words);
    await t.backend.save("job-1", "fact", { a: 2 }, [first.id]);
    const text = await (await t.backend.exportEntries()).text();
    globalThis.indexedDB = new IDBFactory();
    const fresh = new Tablet(newServer());
    await fresh.enter();
    const cut = await fresh.backend.importEntries(new Blob([text.slice(0, text.length - 20)]));
    expect(cut.taken).toBe(1);
    expect(cut.words).toMatch(/line 3 is cut or damaged.*should hold 2 entries/);
    const altered = await fresh.backend.importEntries(new Blob([text.replace('\\"a\\":2', '\\"a\\":3')]));
    expect(altered.words).toContain("was altered");
    expect(await fresh.backend.importEntries(new Blob(["hello"]))).toMatchObject({ taken: 0, words: expect.stringContaining("not a file of entries") });
  });

  test("the open job's list is a file with a name", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    await t.backend.save("job-1", "fact", {}, []);
    const file = (await t.backend.export("job-1", "csv")) as File;
    expect(file.name).toBe("job-1.csv");
    expect(await file.text()).toBe("entries: 1");
  });
});

describe("a newer version of the page", () => {
  test("is taken only when nothing is typed or unsaved", async () => {
    const t = new Tablet(newServer());
    await t.enter();
    let taken = 0;
    t.backend.takeNewVersion = () => taken++;
    t.backend.typing(true);
    t.backend.applyUpdate();
    expect(taken).toBe(0);
    t.backend.typing(false);
    const saving = t.backend.save("job-1", "fact", {}, []);
    t.backend.applyUpdate();
    expect(taken).toBe(0);
    await saving;
    t.backend.applyUpdate();
    expect(taken).toBe(1);
  });
});

test("an iPad that calls itself a Mac is known by its touch screen, a Mac is not refused", async () => {
  const { mayCapture } = await import("../../src/backend/capture.ts");
  const mac = { userAgent: "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7)", platform: "MacIntel", standalone: false };
  expect(mayCapture({ ...mac, touchPoints: 5 }).ok).toBe(false);
  expect(mayCapture({ ...mac, touchPoints: 0 }).ok).toBe(true);
  expect(mayCapture({ ...mac, touchPoints: 5, standalone: true }).ok).toBe(true);
  expect(mayCapture({ ...tablet, standalone: false }).ok).toBe(true);
});
