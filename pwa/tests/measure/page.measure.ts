// What the page costs in time and bytes, against the real program: printed, nothing is asserted, since a machine's speed is no fault of the page.

import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { Page } from "playwright-core";
import { words } from "../../src/page/words.ts";
import { journal } from "../e2e/bench.ts";
import { browserOn, World } from "../e2e/world.ts";

const rows: [what: string, figure: string][] = [];
const ms = (n: number): string => `${n.toFixed(0)} ms`;

function spread(values: number[]): string {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (p: number): number => sorted[Math.min(sorted.length - 1, Math.ceil(p * sorted.length) - 1)]!;
  return `p50 ${ms(at(0.5))}, p95 ${ms(at(0.95))} (${values.length})`;
}

/** Slows the page's own thread down by this factor. The browser offers no such thing for a worker, so the engine runs at full speed. */
async function throttle(page: Page, rate: number): Promise<void> {
  await (await page.context().newCDPSession(page)).send("Emulation.setCPUThrottlingRate", { rate });
}

/** Times, within the page, from a key until the text in `selector` changes, as painted. */
async function fromKey(page: Page, key: string, selector: string): Promise<number> {
  await page.evaluate((sel) => {
    const w = window as unknown as { took: Promise<number> };
    w.took = new Promise((done) => {
      window.addEventListener("keydown", (down) => {
        const before = document.querySelector(sel)?.textContent;
        const look = (): void => {
          if (document.querySelector(sel)?.textContent !== before) done(performance.now() - down.timeStamp);
          else requestAnimationFrame(look);
        };
        requestAnimationFrame(look);
      }, { once: true, capture: true });
    });
  }, selector);
  await page.keyboard.press(key);
  return page.evaluate(() => (window as unknown as { took: Promise<number> }).took);
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
    await ana.startedAnew(await browserOn(storage));
    await ana.context.setOffline(true);
    await throttle(ana.page, rate);
    const job = `m-${rate}`;
    await ana.page.addInitScript(() => { window.addEventListener("pointerdown", () => { (window as unknown as { touches: number }).touches = ((window as unknown as { touches?: number }).touches ?? 0) + 1; }, true); });
    const start = performance.now();
    await ana.page.goto(ana.line.address);
    await ana.page.locator("a.job-card", { hasText: job }).waitFor();
    rows.push([`offline cold start to the list of jobs${slow}`, ms(performance.now() - start)]);
    await ana.openJob(job);
    rows.push([`offline cold start to the drawn spindle${slow}`, ms(performance.now() - start)]);
    await ana.touchSeat(job, "J1");
    await ana.setUpAt20("comparator A", "ring 70 A");
    if (rate === 1) {
      await ana.touch("5");
      const touches = await ana.page.evaluate(() => (window as unknown as { touches: number }).touches);
      rows.push(["touches from the list of jobs to the first reading saved (temperatures and zero typed)", String(touches)]);
    }
    const digit: number[] = [], saved: number[] = [], verdict: number[] = [];
    for (let i = 0; i < 36; i++) {
      const value = (4 + (i % 7) * 0.3 + (i % 3) * 0.1).toFixed(1);
      digit.push(await fromKey(ana.page, value[0]!, ".pad .figure"));
      for (const c of value.slice(1)) await ana.page.keyboard.press(c);
      const count = await ana.verdict.innerText();
      const enter = performance.now();
      saved.push(await fromKey(ana.page, "Enter", ".last-kept"));
      await ana.page.waitForFunction((before) => (document.querySelector(".verdict-strip") as HTMLElement | null)?.innerText !== before, count, { polling: "raf" });
      verdict.push(performance.now() - enter);
    }
    rows.push([`key to digit painted${slow}`, spread(digit)], [`Enter to "${words.measure.savedHere}"${slow}`, spread(saved)], [`Enter to the verdict with it${slow}`, spread(verdict)]);
    await ana.closeZero();
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
