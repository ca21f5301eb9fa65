import { describe, expect, test } from "vitest";
import { Disk } from "../../src/disk/disk.ts";
import { Engine } from "../../src/engine/engine.ts";
import type { Request } from "../../src/engine/messages.ts";
import { entry, freshName } from "../fakes/device.ts";
import { fakeEngine, FakeWorker } from "../fakes/engine.ts";
import { World } from "../fakes/world.ts";

function setUp(): { engine: Engine; workers: FakeWorker[]; world: World; gone: string[]; readies: number[]; orders: Request[] } {
  const world = new World(() => Promise.reject(new Error("no network here")));
  const workers: FakeWorker[] = [];
  const gone: string[] = [];
  const readies: number[] = [];
  const orders: Request[] = [];
  const engine = new Engine(() => {
    const worker = new FakeWorker(async () => fakeEngine());
    const post = worker.postMessage.bind(worker);
    worker.postMessage = (request) => {
      orders.push(request);
      post(request);
    };
    workers.push(worker);
    return worker;
  }, (ms, run) => world.after(ms, run), { ready: () => readies.push(workers.length), gone: (why) => gone.push(why) });
  return { engine, workers, world, gone, readies, orders };
}

async function fill(server: string, job: string, count: number): Promise<void> {
  const disk = new Disk(server);
  await disk.putImported(Array.from({ length: count }, (_, k) => entry(job, [], `${k}`)));
}

describe("the engine's worker", () => {
  test("what is asked before it is ready waits and is answered", async () => {
    const { engine, orders } = setUp();
    const made = engine.call<{ id: string }>("make", { job: "j", kind: "reading", body: {}, parents: [], by: "p", salt: "00" }, true);
    engine.start(freshName("server"));
    expect((await made).id).toMatch(/^[0-9a-f]{64}$/);
    expect(orders.map((o) => o.order.do)).toEqual(["start", "call"]);
  });

  test("a job comes from the disk in pieces, and urgent calls go in between", async () => {
    const { engine, orders } = setUp();
    const server = freshName("server");
    await fill(server, "job-1", 2100);
    engine.start(server);
    const all = engine.catchUp("job-1", false);
    const urgent = engine.call("shop", {}, true);
    await urgent;
    const progress = await all;
    expect(progress.added).toBe(2100);
    expect(progress.heads.length).toBe(2100);
    expect(orders.map((o) => (o.order.do === "call" ? o.order.method : o.order.do))).toEqual(["start", "shop", "catch up", "catch up", "catch up"]);
  });

  test("only what is new is loaded again", async () => {
    const { engine } = setUp();
    const server = freshName("server");
    await fill(server, "job-1", 3);
    engine.start(server);
    expect((await engine.catchUp("job-1", true)).added).toBe(3);
    await new Disk(server).putOwn(entry("job-1", [], "new"), []);
    expect((await engine.catchUp("job-1", true)).added).toBe(1);
  });

  test("a refusal of the engine is an answer, not its end", async () => {
    const { engine, gone } = setUp();
    engine.start(freshName("server"));
    await expect(engine.call("make", { job: "j", kind: "bad", parents: [] }, true)).rejects.toMatchObject({ name: "EngineTrouble", message: expect.stringContaining("malformed") });
    await engine.call("shop", {}, true);
    expect(gone).toEqual([]);
  });

  test("one that dies is told, its orders fail, and the next order raises another with nothing in memory", async () => {
    const { engine, workers, gone } = setUp();
    const server = freshName("server");
    await fill(server, "job-1", 2);
    engine.start(server);
    await engine.catchUp("job-1", true);
    const lost = [engine.call("shop", {}, true), engine.call("line", { job: "job-1", overlay: {} }, false)];
    workers[0]!.kill();
    for (const l of lost) await expect(l).rejects.toMatchObject({ code: "dead" });
    expect(gone.length).toBe(1);
    expect(workers[0]!.terminated).toBe(true);
    await engine.ensure("job-1", true);
    expect(workers.length).toBe(2);
    expect(await engine.call("line", { job: "job-1", overlay: {} }, true)).toEqual({ job: "job-1", entries: 2 });
  });

  test("one that does not answer is replaced", async () => {
    const { engine, workers, world } = setUp();
    engine.start(freshName("server"));
    await engine.call("shop", {}, true);
    workers[0]!.deaf = true;
    const lost = engine.call("shop", {}, true);
    world.pass(91_000);
    await expect(lost).rejects.toMatchObject({ code: "silent" });
    await engine.call("shop", {}, true);
    expect(workers.length).toBe(2);
  });

  test("one that cannot be loaded is not raised again for nothing", async () => {
    const world = new World(() => Promise.reject(new Error("no network here")));
    let raised = 0;
    const told: string[] = [];
    const engine = new Engine(() => {
      raised++;
      return new FakeWorker(() => Promise.reject(new Error("the engine could not be fetched")));
    }, (ms, run) => world.after(ms, run), { ready: () => told.push("ready"), gone: (why) => told.push(why) });
    engine.start(freshName("server"));
    const asked = engine.call("shop", {}, true);
    await expect(asked).rejects.toMatchObject({ message: expect.stringContaining("could not be fetched") });
    expect(raised).toBe(1);
    expect(told.length).toBe(1);
  });

  test("a method outside the list is refused by the worker itself", async () => {
    const { engine } = setUp();
    engine.start(freshName("server"));
    await expect(engine.call("constructor" as never, {}, true)).rejects.toMatchObject({ code: "method" });
  });
});
