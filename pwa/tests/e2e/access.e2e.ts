// Every screen of the invented shop under axe: nothing serious or critical may be wrong for those who use a screen reader or the keyboard alone.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { AxeResults } from "axe-core";
import { chromium, type Browser, type Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { screens } from "../tour/screens.ts";
import { looks, walk } from "../tour/tour.ts";
import { browserOptions } from "./world.ts";

const source = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
let browser: Browser;

beforeAll(async () => { browser = await chromium.launch(browserOptions); });
afterAll(() => browser?.close());

async function faults(name: string, page: Page): Promise<string[]> {
  await page.evaluate(source);
  const axe = await page.evaluate(() => (window as unknown as { axe: { run(): Promise<AxeResults> } }).axe.run());
  expect(axe.passes.length, `rules that applied to ${name} at all`).toBeGreaterThan(5);
  return axe.violations.filter((v) => v.impact === "serious" || v.impact === "critical").map((v) => `${name}: ${v.id}: ${v.help}: ${v.nodes.map((n) => n.target.join(" ")).join(", ")}`);
}

// The phone by day and the desk by night: between them every layout and every colour.
for (const look of looks.filter((l) => (l.width === 360 && l.scheme === "light") || (l.width === 1440 && l.scheme === "dark"))) {
  test(`${look.width} × ${look.height}, ${look.scheme}`, async () => {
    const found: string[] = [];
    let seen = 0;
    await walk(browser, look, async (name, page) => {
      seen++;
      found.push(...(await faults(name, page)));
    });
    expect(seen).toBe(screens.length + 1);
    expect(found).toEqual([]);
  });
}
