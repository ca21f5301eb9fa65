// Scenario 1 and what surrounds it: two people measure one journal with no network, both devices and the server show the same bytes, the inspector
// decides, the assembler reads CLEARED, and a late reading holds the part again.

import { afterAll, beforeAll, expect, test } from "vitest";
import { words } from "../../src/page/words.ts";
import type { Sheet } from "../../src/contract.ts";
import { journal } from "./bench.ts";
import type { Device } from "./device.ts";
import { World } from "./world.ts";

let world: World;
let ana: Device, bo: Device, cleo: Device, eli: Device, late: Device;
const job = "lane-1";

beforeAll(async () => {
  world = await World.begin();
  await world.job(job, journal());
  [ana, bo, cleo, eli, late] = [await world.device("ana"), await world.device("bo"), await world.device("cleo"), await world.device("eli"), await world.device("bo")];
});
afterAll(() => world?.end());

test("two people measure one journal without the network; apart it is incomplete, together it conforms, and everybody shows the same bytes", async () => {
  for (const d of [ana, bo, late]) {
    await d.openJob(job);
    await d.cut();
  }
  await ana.touchSeat(job, "J1");
  await ana.setUpAt20("comparator A", "ring 70 A");
  await ana.touch("4.0");
  await ana.touch("5.0");
  await ana.touch("4.5");
  await ana.says(words.outcome.incomplete, "3 of 6");

  await bo.touchSeat(job, "J1");
  await bo.setUpAt20("comparator B", "ring 70 B");
  await bo.station("Plane 2 · 0°");
  await bo.readings("5.0", "6.0");
  await bo.button(/Change the unit/).tap();
  await bo.button(words.pad.unitLong("tenth")).tap();
  await bo.touch("2");
  await bo.savedHere("+2.0 tenths, Plane 2 · 120°");
  await bo.says(words.outcome.incomplete, "3 of 6");

  for (const d of [ana, bo]) {
    await d.closeZero();
    await d.mend();
  }
  for (const d of [ana, bo]) await d.allOnServer();
  const sheet = JSON.parse(await world.sameEverywhere(job, [ana, bo, cleo])) as { ok: Sheet };
  const seat = sheet.ok.components[0]!.features[0]!.verdict.characteristics[0]!;
  expect(seat.p_c).toBeCloseTo(0.99997, 5);
  expect(seat.margin_pm).toBe(2_000_000);
  expect(seat.figures!.map((f) => [f.name, f.value.toFixed(2)])).toEqual(expect.arrayContaining([["mean of plane 1", "4.50"], ["mean of plane 2", "5.36"], ["taper", "-0.86"]]));
  await ana.measuring(job, "J1", "size");
  await eli.held(job, "shaft", "no decision");
});

test("a whole size that looks like a slip is asked about, and kept with the question on yes", async () => {
  const slips = await world.job("lane-1-slip", journal());
  await bo.openJob(slips);
  await bo.touchSeat(slips, "J1");
  await bo.setUpAt20("comparator B", "ring 70 B");
  await bo.button(/Change what the number means/).tap();
  await bo.button(new RegExp(`^${words.pad.means.size}`)).tap();
  await bo.keys("69.0045");
  await bo.button(words.pad.keep).tap();
  const question = bo.page.getByRole("alertdialog", { name: words.slip.title });
  await question.filter({ hasText: "0.9955 mm under nominal: a slip?" }).waitFor();
  await question.getByRole("button", { name: words.slip.change }).tap();
  await bo.asks("Plane 1 · 0°");
  expect(await bo.page.locator(".pad .figure").innerText()).toBe("69.0045");
  await bo.button(words.pad.keep).tap();
  await question.getByRole("button", { name: words.slip.keep }).tap();
  await bo.savedHere("Plane 1 · 0°");
  await bo.closeZero();
  await bo.allOnServer();
  const kept = (await world.desk.entries(slips)).filter((e) => e.kind === "reading" && e.body.feature === "J1");
  expect(kept.map((e) => [e.body.typed, e.body.unit, e.body.means, e.body.value_pm, e.body.asked])).toEqual([["69.0045", "mm", "size", 69_004_500_000, expect.stringContaining("0.9955 mm under nominal: a slip?")]]);
});

test("the inspector decides, the assembler reads CLEARED; a reading from a device that was away holds the part; decided again it is cleared", async () => {
  await cleo.decide(job, "shaft", "reuse", "all six within, round enough");
  await eli.cleared(job, "shaft", "cleo");
  await eli.page.locator("dl.evidence", { hasText: "Cleo" }).filter({ hasText: "all six within" }).waitFor();

  await late.measuring(job, "J1", "size");
  await late.setUpAt20("comparator C", "ring 70 C");
  await late.station("Plane 2 · 120°");
  await late.gauge("5.1");
  await late.closeZero();
  await late.mend();
  await late.allOnServer();
  for (const d of [eli, cleo, late]) await d.held(job, "shaft", "that the decision has not seen: J1 size, plane 2 at 120°, +5.1 µm by bo");
  await cleo.decide(job, "shaft", "reuse", "the late reading agrees");
  for (const d of [eli, late]) await d.cleared(job, "shaft");
  await world.sameEverywhere(job, [ana, bo, cleo, eli, late]);
});
