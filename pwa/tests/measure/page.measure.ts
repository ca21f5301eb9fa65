// What the page costs in time and bytes, against the real program: printed, nothing is asserted, since a machine's speed is no fault of the page.

import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { Page } from "playwright-core";
import { words } from "../../src/page/words.ts";
import { journal } from "../e2e/bench.ts";
import type { Device } from "../e2e/device.ts";
import { browserOn, World } from "../e2e/world.ts";

const rows: [what: string, figure: string][] = [];
const ms = (n: number): string => `${n.toFixed(0)} ms`;

function spread(values: number[]): string {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (p: number): number => sorted[Math.min(sorted.length - 1, Math.ceil(p * sorted.length) - 1)]!;
  return `p50 ${ms(at(0.5))}, p95 ${ms(at(0.95))} (${values.length})`;
}

/** Slows the page's own thread down by this factor. The browser refuses it for workers, so the engine runs at full speed. */
async function throttle(page: Page, rate: number): Promise<void> {
  await (await page.context().newCDPSession(page)).send("Emulation.setCPUThrottlingRate", { rate });
}

/** Milliseconds from the start of the page's navigation until this is laid out, by the page's own clock, looked at frame by frame. */
async function sinceNavigation(page: Page, selector: string): Promise<number> {
  const seen = await page.waitForFunction((sel) => (document.querySelector(sel)?.getClientRects().length ? performance.now() : false), selector, { polling: "raf" });
  return Number(await seen.jsonValue());
}

/** Milliseconds from a key until the text of each of these elements has changed, by the page's own clock, looked at frame by frame: up to one frame late. */
async function fromKey(page: Page, key: string, ...selectors: string[]): Promise<number[]> {
  await page.evaluate((all) => {
    const w = window as unknown as { took: Promise<number[]> };
    w.took = new Promise((done) => {
      window.addEventListener("keydown", (down) => {
        const text = (sel: string): string | undefined => document.querySelector(sel)?.textContent;
        const before = all.map(text), took = all.map(() => Number.NaN);
        const look = (): void => {
          for (const [i, sel] of all.entries()) if (Number.isNaN(took[i]) && text(sel) !== before[i]) took[i] = performance.now() - down.timeStamp;
          if (took.some(Number.isNaN)) requestAnimationFrame(look);
          else done(took);
        };
        requestAnimationFrame(look);
      }, { once: true, capture: true });
    });
  }, selectors);
  await page.keyboard.press(key);
  return page.evaluate(() => (window as unknown as { took: Promise<number[]> }).took);
}

/** Starts the device's browser anew without a network and opens an address of the page; nothing of it is in memory. */
async function coldStart(device: Device, storage: string, rate: number, hash: string): Promise<void> {
  await device.startedAnew(await browserOn(storage));
  await device.context.setOffline(true);
  await throttle(device.page, rate);
  await device.page.addInitScript(() => {
    const w = window as unknown as { touches: number };
    w.touches = 0;
    window.addEventListener("pointerdown", () => { w.touches++; }, true);
  });
  await device.page.goto(`${device.line.address}/${hash}`);
}

/** From the list of jobs by touch alone, as quickly as the page lets one: no temperatures, zero read as 0. */
async function firstReading(device: Device, job: string): Promise<number> {
  const { page } = device;
  await page.locator(`a.job-card[href="#/job/${job}"]`).tap();
  await page.locator('a.balloon[aria-label^="J1,"]').tap();
  for (const name of ["comparator A", "ring 70 A"]) await page.locator(".pickrow", { hasText: name }).tap();
  for (const name of [words.setup.notMeasured, words.setup.soakedYes, words.setup.beginZero]) await device.button(name).tap();
  await device.asks(words.measure.zeroBefore);
  await device.touch("0");
  await device.touch("5");
  return page.evaluate(() => (window as unknown as { touches: number }).touches);
}

test("the page's figures", async () => {
  const world = await World.begin();
  const storage = mkdtempSync(join(tmpdir(), "runtrue-measure-"));
  const angles = Array.from({ length: 20 }, (_, i) => i * 18_000);
  const plan = { planes: [{ name: "1", z_pm: 70e9 }, { name: "2", z_pm: 100e9 }], angles_mdeg: angles };
  for (const job of ["m-1", "m-4"]) await world.job(job, journal({ plan }));
  const size = async (name: string): Promise<number> => {
    const answer = await fetch(world.program.address + name, { headers: { "Accept-Encoding": "br" } });
    expect([answer.status, answer.headers.get("content-encoding")], name).toEqual([200, "br"]);
    return Number(answer.headers.get("content-length"));
  };
  const html = await (await fetch(world.program.address)).text();
  const assets = [...html.matchAll(/(?:src|href)="(\/assets\/[^"]+)"/g)].map((m) => m[1]!);
  expect(assets.length).toBeGreaterThan(1);
  let page = await size("/");
  for (const name of assets) page += await size(name);
  rows.push(["engine, over the wire (br)", `${await size("/engine.wasm")} bytes`], ["page to first paint, over the wire (br)", `${page} bytes`]);
  const ana = await world.phoneOn(storage, "ana");
  await ana.page.locator("a.job-card", { hasText: "m-4" }).waitFor();
  await ana.context.close();
  await world.program.stop();
  ana.line.cut();

  for (const rate of [1, 4]) {
    const slow = rate === 1 ? "" : `, page slowed ${rate}×`;
    const job = `m-${rate}`;
    await coldStart(ana, storage, rate, `#/job/${job}`);
    rows.push([`offline cold start to the drawn spindle${slow}`, ms(await sinceNavigation(ana.page, ".title-block"))]);
    await ana.context.close();
    await coldStart(ana, storage, rate, "");
    rows.push([`offline cold start to the list of jobs${slow}`, ms(await sinceNavigation(ana.page, "a.job-card"))]);
    const touches = await firstReading(ana, job);
    if (rate === 1) rows.push(["touches from cold start to the first reading saved", String(touches)]);
    const digit: number[] = [], saved: number[] = [], verdict: number[] = [];
    for (let i = 0; i < 36; i++) {
      const value = (4 + (i % 7) * 0.3 + (i % 3) * 0.1).toFixed(1);
      digit.push(...(await fromKey(ana.page, value[0]!, ".pad .figure")));
      for (const c of value.slice(1)) await ana.page.keyboard.press(c);
      const [kept, judged] = await fromKey(ana.page, "Enter", ".last-kept", ".verdict-strip");
      saved.push(kept!);
      verdict.push(judged!);
    }
    rows.push([`key to digit painted${slow}`, spread(digit)], [`Enter to "${words.measure.savedHere}"${slow}`, spread(saved)], [`Enter to the verdict with it${slow}`, spread(verdict)]);
    await ana.context.close();
  }
  await world.program.start(0);
  await ana.startedAnew(await browserOn(storage));
  await world.end();
  rmSync(storage, { recursive: true, force: true });
  const width = Math.max(...rows.map(([what]) => what.length));
  console.log("\n" + rows.map(([what, figure]) => `${what.padEnd(width)}  ${figure}`).join("\n") + "\n");
  expect(rows.length).toBeGreaterThan(10);
});
