// From a cold start with the network off: one visit, then neither network nor server, a browser that is closed and one that is killed.

import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, afterEach, beforeAll, expect, test } from "vitest";
import { words } from "../../src/page/words.ts";
import { journal } from "./bench.ts";
import { browserOn, killBrowserOn, World } from "./world.ts";

let world: World;
const folders: string[] = [];

function folder(): string {
  const made = mkdtempSync(join(tmpdir(), "runtrue-e2e-phone-"));
  folders.push(made);
  return made;
}

beforeAll(async () => { world = await World.begin(); });
afterEach(async () => { for (const d of world.devices.splice(0)) await d.close(); });
afterAll(async () => {
  await world?.end();
  for (const f of folders) rmSync(f, { recursive: true, force: true });
});

test("one visit, then no network and no server: measured from a cold start, kept over another, sent when the server is back", async () => {
  const job = await world.job("cold-1", journal());
  const storage = folder();
  const ana = await world.phoneOn(storage, "ana");
  await ana.page.locator("a.job-card", { hasText: job }).waitFor();
  await ana.context.close();
  await world.program.stop();
  ana.line.cut();

  await ana.startedAnew(await browserOn(storage));
  await ana.context.setOffline(true);
  await ana.page.goto(ana.line.address);
  await ana.openJob(job);
  await ana.touchSeat(job, "J1");
  await ana.setUpAt20("comparator A", "ring 70 A");
  await ana.touch("4.0");
  await ana.says(words.outcome.incomplete, "1 of 6", "+4.0 µm");
  await ana.touch("5.5");
  await ana.asks("Plane 1 · 120°"); // Enter went on to the next
  await ana.says(words.outcome.incomplete, "2 of 6");
  await ana.waiting(4); // set-up, zero, two readings
  await ana.context.close();

  await ana.startedAnew(await browserOn(storage));
  await ana.context.setOffline(true);
  await ana.page.goto(ana.line.address);
  await ana.waiting(4);
  await ana.touchSeat(job, "J1");
  await ana.page.locator("button.continue", { hasText: "comparator A" }).filter({ hasText: "2 readings so far" }).tap();
  await ana.says(words.outcome.incomplete, "2 of 6");
  await ana.asks("Plane 1 · 120°");
  await ana.readings("4.5", "5.0", "6.0", "5.0");
  await ana.says(words.outcome.conforms, "6 of 6");
  await ana.closeZero();
  await ana.waiting(9);

  await world.program.start(0);
  await ana.mend();
  await ana.allOnServer();
  await world.sameEverywhere(job, [ana]);
  const typed = (await world.desk.entries(job)).filter((e) => e.kind === "reading" && e.body.feature === "J1").map((e) => e.body.typed);
  expect(typed).toEqual(["4.0", "5.5", "4.5", "5.0", "6.0", "5.0"]);
});

test("the browser is killed the moment it says saved here: the reading is there", async () => {
  const job = await world.job("cold-2", journal());
  const storage = folder();
  const ana = await world.phoneOn(storage, "ana");
  await ana.openJob(job);
  await ana.cut();
  await ana.touchSeat(job, "J1");
  await ana.setUpAt20("comparator A", "ring 70 A");
  for (const [n, value] of ["4.0", "5.0", "4.5"].entries()) {
    await ana.gauge(value);
    await killBrowserOn(storage, ana.context);
    await ana.startedAnew(await browserOn(storage));
    await ana.context.setOffline(true);
    await ana.page.goto(ana.line.address);
    await ana.waiting(3 + n);
    await ana.touchSeat(job, "J1");
    await ana.page.locator("button.continue", { hasText: "comparator A" }).tap();
    await ana.says(`${n + 1} of 6`);
  }
  await ana.page.locator("button.rings").tap();
  const stations = ana.page.getByRole("dialog").locator(".station-list li");
  await stations.first().waitFor();
  expect((await stations.allInnerTexts()).map((t) => t.split("\n").at(-1)!.replace("\u00a0", " "))).toEqual(["4.0 µm", "5.0 µm", "4.5 µm", words.measure.open, words.measure.open, words.measure.open]);
});

test("two tabs: what one keeps, the other shows at once", async () => {
  const job = await world.job("cold-3", journal());
  const ana = await world.device("ana");
  await ana.openJob(job);
  const other = await ana.context.newPage();
  await other.goto(`${ana.line.address}/#/job/${job}/measure/J1/size`);
  await other.getByRole("heading", { name: words.setup.title, exact: true }).waitFor();
  await ana.cut();
  await ana.page.bringToFront();
  await ana.touchSeat(job, "J1");
  await ana.setUpAt20("comparator A", "ring 70 A");
  await ana.gauge("4.0");
  await other.locator("button.continue", { hasText: "1 reading so far" }).tap();
  await other.locator(".verdict-strip", { hasText: "1 of 6" }).waitFor();
  await ana.gauge("5.0");
  await other.locator(".verdict-strip", { hasText: "2 of 6" }).waitFor();
});

/** Makes the browser's database refuse to write, as it does when the device is full, while window.deviceFull is set. */
function refuseWhenFull(): void {
  const flags = window as unknown as { deviceFull?: boolean };
  for (const name of ["put", "add"] as const) {
    const real = IDBObjectStore.prototype[name];
    IDBObjectStore.prototype[name] = function (this: IDBObjectStore, ...args: Parameters<typeof real>) {
      if (flags.deviceFull) throw new DOMException("no room left", "QuotaExceededError");
      return real.apply(this, args);
    };
  }
}

const full = (flag: boolean): void => { (window as unknown as { deviceFull: boolean }).deviceFull = flag; };

test("no room left on the device: nothing is called saved, the words say why, and it is kept once there is room", async () => {
  const job = await world.job("cold-4", journal());
  const ana = await world.device("ana", refuseWhenFull);
  await ana.openJob(job);
  await ana.touchSeat(job, "J1");
  await ana.setUp({ gauge: "comparator A", master: "ring 70 A", temperatures: ["20", "20"], soaked: true, open: true });
  await ana.page.evaluate(full, true);
  await ana.button(words.setup.beginZero).tap();
  const alarm = ana.page.locator(".setup [role=alert]");
  await alarm.waitFor();
  expect(await alarm.innerText()).toMatch(/not saved|nothing was saved|no room|full/i);
  expect((await world.desk.entries(job)).filter((e) => e.kind === "setup")).toEqual([]);
  await ana.page.evaluate(full, false);
  await ana.button(words.setup.beginZero).tap();
  await ana.asks(words.measure.zeroBefore);
  await ana.gauge("0");
  await ana.allOnServer();
  expect((await world.desk.entries(job)).filter((e) => e.kind === "setup" || e.kind === "reading").map((e) => e.kind)).toEqual(["setup", "reading"]);
});
