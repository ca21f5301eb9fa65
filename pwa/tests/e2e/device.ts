// A phone in somebody's hand: the real page in Chromium, worked by touch and by a gauge that types, behind a line of its own that can be cut.

import { readFileSync } from "node:fs";
import type { BrowserContext, Locator, Page } from "playwright-core";
import { expect } from "vitest";
import { words } from "../../src/page/words.ts";
import { BOUNCE_MS } from "../../src/page/keypad/state.ts";
import type { Line } from "./program.ts";

/** How the page is opened: a phone held upright. */
export const phone = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true, deviceScaleFactor: 2, locale: "en-GB", acceptDownloads: true } as const;

export interface SetUp { gauge: string; master?: string; temperatures?: [part: string, master: string]; soaked?: boolean; open?: boolean }

export class Device {
  readonly complaints: string[] = [];
  private lastTouch = { key: "", at: Number.NEGATIVE_INFINITY };

  constructor(readonly name: string, public context: BrowserContext, public page: Page, readonly line: Line) {
    this.listen();
  }

  /** The same device with its browser started anew, where it stands on a blank page. */
  async startedAnew(context: BrowserContext): Promise<void> {
    this.context = context;
    this.page = context.pages()[0] ?? (await context.newPage());
    this.listen();
  }

  private listen(): void {
    this.page.on("pageerror", (error) => this.complaints.push(String(error)));
    this.page.on("console", (m) => {
      // Requests that fail while the line is cut are written to the console by the browser itself.
      if (m.type() === "error" && !/Failed to load resource|ERR_/.test(m.text())) this.complaints.push(m.text());
    });
  }

  // ---- joining, the network, going away and coming back ----

  /** Joins by a code, through the link that the program prints. */
  async join(code: string): Promise<void> {
    await this.page.goto(`${this.line.address}/#enter=${encodeURIComponent(code)}`);
    await this.page.getByLabel(words.enter.device).fill(this.name);
    await this.button(words.enter.join).tap();
    await this.page.getByRole("heading", { name: words.jobs.title }).waitFor();
    await this.page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  }

  /** No network: nothing passes the line, and the browser is told so. */
  async cut(): Promise<void> {
    this.line.cut();
    await this.context.setOffline(true);
  }

  async mend(): Promise<void> {
    this.line.mend();
    await this.context.setOffline(false);
  }

  /** Leaves the page and opens it anew from its address, as from the home screen. */
  async reopen(at = ""): Promise<void> {
    await this.page.close();
    this.page = await this.context.newPage();
    this.listen();
    await this.page.goto(`${this.line.address}/${at}`);
  }

  /** Waits until the status line says that everything here is on the server. */
  async allOnServer(): Promise<void> {
    await this.page.locator("header.status", { hasText: words.status.onServer }).waitFor();
  }

  async waiting(n: number): Promise<void> {
    await this.page.locator("header.status", { hasText: words.status.waiting(n) }).waitFor();
  }

  // ---- moving about ----

  async go(hash: string): Promise<void> {
    await this.page.evaluate((h) => { location.hash = h; }, hash);
  }

  /** Opens a job from the list of jobs. */
  async openJob(job: string): Promise<void> {
    await this.go("#/jobs");
    await this.page.locator(`a.job-card[href="#/job/${job}"]`).tap();
    await this.drawn(job);
  }

  async drawn(job: string): Promise<void> {
    await this.page.locator(".title-block", { hasText: job }).waitFor();
  }

  /** Touches a seat on the drawn spindle. */
  async touchSeat(job: string, feature: string): Promise<void> {
    await this.go(`#/job/${job}`);
    await this.page.locator(`a.balloon[aria-label^="${feature},"]`).tap();
  }

  async measuring(job: string, feature: string, characteristic: string): Promise<void> {
    await this.go(`#/job/${job}/measure/${encodeURIComponent(feature)}/${encodeURIComponent(characteristic)}`);
    await this.page.locator(".measure-head .tagname", { hasText: feature }).waitFor();
  }

  button(name: string | RegExp): Locator {
    return this.page.getByRole("button", typeof name === "string" ? { name, exact: true } : { name });
  }

  // ---- measuring ----

  /** Fills in the set-up sheet; goes on to the keypad unless `open` keeps it on the sheet. */
  async setUp(s: SetUp): Promise<void> {
    const sheet = this.page.getByRole("heading", { name: words.setup.title, exact: true }), anew = this.button(words.measure.setUpAgain);
    await sheet.or(anew).first().waitFor();
    if (await anew.isVisible()) await anew.tap();
    await sheet.waitFor();
    if ((await this.page.locator(".picklist .pickrow", { hasText: s.gauge }).count()) === 0) await this.button(/^All \d+ gauges$/).tap();
    await this.page.locator(".pickrow", { hasText: s.gauge }).tap();
    if (s.master) await this.page.locator(".pickrow", { hasText: s.master }).tap();
    if (s.temperatures) {
      await this.button(words.setup.measured).tap();
      await this.page.getByLabel(words.setup.partTemperature).fill(s.temperatures[0]);
      await this.page.getByLabel(words.setup.masterTemperature).fill(s.temperatures[1]);
    }
    if (s.soaked !== undefined) await this.button(s.soaked ? words.setup.soakedYes : words.setup.soakedNo).tap();
    if (s.open) return;
    await this.button(words.setup.beginZero).tap();
    await this.asks(words.measure.zeroBefore);
    await this.gauge("0");
  }

  /** Sets up as the scenarios have it: both temperatures 20 °C, soaked, zero read as 0. */
  async setUpAt20(gauge: string, master: string): Promise<void> {
    await this.setUp({ gauge, master, temperatures: ["20", "20"], soaked: true });
  }

  async setUpSweep(gauge: string): Promise<void> {
    await this.page.getByRole("heading", { name: words.setup.title, exact: true }).waitFor();
    await this.page.locator(".pickrow", { hasText: gauge }).tap();
    await this.button(words.setup.supports[0]).tap();
    await this.button(words.setup.senses[0]).tap();
    await this.button(words.setup.begin).tap();
  }

  /** Waits until the keypad asks for this. */
  async asks(what: string): Promise<void> {
    await this.page.locator(".pad .asks", { hasText: what }).waitFor();
  }

  private async asked(): Promise<string> {
    return (await this.page.locator(".pad .asks").innerText()).replace(/ · reading \d+ here$/, "");
  }

  /** Types by touch on the keypad, as it stands. */
  async keys(text: string): Promise<void> {
    for (const c of text) {
      const key = c === "-" || c === "+" ? words.pad.sign : c === "." ? words.pad.point : c;
      // The pad takes one key twice within a moment for a bounce of a glove: the finger comes back after it.
      if (key === this.lastTouch.key) await this.page.waitForFunction(([at, ms]) => performance.now() - at! > ms!, [this.lastTouch.at, BOUNCE_MS]);
      await this.page.locator(".pad").getByRole("button", { name: key, exact: true }).tap();
      this.lastTouch = { key, at: await this.page.evaluate(() => performance.now()) };
    }
  }

  /** Types by touch and enters; answers once the page says that it is saved here. */
  async touch(text: string): Promise<void> {
    const where = await this.asked();
    await this.keys(text);
    await this.button(words.pad.keep).tap();
    await this.savedHere(where);
  }

  /** A gauge that types its value and Enter; answers once the page says that it is saved here. */
  async gauge(text: string): Promise<void> {
    const where = await this.asked();
    for (const c of text) await this.page.keyboard.press(c);
    await this.page.keyboard.press("Enter");
    await this.savedHere(where);
  }

  /** As gauge; if the page asks whether the value is a slip, the answer is to keep it. */
  async insist(text: string): Promise<void> {
    const where = await this.asked();
    for (const c of text) await this.page.keyboard.press(c);
    await this.page.keyboard.press("Enter");
    const question = this.page.getByRole("alertdialog", { name: words.slip.title });
    await question.or(this.page.locator(".last-kept", { hasText: words.measure.savedHere }).filter({ hasText: where })).first().waitFor();
    if (await question.isVisible()) await question.getByRole("button", { name: words.slip.keep }).tap();
    await this.savedHere(where);
  }

  /** The page says that the value taken there is on the device. */
  async savedHere(where: string): Promise<void> {
    await this.page.locator(".last-kept", { hasText: words.measure.savedHere }).filter({ hasText: where }).waitFor();
  }

  async readings(...values: string[]): Promise<void> {
    for (const v of values) await this.gauge(v);
  }

  /** Chooses one of the stations from the list of all. */
  async station(name: string): Promise<void> {
    await this.page.locator("button.rings").tap();
    await this.page.getByRole("dialog").locator(".pickrow", { hasText: name }).tap();
    await this.asks(name);
  }

  /** Reads the master once more, which closes the set-up. */
  async closeZero(text = "0"): Promise<void> {
    if ((await this.button(words.measure.closeNow).count()) === 0) await this.page.locator("header.status a.back").tap();
    await this.button(words.measure.closeNow).tap();
    await this.asks(words.measure.zeroAfter);
    await this.gauge(text);
  }

  /** Sets comparator and ring A, B or C up, reads a seat's sizes from a station on (the first open one, if none is named), and closes the set-up. */
  async readSeat(job: string, feature: string, which: "A" | "B" | "C", values: string[], station?: string): Promise<void> {
    await this.measuring(job, feature, "size");
    await this.setUpAt20(`comparator ${which}`, `ring 70 ${which}`);
    if (station) await this.station(station);
    for (const v of values) await this.insist(v);
    await this.closeZero();
  }

  get verdict(): Locator { return this.page.locator(".verdict-strip"); }

  /** Waits until the verdict on the measuring screen says all of this. */
  async says(...texts: (string | RegExp)[]): Promise<void> {
    await this.allIn(this.verdict, texts);
  }

  // ---- deciding ----

  /** Opens a case on the inspector's screen. */
  async openCase(feature: string, characteristic = "size"): Promise<Locator> {
    await this.page.locator("nav.nav a.to-review").tap();
    const back = this.button(words.review.back);
    if (await back.isVisible()) await back.tap();
    await this.page.locator(".case-row", { hasText: feature }).filter({ hasText: `· ${characteristic}` }).tap();
    const panel = this.page.locator("section.case");
    await panel.waitFor();
    return panel;
  }

  /** Opens the decision on a part, from the drawing; the sheet is frozen from here. */
  async beginDecision(job: string, part: string): Promise<void> {
    await this.go(`#/job/${job}`);
    await this.button(words.spindle.actsOn(part)).tap();
    await this.button(words.spindle.decide).tap();
    await this.page.getByRole("heading", { name: words.decide.title(part) }).waitFor();
  }

  async endDecision(outcome: keyof typeof words.decide.outcomes, reason: string): Promise<void> {
    await this.button(words.decide.outcomes[outcome]).tap();
    await this.page.getByLabel(words.decide.reason).fill(reason);
    await this.button(/^Save (the decision|on what is shown)$/).tap();
    await this.page.locator("section.decide").waitFor({ state: "detached" });
  }

  async decide(job: string, part: string, outcome: keyof typeof words.decide.outcomes, reason = "looked at on the bench"): Promise<void> {
    await this.beginDecision(job, part);
    await this.endDecision(outcome, reason);
  }

  /** Strikes a reading of a case by the value that was typed. */
  async strike(panel: Locator, value: string, unit: string, reason: keyof typeof words.strike.reasons): Promise<void> {
    await panel.locator("details.why summary", { hasText: "Readings:" }).tap();
    await panel.getByRole("button", { name: words.review.strikeThis(value, unit) }).first().tap();
    await this.button(words.strike.reasons[reason]).tap();
    await this.button(words.strike.doIt).tap();
    await this.page.getByRole("dialog").waitFor({ state: "detached" });
  }

  // ---- what the screen says of a part ----

  /** Opens "Cleared?" for a part and waits for the word. */
  async cleared(job: string, part: string, ...texts: (string | RegExp)[]): Promise<void> {
    await this.stands(job, part, words.clear.CLEARED, texts);
  }

  async held(job: string, part: string, ...texts: (string | RegExp)[]): Promise<void> {
    await this.stands(job, part, words.clear.HELD, texts);
  }

  private async stands(job: string, part: string, word: string, texts: (string | RegExp)[]): Promise<void> {
    await this.go(`#/job/${job}/cleared/${encodeURIComponent(part)}`);
    await this.allIn(this.page.locator("main.answer").filter({ has: this.page.getByRole("heading", { name: word, exact: true }) }), texts, this.page.locator("main.answer"));
  }

  private async allIn(place: Locator, texts: (string | RegExp)[], shown = place): Promise<void> {
    let found = place;
    for (const t of texts) found = found.filter({ hasText: t });
    try {
      await found.first().waitFor();
    } catch {
      const there = await shown.first().innerText({ timeout: 1000 }).catch((cause: unknown) => `nothing: ${String(cause)}`);
      throw new Error(`${this.name}: expected ${texts.map(String).join(" and ")} in:\n${there}`);
    }
  }

  // ---- proof ----

  /** A file of the list, made on the device and handed over as a download. */
  async file(job: string, what: "CSV" | "JSON" | "job"): Promise<string> {
    await this.go(`#/job/${job}/list`);
    const [download] = await Promise.all([this.page.waitForEvent("download"), this.button(what === "job" ? words.list.jobFile : what).tap()]);
    return readFileSync(await download.path(), "utf8");
  }

  /** The whole sheet as the engine on this device writes it: its own bytes. The overlay is left empty, as the server has it. */
  async sheetBytes(job: string): Promise<string> {
    const worker = this.page.workers()[0];
    if (!worker) throw new Error(`${this.name} has no engine running`);
    return worker.evaluate((args) => (globalThis as unknown as { runtrueEngine: { call(m: string, a: string): string } }).runtrueEngine.call("sheet", args), JSON.stringify({ job, overlay: {} }));
  }

  /** The fingerprint and the number of entries that the drawing's title block shows. */
  async fingerprint(job: string): Promise<string> {
    await this.go(`#/job/${job}`);
    await this.drawn(job);
    return this.page.locator(".title-block div", { hasText: words.block.record }).locator("dd").innerText();
  }

  /** Waits until the title block shows this fingerprint. */
  async shows(job: string, fingerprint: string): Promise<void> {
    await this.go(`#/job/${job}`);
    await this.page.locator(".title-block dd", { hasText: fingerprint }).waitFor();
  }

  async close(): Promise<void> {
    await this.context.close();
    await this.line.close();
    expect(this.complaints, `what the page of ${this.name} complained of`).toEqual([]);
  }
}
