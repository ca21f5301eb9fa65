import { describe, expect, test, vi } from "vitest";
import { Access } from "../../src/sync/access.ts";
import { EventCutter, Live } from "../../src/sync/live.ts";
import { backOff } from "../../src/sync/surroundings.ts";
import { Wire } from "../../src/sync/wire.ts";
import { World } from "../fakes/world.ts";

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

describe("server-sent events", () => {
  test("come out whole however they were cut", () => {
    const text = ": still here\n\nevent: news\ndata: {\"job\":\"µ-1\",\"n\":3}\n\nevent: other\r\ndata: a\r\ndata: b\r\n\r\n";
    const all = bytes(text);
    for (let size = 1; size <= all.length; size++) {
      const cutter = new EventCutter();
      const events: unknown[] = [];
      for (let at = 0; at < all.length; at += size) events.push(...cutter.feed(all.slice(at, at + size)));
      expect(events, `pieces of ${size} bytes`).toEqual([{ event: "news", data: '{"job":"µ-1","n":3}' }, { event: "other", data: "a\nb" }]);
    }
  });
});

describe("the live channel", () => {
  function setUp(open: (signal: AbortSignal) => ReadableStream<Uint8Array>): { world: World; live: Live; heard: string[] } {
    const world = new World(async (_url, init) => new Response(open(init.signal!)));
    const heard: string[] = [];
    const access = { with: <T>(work: (token: string) => Promise<T>) => work("t") } as unknown as Access;
    const live = new Live(new Wire(world), access, world, { sign: () => heard.push("sign"), opened: () => heard.push("opened"), news: (n) => heard.push(`${n.job} ${n.n}`) });
    return { world, live, heard };
  }

  test("tells news, and is opened again after it ended", async () => {
    let opened = 0;
    const { world, live, heard } = setUp(() => new ReadableStream({
      start(controller) {
        opened++;
        controller.enqueue(bytes(`event: news\ndata: {"job":"j","n":${opened}}\n\n`));
        controller.close();
      },
    }));
    live.start();
    await vi.waitFor(() => expect(heard).toEqual(["opened", "sign", "j 1"]));
    await vi.waitFor(() => expect(world.timers.length).toBe(1));
    world.pass(1000);
    await vi.waitFor(() => expect(heard).toContain("j 2"));
    live.stop();
  });

  test("is taken for dead when it is silent", async () => {
    let aborted = false;
    const { world, live, heard } = setUp((signal) => new ReadableStream({
      start(controller) {
        signal.addEventListener("abort", () => {
          aborted = true;
          controller.error(new Error("aborted"));
        });
      },
    }));
    live.start();
    await vi.waitFor(() => expect(heard).toEqual(["opened"]));
    await vi.waitFor(() => expect(world.timers.length).toBe(1));
    world.pass(41_000);
    expect(aborted).toBe(true);
    live.stop();
  });
});

test("pauses double from a second to a minute, spread over half of it", () => {
  expect([1, 2, 3, 7, 50].map((failures) => backOff(failures, 0))).toEqual([500, 1000, 2000, 30_000, 30_000]);
  expect([1, 2, 3, 7, 50].map((failures) => backOff(failures, 0.999_999))).toEqual([1000, 2000, 4000, 60_000, 60_000].map((v) => expect.closeTo(v, 0)));
});
