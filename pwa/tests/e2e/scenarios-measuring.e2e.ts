// Worked scenarios of measuring, typed at the keypad: what the page says of them, with the numbers worked by hand. Comparator and bore gauge have the
// standard uncertainties 0.5 µm and 0.8 µm that the arithmetic uses; J1 is 70 k4 (+2 … +10 µm), B1 is 110 JS5 (±7.5 µm).

import { afterAll, beforeAll, expect, test } from "vitest";
import { words } from "../../src/page/words.ts";
import { bore, journal, spacer } from "./bench.ts";
import type { Device } from "./device.ts";
import { World } from "./world.ts";

let world: World;
let ana: Device, bo: Device, cleo: Device;

beforeAll(async () => {
  world = await World.begin();
  [ana, bo, cleo] = [await world.device("ana"), await world.device("bo"), await world.device("cleo")];
});
afterAll(() => world?.end());

async function six(d: Device, job: string, feature: string, gauge: string, master: string, values: string[]): Promise<void> {
  await d.openJob(job);
  await d.touchSeat(job, feature);
  await d.setUpAt20(gauge, master);
  await d.readings(...values);
}

interface List { components: { component: string; proposal: string; reason: string; features: { outcome: string; value_um: number; u_um: number; p_c: number }[] }[] }

async function list(job: string): Promise<List["components"][number]> {
  return (JSON.parse(await world.desk.file(job, "list.json")) as List).components[0]!;
}

test("cannot be told, with what would settle it; a gauge that can never decide is named before the first reading", async () => {
  const job = await world.job("tell", journal());
  await six(ana, job, "J1", "comparator A", "ring 70 A", ["2.5", "5", "6", "5", "6", "5"]);
  await ana.says(words.outcome["cannot be told"], "+2.5 ± 1.0 µm");
  await ana.closeZero();
  await ana.allOnServer();
  const panel = await (await cleo.openJob(job), cleo.openCase("J1"));
  await panel.filter({ hasText: words.review.settle }).filter({ hasText: /U ≤ 0\.6\d? µm/ }).waitFor();
  expect((await list(job)).features[0]!.p_c).toBeCloseTo(0.841, 2);
  await panel.locator("details.steps summary").tap();
  await panel.locator("details.steps .step", { hasText: "+2.5" }).first().waitFor();
  await panel.locator("details.steps .step", { hasText: "JCGM 106" }).first().waitFor();

  const hopeless = await world.job("tell-mic", journal());
  await bo.openJob(hopeless);
  await bo.touchSeat(hopeless, "J1");
  await bo.setUp({ gauge: "micrometer 1", master: "ring 70 A", temperatures: ["20", "20"], soaked: true, open: true });
  await bo.page.locator(".say.fails", { hasText: words.setup.cannot }).filter({ hasText: "0.918" }).waitFor();
});

test("fails, which way it could be mended and how much, and whether that is allowed", async () => {
  const job = await world.job("mend", journal());
  await six(ana, job, "J1", "comparator A", "ring 70 A", ["0.5", "1.0", "1.5", "1", "1", "1"]);
  await ana.says(words.outcome.fails, "+0.5 ± 1.0 µm");
  await ana.closeZero();
  await ana.allOnServer();
  await cleo.openJob(job);
  const panel = await cleo.openCase("J1");
  await panel.filter({ hasText: "Put on 2.32 µm to 7.68 µm" }).filter({ hasText: "aim for 5.00 µm" }).waitFor();
  expect(await list(job)).toMatchObject({ proposal: "rework" });

  const lost = await world.job("mend-not", journal({ rework: { max_off_pm: 100e6, build_up: false } }));
  await six(bo, lost, "J1", "comparator B", "ring 70 B", ["0.5", "1.0", "1.5", "1", "1", "1"]);
  await bo.closeZero();
  await bo.allOnServer();
  expect(await list(lost)).toMatchObject({ proposal: "replace" });

  const hole = await world.job("mend-bore", bore());
  await six(ana, hole, "B1", "bore gauge 1", "ring 110", ["-9.0", "-8.5", "-8.8", "-8.6", "-8.7", "-9.0"]);
  await ana.says(words.outcome.fails);
  await ana.closeZero();
  await ana.allOnServer();
  await cleo.openJob(hole);
  await (await cleo.openCase("B1")).filter({ hasText: "Take off 2.82 µm to 14.68 µm" }).filter({ hasText: "aim for 8.75 µm" }).waitFor();
});

test("half micrometres are exact: 6.5 against ±7.5 cannot be told", async () => {
  const job = await world.job("half", bore());
  await six(ana, job, "B1", "bore gauge 1", "ring 110", ["6.5", "3", "3", "2", "2", "1"]);
  await ana.says(words.outcome["cannot be told"], "+6.5 ± 1.6 µm");
  await ana.closeZero();
  await ana.allOnServer();
  expect((await list(job)).features[0]!.p_c).toBeCloseTo(0.894, 2);
});

test("a hot shaft is not condemned: corrected, then left to soak", async () => {
  const job = await world.job("hot", journal());
  await ana.openJob(job);
  await ana.touchSeat(job, "J1");
  await ana.setUp({ gauge: "comparator A", master: "ring 70 A", temperatures: ["32", "21"], soaked: false });
  await ana.readings("12", "12", "12", "12", "12", "12");
  await ana.says(words.outcome["cannot be told"], "+3.1");
  await ana.closeZero();
  await ana.allOnServer();
  await cleo.openJob(job);
  await (await cleo.openCase("J1")).filter({ hasText: /soak/ }).waitFor();
  const hot = (await list(job)).features[0]!;
  expect(hot.value_um).toBeCloseTo(3.145, 3);
  expect(hot.outcome).toBe("cannot be told");

  const soaked = await world.job("soaked", journal());
  await bo.openJob(soaked);
  await bo.touchSeat(soaked, "J1");
  await bo.setUp({ gauge: "comparator B", master: "ring 70 B", temperatures: ["21", "21"], soaked: true });
  await bo.readings("3.1", "3.1", "3.1", "3.1", "3.1", "3.1");
  await bo.says(words.outcome.conforms, "+3.1");
  await bo.closeZero();
});

test("drift: beyond a tenth of the tolerance the set-up is in doubt; below it half is taken off", async () => {
  const job = await world.job("drift", journal());
  await six(ana, job, "J1", "comparator A", "ring 70 A", ["5", "5", "5", "5", "5", "5"]);
  await ana.closeZero("1.5");
  await ana.allOnServer();
  await cleo.held(job, "shaft", "set again");
  expect((await list(job)).features[0]!.outcome).toBe("cannot be told");

  const wide = await world.job("drift-bore", bore());
  await six(ana, wide, "B1", "bore gauge 1", "ring 110", ["4", "4", "4", "4", "4", "4"]);
  await ana.closeZero("1.5");
  await ana.allOnServer();
  const f = (await list(wide)).features[0]!;
  expect(f).toMatchObject({ outcome: "conforms", value_um: 3.25 });
  expect(f.u_um).toBeCloseTo(2 * 0.91, 2);
});

test("four stations under-report a wedge: both figures are named, and it fails", async () => {
  const job = await world.job("wedge", spacer());
  await ana.openJob(job);
  await ana.measuring(job, "P1", "parallelism");
  await ana.setUpAt20("thickness stand 1", "block 20");
  await ana.readings("1.4", "1.4", "-1.4", "-1.4");
  await ana.says(words.outcome.fails, /2\.8/, /4\.0|3\.96/, /45/);
  await ana.closeZero();
  await ana.allOnServer();
  expect((await list(job)).features[0]!.value_um).toBeCloseTo(3.96, 2);
});

test("two people differ beyond what both can be wrong: in conflict, a third reading does not outvote, a strike with a reason settles", async () => {
  const job = await world.job("differ", journal());
  await six(ana, job, "J1", "comparator A", "ring 70 A", ["5", "5", "5", "5", "5", "5"]);
  await ana.closeZero();
  await ana.allOnServer();
  await six(bo, job, "J1", "comparator B", "ring 70 B", []);
  await bo.station("Plane 1 · 0°");
  await bo.gauge("7.5");
  await bo.closeZero();
  await bo.allOnServer();
  await six(cleo, job, "J1", "comparator C", "ring 70 C", []);
  await cleo.says(words.outcome["in conflict"]);
  await cleo.station("Plane 1 · 0°");
  await cleo.gauge("5.2");
  await cleo.closeZero();
  await cleo.allOnServer();
  await cleo.openJob(job);
  const panel = await cleo.openCase("J1");
  await cleo.strike(panel, "7.5", "µm", "dirt");
  await cleo.allOnServer();
  await cleo.held(job, "shaft", "no decision");
  const f = (await list(job)).features[0]!;
  expect(f.outcome).toBe("conforms");
  const sheet = await world.desk.sheet<{ components: { features: { verdict: { characteristics: { stations: { plane: string; angle_mdeg: number; value_pm: number }[] }[] } }[] }[] }>(job);
  const station = sheet.components[0]!.features[0]!.verdict.characteristics[0]!.stations.find((s) => s.plane === "1" && s.angle_mdeg === 0)!;
  expect(station.value_pm).toBe(5_100_000);
});
