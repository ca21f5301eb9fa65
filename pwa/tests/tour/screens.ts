// Every screen of the invented shop, in an order in which a visitor can see them: what is measured on the way changes the screens that come later.

import type { Locator, Page } from "playwright-core";
import { words } from "../../src/page/words.ts";

/** The belt-driven spindle at inspection, and the motor spindle whose parts are cleared. */
export const belt = "lf-4071", motor = "lf-4066";

export interface Screen {
  name: string;
  /** whose device shows it: the first part of the code that joins */ as: "ANA" | "CLEO" | "ELI" | "GUS";
  go: string;
  /** what stands there once the screen is complete */ shows: (page: Page) => Locator;
  /** what is done before that */ first?: (page: Page) => Promise<void>;
}

export const button = (page: Page, name: string | RegExp): Locator => page.getByRole("button", typeof name === "string" ? { name, exact: true } : { name });

async function type(page: Page, value: string): Promise<void> {
  await page.keyboard.type(value);
  await page.keyboard.press("Enter");
}

/** Types one reading after another, each once the one before it is saved here, and waits until the server has them all. */
async function read(page: Page, asked: string[], values: string[]): Promise<void> {
  for (const [i, value] of values.entries()) {
    await page.locator(".pad .asks", { hasText: asked[i]! }).waitFor();
    await type(page, value);
    await page.locator(".last-kept", { hasText: words.measure.savedHere }).filter({ hasText: asked[i]! }).waitFor();
  }
  await page.locator("header.status", { hasText: words.status.onServer }).waitFor();
}

const at = (plane: string, degrees: number): string => words.measure.stationName(plane, degrees * 1000, false);

async function setUpBore(page: Page): Promise<void> {
  await page.locator(".pickrow", { hasText: "bore gauge, two-point, 80" }).click();
  await page.locator(".pickrow", { hasText: "setting ring 100" }).click();
  await button(page, words.setup.notMeasured).click();
  await button(page, words.setup.soakedYes).click();
  await button(page, words.setup.beginZero).click();
}

async function setUpSweep(page: Page): Promise<void> {
  await page.locator(".pickrow", { hasText: "lever indicator" }).click();
  await button(page, words.setup.supports[1]).click();
  await page.getByLabel(words.setup.zeroRef).fill("drive slot");
  await button(page, words.setup.senses[0]).click();
  await button(page, words.setup.begin).click();
}

/** Opens a case of the inspector. */
async function open(page: Page, feature: string): Promise<void> {
  await page.locator(".case-row", { hasText: feature }).click();
  await page.locator("section.case").waitFor();
}

const bore = `#/job/${belt}/measure/B2/size`, nose = `#/job/${belt}/measure/N1/${encodeURIComponent("circular run-out")}`;
const heading = (name: string) => (page: Page): Locator => page.getByRole("heading", { name, exact: true });
const drawn = (page: Page): Locator => page.locator(".title-block");
const told = (text: string) => (page: Page): Locator => page.locator(".verdict-strip", { hasText: text });

/** The run-out that is read on the nose taper, in micrometres: 3.2 µm round a limit of 2 µm, its high spot at 90°. */
const noseReadings = ["0", "1.2", "1.6", "1.0", "-0.2", "-1.2", "-1.6", "-1.0"];

export const screens: Screen[] = [
  { name: "jobs", as: "CLEO", go: "#/jobs", shows: (page) => page.locator("a.job-card", { hasText: belt }) },
  { name: "spindle", as: "CLEO", go: `#/job/${belt}`, shows: drawn },
  { name: "spindle-motor", as: "CLEO", go: `#/job/${motor}`, shows: drawn },
  { name: "set-up", as: "ANA", go: bore, shows: heading(words.setup.title) },
  { name: "measuring", as: "ANA", go: bore, first: async (page) => {
    await setUpBore(page);
    await read(page, [words.measure.zeroBefore, at("1", 0), at("1", 60), at("1", 120)], ["0", "5", "6", "5.5"]);
  }, shows: told(words.ofStations(3, 6)) },
  { name: "slip", as: "ANA", go: bore, first: (page) => type(page, "999"), shows: (page) => page.getByRole("alertdialog", { name: words.slip.title }) },
  { name: "review", as: "CLEO", go: "#/review", shows: (page) => page.locator(".case-row", { hasText: "J2" }) },
  { name: "case", as: "CLEO", go: "#/review", first: (page) => open(page, "J2"), shows: (page) => page.locator("section.case .mend") },
  { name: "case-wedge", as: "CLEO", go: "#/review", first: (page) => open(page, "P1"), shows: (page) => page.locator("section.case .rounds svg") },
  { name: "steps", as: "CLEO", go: "#/review", first: async (page) => {
    await open(page, "J2");
    await page.locator("details.steps summary").click();
    await page.locator("details.steps .step").first().waitFor();
    await page.locator("details.steps").evaluate((e) => e.scrollIntoView());
  }, shows: (page) => page.locator("details.steps table").first() },
  { name: "decide", as: "CLEO", go: "#/review", first: async (page) => {
    await open(page, "J2");
    await button(page, words.review.decide).click();
  }, shows: (page) => page.locator("section.decide") },
  { name: "list", as: "CLEO", go: `#/job/${belt}/list`, shows: (page) => page.locator("table.lines") },
  { name: "which-part", as: "ELI", go: `#/job/${motor}/cleared`, shows: (page) => page.locator(".clear-pick .pickrow").first() },
  { name: "cleared", as: "ELI", go: `#/job/${motor}/cleared/shaft`, shows: heading(words.clear.CLEARED) },
  { name: "held", as: "ELI", go: `#/job/${belt}/cleared/spacer-out`, shows: heading(words.clear.HELD) },
  { name: "set-up-sweep", as: "ANA", go: nose, shows: heading(words.setup.title) },
  { name: "sweep", as: "ANA", go: nose, first: async (page) => {
    await setUpSweep(page);
    await read(page, noseReadings.map((_, i) => at("1", i * 45)), noseReadings);
  }, shows: told(words.ofStations(8, 8)) },
  { name: "case-runout", as: "CLEO", go: "#/review", first: async (page) => {
    await page.locator(".case-row", { hasText: "N1" }).filter({ hasText: words.outcome.fails }).waitFor(); // it comes from the other device
    await open(page, "N1");
  }, shows: (page) => page.locator("section.case .rounds svg") },
  { name: "shop", as: "GUS", go: "#/shop", shows: (page) => page.locator("table").first() },
  { name: "device", as: "GUS", go: "#/shop", first: (page) => heading(words.device.title)(page).evaluate((e) => e.closest(".card")!.scrollIntoView({ block: "end" })), shows: heading(words.device.title) },
];
