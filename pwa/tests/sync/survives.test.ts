// Whatever goes wrong in whatever order, every entry that was saved is on the server in the end, once, and on every device.

import * as fc from "fast-check";
import { expect, test } from "vitest";
import { Device, entry, freshName } from "../fakes/device.ts";
import { FakeServer, type Fault } from "../fakes/server.ts";

type Step =
  | { do: "save"; device: number; job: number; onto: number }
  | { do: "round"; device: number; faults: Fault[] }
  | { do: "crash"; device: number }
  | { do: "snapshot" }
  | { do: "restore" }
  | { do: "token" };

const fault = fc.constantFrom<Fault>("none", "none", "lost request", "lost answer", "cut answer", "half done", "broken");
const device = fc.nat({ max: 1 });
const step: fc.Arbitrary<Step> = fc.oneof(
  { weight: 6, arbitrary: fc.record({ do: fc.constant("save" as const), device, job: fc.nat({ max: 2 }), onto: fc.nat({ max: 3 }) }) },
  { weight: 5, arbitrary: fc.record({ do: fc.constant("round" as const), device, faults: fc.array(fault, { maxLength: 7 }) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("crash" as const), device }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("snapshot" as const) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("restore" as const) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("token" as const) }) },
);

test("every saved entry is finally on the server once and on every device", async () => {
  await fc.assert(
    fc.asyncProperty(fc.array(step, { minLength: 1, maxLength: 40 }), async (steps) => {
      const server = new FakeServer(freshName("server"), () => 1_000);
      const devices = [new Device(server, "a"), new Device(server, "b")];
      for (const d of devices) await d.enter();
      const saved = new Set<string>();
      let salt = 0;
      let old = server.snapshot();
      for (const s of steps) {
        switch (s.do) {
          case "save": {
            const d = devices[s.device]!;
            const job = `job-${s.job}`;
            // Parents are among what this device holds: `onto` says how far back, or none at all.
            const held = await d.disk.ids(job);
            const parents = s.onto === 0 ? [] : held.slice(-s.onto).slice(0, 1);
            const e = entry(job, parents, String(salt++));
            await d.disk.putOwn(e, parents);
            saved.add(e.id);
            break;
          }
          case "round":
            server.faults = [...s.faults];
            await devices[s.device]!.sync.now();
            server.faults = [];
            break;
          case "crash":
            await devices[s.device]!.crash();
            break;
          case "snapshot":
            old = server.snapshot();
            break;
          case "restore":
            server.restore(old);
            break;
          case "token":
            server.expireToken();
            break;
        }
      }
      // All links heal. Both devices share one session of the fake server, whose renewed token each has to learn.
      for (let turn = 0; turn < 4; turn++) {
        for (const d of devices) {
          const stored = await d.sync.sessions.get();
          await d.sync.sessions.put({ ...stored!, access: server.access, refresh: server.refresh, ended: false });
          await d.sync.now();
        }
      }
      const onServer = server.all().map((a) => a.id);
      expect(onServer.length, "entries on the server, each once").toBe(new Set(onServer).size);
      expect([...onServer].sort()).toEqual([...saved].sort());
      for (const d of devices) {
        expect(d.trouble).toBe("");
        expect(await d.disk.counts()).toMatchObject({ unsent: 0, refused: [] });
        const here = (await d.disk.readAll(0, 10_000)).map((e) => e.id);
        expect(here.length).toBe(saved.size);
        expect(new Set(here)).toEqual(saved);
        await d.sync.stop();
        await d.disk.db.close();
      }
    }),
    { numRuns: 300 },
  );
}, 120_000);
