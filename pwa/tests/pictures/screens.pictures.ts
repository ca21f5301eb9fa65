// Every screen of the invented shop at three sizes, light and dark, into pwa/pictures/; those that the README shows, into pwa/readme/.

import { mkdirSync, rmSync } from "node:fs";
import { join, resolve } from "node:path";
import { chromium, type Browser, type Page } from "playwright-core";
import { afterAll, beforeAll, test } from "vitest";
import { words } from "../../src/page/words.ts";
import { Program } from "../e2e/program.ts";
import { browserOptions } from "../e2e/world.ts";

const all = resolve(import.meta.dirname, "../../pictures");
const shown = resolve(import.meta.dirname, "../../readme");
const sizes = [[360, 740], [820, 1180], [1440, 900]] as const;
const schemes = ["light", "dark"] as const;
const job = "lf-4071", motor = "lf-4066";

/** Which picture of a screen the README shows: the width, in light. */
const inReadme: Record<string, number> = { jobs: 360, spindle: 1440, measuring: 360, case: 1440, decide: 820, list: 820, cleared: 360, held: 360 };

let browser: Browser;

beforeAll(async () => {
  rmSync(all, { recursive: true, force: true });
  for (const folder of [all, shown]) mkdirSync(folder, { recursive: true });
  browser = await chromium.launch(browserOptions);
});
afterAll(() => browser?.close());

interface Screen { name: string; as: string; go: string; then?: (page: Page) => Promise<void> }

const button = (page: Page, name: string | RegExp) => page.getByRole("button", typeof name === "string" ? { name, exact: true } : { name });

const screens: Screen[] = [
  { name: "jobs", as: "CLEO", go: "#/jobs" },
  { name: "spindle", as: "CLEO", go: `#/job/${job}` },
  { name: "spindle-motor", as: "CLEO", go: `#/job/${motor}` },
  { name: "set-up", as: "ANA", go: `#/job/${job}/measure/B2/size` },
  {
    name: "measuring", as: "ANA", go: `#/job/${job}/measure/B2/size`,
    then: async (page) => {
      const go = page.locator("button.continue").first();
      await page.getByRole("heading", { name: words.setup.title, exact: true }).or(go).first().waitFor();
      if (await go.isVisible()) await go.click();
      else {
        await page.locator(".pickrow", { hasText: "bore gauge, two-point, 80" }).click();
        await page.locator(".pickrow", { hasText: "setting ring 100" }).click();
        await button(page, words.setup.notMeasured).click();
        await button(page, words.setup.soakedYes).click();
        await button(page, words.setup.beginZero).click();
        await page.locator(".pad .asks", { hasText: words.measure.zeroBefore }).waitFor();
        for (const value of ["0", "5", "6", "5.5"]) {
          await page.keyboard.type(value);
          await page.keyboard.press("Enter");
          await page.locator(".last-kept", { hasText: value }).waitFor();
        }
      }
      await page.locator(".pad").waitFor();
    },
  },
  { name: "slip", as: "ANA", go: `#/job/${job}/measure/B2/size`, then: async (page) => {
    await page.locator(".pad .asks").waitFor(); // the set-up is still in hand
    await page.keyboard.type("999");
    await page.keyboard.press("Enter");
    await page.getByRole("alertdialog").waitFor();
  } },
  { name: "out", as: "CLEO", go: "#/review" },
  { name: "case", as: "CLEO", go: "#/review", then: async (page) => { await page.locator(".case-row", { hasText: "J2" }).click(); await page.locator("section.case").waitFor(); } },
  { name: "case-wedge", as: "CLEO", go: "#/review", then: async (page) => { await page.locator(".case-row", { hasText: "P1" }).click(); await page.locator("section.case").waitFor(); } },
  { name: "steps", as: "CLEO", go: "#/review", then: async (page) => {
    await page.locator(".case-row", { hasText: "J2" }).click();
    await page.locator("details.steps summary").click();
    await page.locator("details.steps .step").first().waitFor();
    await page.locator("details.steps").evaluate((e) => e.scrollIntoView());
  } },
  { name: "decide", as: "CLEO", go: "#/review", then: async (page) => { await page.locator(".case-row", { hasText: "J2" }).click(); await button(page, words.review.decide).click(); await page.locator("section.decide").waitFor(); } },
  { name: "list", as: "CLEO", go: `#/job/${job}/list` },
  { name: "which-part", as: "ELI", go: `#/job/${motor}/cleared` },
  { name: "cleared", as: "ELI", go: `#/job/${motor}/cleared/shaft` },
  { name: "held", as: "ELI", go: `#/job/${job}/cleared/spacer-out` },
  { name: "shop", as: "GUS", go: "#/shop" },
];

for (const [width, height] of sizes) {
  for (const scheme of schemes) {
    test(`${width} × ${height}, ${scheme}`, async () => {
      const program = new Program(["demo"]); // a shop of its own, as nobody has touched it
      await program.start(7);
      const pages = new Map<string, Page>();
      for (const s of screens) {
        let page = pages.get(s.as);
        if (!page) {
          const context = await browser.newContext({ viewport: { width, height }, colorScheme: scheme, deviceScaleFactor: 1, locale: "en-GB" });
          context.setDefaultTimeout(20_000);
          page = await context.newPage();
          pages.set(s.as, page);
          await page.goto(`${program.address}/#enter=${s.as}-DEMO`);
          await page.getByLabel(words.enter.device).fill(`bench ${width}`);
          if (s.as === "CLEO") await page.screenshot({ path: join(all, `enter-${width}-${scheme}.png`) });
          await button(page, words.enter.join).click();
          await page.locator("a.job-card", { hasText: job }).waitFor();
          await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}`);
          await page.locator(".title-block", { hasText: job }).waitFor();
        }
        await page.evaluate((hash) => { location.hash = hash; }, `#/job/${s.go.includes(motor) ? motor : job}`);
        await page.locator(".title-block", { hasText: s.go.includes(motor) ? motor : job }).waitFor();
        await page.evaluate((hash) => { location.hash = hash; }, s.go);
        if (s.then) await s.then(page);
        await page.locator("main").first().waitFor();
        await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
        await page.screenshot({ path: join(all, `${s.name}-${width}-${scheme}.png`) });
        if (scheme === "light" && inReadme[s.name] === width) await page.screenshot({ path: join(shown, `${s.name}.png`), clip: { x: 0, y: 0, width, height: Math.min(height, 800) } });
      }
      for (const page of pages.values()) await page.context().close();
      await program.stop();
    });
  }
}
