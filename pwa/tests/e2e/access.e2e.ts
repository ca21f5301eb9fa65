// Every main screen of the invented shop under axe: nothing serious or critical may be wrong for those who use a screen reader or the keyboard alone.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { AxeResults } from "axe-core";
import { chromium, type Browser, type Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { words } from "../../src/page/words.ts";
import { Program } from "./program.ts";
import { browserOptions } from "./world.ts";

const source = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const program = new Program(["demo"]);
let browser: Browser;

beforeAll(async () => {
  await program.start(7);
  browser = await chromium.launch(browserOptions);
});
afterAll(async () => {
  await browser?.close();
  await program.stop();
});

async function faults(page: Page): Promise<string[]> {
  const axe = await page.evaluate(() => (window as unknown as { axe: { run(): Promise<AxeResults> } }).axe.run());
  expect(axe.passes.length, "rules that applied at all").toBeGreaterThan(5);
  return axe.violations.filter((v) => v.impact === "serious" || v.impact === "critical").map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.target.join(" ")).join(", ")}`);
}

for (const [scheme, width, height] of [["light", 360, 740], ["dark", 1440, 900]] as const) {
  test(`${width} × ${height}, ${scheme}`, async () => {
    const context = await browser.newContext({ viewport: { width, height }, colorScheme: scheme, locale: "en-GB", bypassCSP: true });
    context.setDefaultTimeout(20_000);
    await context.addInitScript({ content: source });
    const page = await context.newPage();
    await page.goto(`${program.address}/#enter=CLEO-DEMO`);
    await page.getByLabel(words.enter.device).fill("bench");
    expect(await faults(page), "joining").toEqual([]);
    await page.getByRole("button", { name: words.enter.join, exact: true }).click();
    await page.locator("a.job-card").first().waitFor();
    expect(await faults(page), "the jobs").toEqual([]);
    for (const [hash, seen] of [["#/job/lf-4071", ".title-block"], ["#/job/lf-4071/measure/B2/size", ".pickrow"], ["#/review", ".case-row"], ["#/job/lf-4071/list", "main table, main ul"], ["#/job/lf-4071/cleared", "main"],
      ["#/job/lf-4071/cleared/shaft", "main.answer"], ["#/shop", "main"]] as const) {
      await page.evaluate((h) => { location.hash = h; }, hash);
      await page.locator(seen).first().waitFor();
      expect(await faults(page), hash).toEqual([]);
    }
    await page.evaluate(() => { location.hash = "#/review"; });
    await page.locator(".case-row", { hasText: "J2" }).click();
    await page.locator("section.case").waitFor();
    expect(await faults(page), "a case").toEqual([]);
    await context.close();
  });
}
