// A visitor who walks through the invented shop, with a device of its own for each of the people there.

import type { Browser, BrowserContext, Page } from "playwright-core";
import { words } from "../../src/page/words.ts";
import { Program } from "../e2e/program.ts";
import { belt, button, screens, type Screen } from "./screens.ts";

export interface Look { width: number; height: number; scheme: "light" | "dark" }

export const sizes = [[360, 740], [820, 1180], [1440, 900]] as const;
export const looks: Look[] = sizes.flatMap(([width, height]) => (["light", "dark"] as const).map((scheme) => ({ width, height, scheme })));

/** Phone and tablet are touched, a desk has a pointer. */
function context(browser: Browser, { width, height, scheme }: Look): Promise<BrowserContext> {
  const touch = width < 1100;
  return browser.newContext({ viewport: { width, height }, colorScheme: scheme, hasTouch: touch, isMobile: touch, deviceScaleFactor: 1, locale: "en-GB" });
}

/** Shows every screen of a shop that nobody has touched, complete and at rest, to `see`; the screen on which one joins comes first. */
export async function walk(browser: Browser, look: Look, see: (name: string, page: Page) => Promise<void>): Promise<void> {
  const program = new Program(["demo"]);
  await program.start(7);
  const pages = new Map<string, Page>();
  try {
    for (const s of screens) {
      let page = pages.get(s.as);
      if (!page) {
        const own = await context(browser, look);
        own.setDefaultTimeout(20_000);
        page = await own.newPage();
        pages.set(s.as, page);
        await join(page, program.address, s.as, pages.size === 1 ? see : null);
      }
      await show(page, s);
      await see(s.name, page);
    }
  } finally {
    for (const page of pages.values()) await page.context().close();
    await program.stop();
  }
}

async function join(page: Page, address: string, who: Screen["as"], see: ((name: string, page: Page) => Promise<void>) | null): Promise<void> {
  await page.goto(`${address}/#enter=${who}-DEMO`);
  await page.getByLabel(words.enter.device).fill("bench tablet");
  if (see) await see("enter", page);
  await button(page, words.enter.join).click();
  await page.locator("a.job-card", { hasText: belt }).waitFor();
}

async function show(page: Page, s: Screen): Promise<void> {
  const job = /^#\/job\/([^/]+)/.exec(s.go)?.[1] ?? belt;
  const screen = async (hash: string): Promise<void> => { await page.evaluate((h) => { location.hash = h; }, hash); };
  // Review and what hangs on it speak of the job that was open last. A screen is left, too, so that nothing of the one before stands open.
  if (!s.first || s.go === "#/review") {
    await screen(`#/job/${job}`);
    await page.locator(".title-block", { hasText: job }).waitFor();
  }
  await screen(s.go);
  await s.first?.(page);
  await s.shows(page).first().waitFor();
  await page.mouse.move(look(page).width - 1, look(page).height - 1); // a pointer that rests on something colours it
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
}

function look(page: Page): { width: number; height: number } {
  const size = page.viewportSize();
  if (!size) throw new Error("a page of the tour has no size of its own");
  return size;
}
