// Every screen of the invented shop at three sizes, light and dark, into pwa/pictures/; those that the README shows, into pwa/readme/.

import { mkdirSync, rmSync, statSync } from "node:fs";
import { join, resolve } from "node:path";
import { chromium, type Browser } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { browserOptions } from "../e2e/world.ts";
import { screens } from "../tour/screens.ts";
import { looks, walk } from "../tour/tour.ts";

const all = resolve(import.meta.dirname, "../../pictures");
const shown = resolve(import.meta.dirname, "../../readme");

/** Which picture of a screen the README shows: at which width, in light, and whether its upper or its lower part. */
const inReadme: Record<string, { width: number; part: "upper" | "lower" }> = {
  jobs: { width: 360, part: "upper" }, spindle: { width: 1440, part: "upper" }, measuring: { width: 360, part: "upper" }, case: { width: 1440, part: "upper" },
  decide: { width: 820, part: "lower" }, list: { width: 820, part: "upper" }, cleared: { width: 360, part: "upper" }, held: { width: 360, part: "upper" },
};
/** The height of such a part, in pixels, where the screen is higher. */
const PART = 760;
/** What a reader of the README has to fetch for one picture, at most, in bytes. */
const LARGEST = 150_000;

let browser: Browser;

beforeAll(async () => {
  rmSync(all, { recursive: true, force: true });
  for (const folder of [all, shown]) mkdirSync(folder, { recursive: true });
  browser = await chromium.launch(browserOptions);
});
afterAll(() => browser?.close());

for (const look of looks) {
  test(`${look.width} × ${look.height}, ${look.scheme}`, async () => {
    let taken = 0;
    await walk(browser, look, async (name, page) => {
      await page.screenshot({ path: join(all, `${name}-${look.width}-${look.scheme}.png`) });
      taken++;
      const wanted = inReadme[name];
      if (look.scheme !== "light" || wanted?.width !== look.width) return;
      const height = Math.min(look.height, PART);
      const path = join(shown, `${name}.png`);
      await page.screenshot({ path, clip: { x: 0, y: wanted.part === "upper" ? 0 : look.height - height, width: look.width, height } });
      expect(statSync(path).size, `${path}, bytes`).toBeLessThan(LARGEST);
    });
    expect(taken, "pictures of the screens and of joining").toBe(screens.length + 1);
  });
}
