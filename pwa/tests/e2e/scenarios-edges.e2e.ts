// The rest of the worked scenarios: what comes late, what is taken back, what two copies of one tablet write, and a server that is killed. J1 is
// 70 k4 (+2 … +10 µm), every comparator has the standard uncertainty 0.5 µm.

import { cpSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { Sheet } from "../../src/contract.ts";
import { words } from "../../src/page/words.ts";
import { bore, journal, otherJournal } from "./bench.ts";
import type { Device } from "./device.ts";
import { browserOn, World } from "./world.ts";

let world: World;
let ana: Device, bo: Device, cleo: Device, eli: Device;
const good = ["4.0", "5.0", "4.5", "5.0", "6.0", "5.1"];
const folders: string[] = [];

/** Lets a test set this device's clock forward, by `clockAhead` milliseconds, or stop it. */
function clock(): void {
  const real = Date.now.bind(Date);
  Date.now = () => (globalThis as { clockStopped?: number }).clockStopped ?? real() + ((globalThis as { clockAhead?: number }).clockAhead ?? 0);
}

beforeAll(async () => {
  world = await World.begin();
  [ana, bo, cleo, eli] = [await world.device("ana"), await world.device("bo"), await world.device("cleo"), await world.device("eli")];
});
afterAll(async () => {
  await world?.end();
  for (const f of folders) rmSync(f, { recursive: true, force: true });
});

/** A job whose seat Ana measured; the others have seen it. */
async function measured(name: string, values: string[], ...specs: Record<string, unknown>[]): Promise<string> {
  const job = await world.job(name, ...(specs.length > 0 ? specs : [journal()]));
  await ana.openJob(job);
  await ana.readSeat(job, "J1", "A", values);
  await ana.allOnServer();
  for (const d of [cleo, eli]) await d.openJob(job);
  return job;
}

async function seat(job: string, feature = "J1", characteristic = "size") {
  const f = (await world.desk.sheet<Sheet>(job)).components[0]!.features.find((x) => x.spec.feature === feature)!;
  return { ...f, size: f.verdict.characteristics.find((c) => c.characteristic === characteristic)! };
}

test("limits in the page: JS5 and K5 of a bore, and h4 on both sides of a step of nominal sizes", async () => {
  const shaft = (feature: string, nominal_pm: number): Record<string, unknown> => journal({ feature, nominal_pm, characteristics: [{ name: "size", class: "h4", required: true }] });
  const job = await world.job("limits", bore(), { ...bore(), feature: "B2", characteristics: [{ name: "size", class: "K5", required: true }] }, shaft("H1", 30_000_000_000), shaft("H2", 30_001_000_000));
  await ana.openJob(job);
  for (const [feature, limits] of [["B1", "±7.5 µm"], ["B2", "\u221213 … +2 µm"], ["H1", "\u22126 … 0 µm"], ["H2", "\u22127 … 0 µm"]] as const) {
    await ana.measuring(job, feature, "size");
    await ana.page.locator(".measure-head .limits b", { hasText: limits }).waitFor();
  }
});

test("two readings that differ by less than both can be wrong agree, and their mean counts", async () => {
  const job = await measured("agree", ["5.0", ...good.slice(1)]);
  await bo.openJob(job);
  await bo.readSeat(job, "J1", "B", ["6.2"], "Plane 1 · 0°");
  await bo.allOnServer();
  const { size } = await seat(job);
  expect(size.outcome).toBe("conforms");
  expect(size.stations!.find((s) => s.plane === "1" && s.angle_mdeg === 0)).toMatchObject({ value_pm: 5_600_000, n: 2 });
});

test("a late reading that fails, from a device that was away, holds what was cleared and fails the seat", async () => {
  const job = await measured("late", good);
  await bo.openJob(job);
  await bo.cut();
  await cleo.decide(job, "shaft", "reuse");
  await cleo.allOnServer();
  await eli.cleared(job, "shaft");
  await bo.readSeat(job, "J1", "B", ["1.0"], "Plane 2 · 120°");
  await bo.mend();
  await bo.allOnServer();
  for (const d of [eli, cleo, bo]) await d.held(job, "shaft", "that the decision has not seen: J1 size, plane 2 at 120°, +1.0 µm by bo", words.outcome["in conflict"]);
});

test("the drawing changes after the decision: held, and how much metal must come off", async () => {
  const job = await measured("redrawn", good);
  await cleo.decide(job, "shaft", "reuse");
  await cleo.allOnServer();
  await eli.cleared(job, "shaft");
  await world.desk.write(job, "inspector", ["specification", journal({ characteristics: [{ name: "size", class: "js4", required: true }], reference: "drawing 12, change B" })]);
  await eli.held(job, "shaft", "J1 size: fails");
  const panel = await cleo.openCase("J1");
  await panel.filter({ hasText: "Take off 2.82 µm to 7.18 µm" }).filter({ hasText: "aim for 5.00 µm" }).waitFor();
});

test("a strike that is struck brings the failing reading back", async () => {
  const job = await measured("unstruck", ["0.5", ...good.slice(1)]);
  await cleo.strike(await cleo.openCase("J1"), "0.5", "µm", "dirt");
  await cleo.allOnServer();
  expect((await seat(job)).size).toMatchObject({ outcome: "incomplete", have: 5 });
  const strike = (await world.desk.bytes(job)).find((text) => (JSON.parse(text) as { kind: string }).kind === "strike")!;
  await world.desk.write(job, "inspector", ["strike", { target: world.desk.idOf(strike), reason: "slip", text: "there was no dirt" }]);
  await cleo.held(job, "shaft", "J1 size: fails", "1.5 µm below its lower limit");
  expect((await seat(job)).size).toMatchObject({ outcome: "fails", have: 6, value_pm: 500_000 });
});

test("after the closing zero nothing more is read under that set-up: a new one is asked for", async () => {
  const job = await world.job("closed", journal());
  await bo.openJob(job);
  await bo.touchSeat(job, "J1");
  await bo.setUpAt20("comparator B", "ring 70 B");
  await bo.readings("4.0", "5.0");
  await bo.page.locator("header.status a.back").tap();
  await bo.button(words.measure.closeNow).tap();
  await bo.gauge("0");
  await bo.page.locator("section.all-taken", { hasText: words.measure.ended }).waitFor();
  expect(await bo.page.locator(".pad").count()).toBe(0);
  await bo.button(words.measure.setUpAgain).tap();
  await bo.setUpAt20("comparator B", "ring 70 B");
  await bo.asks("Plane 1 · 120°");
  await bo.gauge("4.5");
  await bo.go(`#/job/${job}`);
  await bo.allOnServer();
  const entries = await world.desk.entries(job);
  const setups = new Set(entries.filter((e) => e.kind === "reading" && e.body.feature === "J1").map((e) => e.body.setup));
  expect(setups.size).toBe(2);
});

test("a technician's decision is kept without effect, and what was read after it counts", async () => {
  const job = await measured("unheard", good);
  await cleo.decide(job, "shaft", "reuse");
  await cleo.allOnServer();
  await ana.cleared(job, "shaft");
  await ana.beginDecision(job, "shaft");
  await ana.page.locator("section.decide", { hasText: words.decide.mayNot("technician") }).waitFor();
  await ana.endDecision("replace", "I do not like the look of it");
  await ana.readSeat(job, "J1", "A", ["4.1"], "Plane 1 · 0°");
  await ana.readSeat(job, "J1", "A", ["5.1"], "Plane 1 · 60°");
  await ana.allOnServer();
  await eli.cleared(job, "shaft");
  const sheet = await world.desk.sheet<Sheet>(job);
  expect(sheet.without_effect.map((l) => [l.kind, l.by, l.why])).toEqual([["decision", "ana", "technician may not write a decision"]]);
  expect(sheet.components[0]!.features[0]!.readings.map((r) => r.status)).toEqual(Array.from({ length: 8 }, () => "counts"));
});

test("grinding a seat voids the run-out that refers to it, and leaves the other seat's sizes", async () => {
  const job = await measured("datum", ["12.0", ...good.slice(1)], journal(), otherJournal());
  await ana.readSeat(job, "J2", "A", ["5.0", "5.0", "5.0"]);
  await ana.measuring(job, "J2", "circular run-out");
  await ana.setUpSweep("lever indicator 1");
  await ana.readings("0", "1.0", "1.2", "0.4");
  await ana.asks(words.measure.stationName("1", 0, true));
  await ana.gauge("0.1");
  await ana.allOnServer();
  expect((await seat(job, "J2", "circular run-out")).size.outcome).toBe("conforms");

  const panel = await cleo.openCase("J1");
  await panel.getByRole("button", { name: words.review.rework, exact: true }).tap();
  await cleo.button(words.rework.states.done).tap();
  await cleo.button(words.rework.operations[0]).tap();
  await cleo.button(words.rework.save).tap();
  await cleo.page.getByRole("dialog").waitFor({ state: "detached" });
  await cleo.allOnServer();
  expect((await seat(job)).size).toMatchObject({ outcome: "incomplete", have: 0, need: 6 });
  expect((await seat(job, "J2")).size.outcome).toBe("conforms");
  expect((await seat(job, "J2", "circular run-out")).size).toMatchObject({ outcome: "incomplete", have: 0 });
  await eli.held(job, "shaft", "J1 size: incomplete", "J2 circular run-out: incomplete");
});

test("a concession ends with its round, and does not stand in for what was not measured", async () => {
  const concession = ["concession", { component: "shaft", feature: "J1", characteristic: "size", rounds: [], lower_pm: 500_000, authority: "customer", person: "plant engineer", reference: "letter 12" }] as [string, unknown];
  const job = await measured("conceded", ["1.4", ...good.slice(1)]);
  await world.desk.write(job, "inspector", concession);
  await cleo.decide(job, "shaft", "reuse", "conceded");
  await cleo.allOnServer();
  await eli.cleared(job, "shaft", "by concession (customer", "letter 12");
  await world.desk.write(job, "inspector", ["rework", { component: "shaft", features: ["J1"], state: "done", operation: "polish" }]);
  await ana.readSeat(job, "J1", "A", ["1.4", ...good.slice(1)]);
  await ana.allOnServer();
  expect(await seat(job)).toMatchObject({ round: 1, size: { outcome: "cannot be told" }, concessions: [{ covers: false }] });
  await eli.held(job, "shaft", "J1 size: cannot be told");

  const half = await measured("conceded-half", ["1.4", "5.0", "4.5"]);
  await world.desk.write(half, "inspector", concession);
  await cleo.decide(half, "shaft", "reuse", "conceded");
  await cleo.allOnServer();
  await eli.held(half, "shaft", "J1 size: incomplete", "3 of 6");
});

test("a decision under a withdrawn role on a tablet whose clock runs weeks ahead: what was decided before stands, what came later carries no wrong time", async () => {
  const dov = await world.device("dov", clock);
  const job = await measured("ahead", good);
  const earlier = await measured("ahead-earlier", good);
  for (const j of [job, earlier]) await dov.openJob(j);
  await dov.decide(earlier, "shaft", "reuse");
  await dov.allOnServer();
  await dov.openJob(job);
  await dov.cut();
  const ahead = 40 * 86_400_000;
  await dov.page.evaluate((ms) => { (globalThis as { clockAhead?: number }).clockAhead = ms; }, ahead);
  const began = Date.now();
  await dov.decide(job, "shaft", "reuse");
  const grant = (await world.desk.bytes("shop")).find((text) => {
    const e = JSON.parse(text) as { kind: string; body: { person?: string } };
    return e.kind === "grant" && e.body.person === "dov";
  })!;
  await world.desk.write("shop", "admin", ["grant", { person: "dov", role: "inspector", from_ms: 0, withdraws: world.desk.idOf(grant) }]);
  await dov.mend();
  await cleo.held(job, "shaft", "decided by Dov, whose role was withdrawn");
  await cleo.decide(job, "shaft", "reuse", "looked at it myself");
  await cleo.allOnServer();
  await eli.cleared(job, "shaft");
  await eli.cleared(earlier, "shaft", "dov");
  const times = (await world.desk.sheet<Sheet>(job)).history.map((l) => ({ kind: l.kind, by: l.by, wrong: l.time_ms > began + ahead / 2 }));
  expect(times.filter((l) => l.wrong)).toEqual([{ kind: "decision", by: "dov", wrong: true }]);
  expect(times.filter((l) => !l.wrong).map((l) => l.kind)).toContain("objection");
});

test("two copies of one tablet type the same value in the same millisecond: both are kept", async () => {
  const job = await world.job("clone", journal());
  const [one, two] = ["a", "b"].map(() => mkdtempSync(join(tmpdir(), "runtrue-e2e-phone-")));
  folders.push(one!, two!);
  const first = await world.phoneOn(one!, "bo");
  await first.openJob(job);
  await first.touchSeat(job, "J1");
  await first.setUpAt20("comparator B", "ring 70 B");
  await first.allOnServer();
  await first.context.close();
  cpSync(one!, two!, { recursive: true, filter: (name) => !/Singleton/.test(name) });
  const before = (await world.desk.entries(job)).length;
  await first.startedAnew(await browserOn(one!));
  await first.context.addInitScript(clock);
  const second = await world.cloned(first, two!, clock);
  const moment = Date.now();
  first.line.cut();
  for (const d of [first, second]) {
    await d.page.goto(d.line.address);
    await d.page.evaluate((ms) => { (globalThis as { clockStopped?: number }).clockStopped = ms; }, moment);
    await d.touchSeat(job, "J1");
    await d.page.locator("button.continue", { hasText: "comparator B" }).tap();
    await d.gauge("4.0");
  }
  for (const d of [first, second]) await d.mend();
  await expect.poll(async () => (await world.desk.entries(job)).length, { timeout: 30_000 }).toBe(before + 2);
  const twins = (await world.desk.entries(job)).slice(before);
  expect(twins.map((e) => [e.body.typed, e.wall_ms, e.device])).toEqual([twins[0], twins[0]].map((e) => ["4.0", moment, e!.device]));
  expect((await seat(job)).size.stations).toMatchObject([{ value_pm: 4_000_000, n: 2 }]);
});

test("the server is killed while readings come in: none is lost, none is there twice, and all was called waiting until it was on disk", async () => {
  const job = await world.job("killed", journal());
  await bo.openJob(job);
  await bo.measuring(job, "J1", "size");
  await bo.setUpAt20("comparator B", "ring 70 B");
  await bo.gauge(good[0]!);
  await world.program.stop("SIGKILL");
  await bo.readings(...good.slice(1, 4));
  await bo.page.locator("header.status", { hasText: /Saved here, \d+ waiting/ }).waitFor();
  await world.program.start(0);
  await bo.readings(...good.slice(4));
  await bo.closeZero();
  await bo.reopen();
  await bo.allOnServer();
  const typed = (await world.desk.entries(job)).filter((e) => e.kind === "reading" && e.body.feature === "J1").map((e) => e.body.typed);
  expect(typed).toEqual(good);
  await world.sameEverywhere(job, [bo]);
});
