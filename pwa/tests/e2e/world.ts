// A shop for one file of tests: the program on an empty store, the office's desk, and as many phones as there are people.

import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium, type Browser, type BrowserContext, type LaunchOptions } from "playwright-core";
import { expect } from "vitest";
import { jobEntries, people, shopEntries, type PersonID } from "./bench.ts";
import { Desk } from "./desk.ts";
import { Device, phone } from "./device.ts";
import { Line, Program } from "./program.ts";

export const browserOptions: LaunchOptions = {
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", headless: true,
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
};

/** Starts a browser on a storage folder again. */
export async function browserOn(folder: string): Promise<BrowserContext> {
  const context = await chromium.launchPersistentContext(folder, { ...browserOptions, ...phone });
  context.setDefaultTimeout(15_000);
  return context;
}

/** Kills every process of the browser that works on this folder, as a flat battery does: nothing is told, nothing is flushed. */
export async function killBrowserOn(folder: string, context: BrowserContext): Promise<void> {
  const gone = new Promise<void>((done) => context.once("close", () => done()));
  let killed = 0;
  for (const pid of readdirSync("/proc").filter((name) => /^\d+$/.test(name))) {
    try {
      if (!readFileSync(`/proc/${pid}/cmdline`, "utf8").split("\0").includes(`--user-data-dir=${folder}`)) continue;
      process.kill(Number(pid), "SIGKILL");
      killed++;
    } catch (cause) {
      if (!["ENOENT", "ESRCH"].includes((cause as NodeJS.ErrnoException).code ?? "")) throw cause; // it ended by itself meanwhile
    }
  }
  if (killed === 0) throw new Error(`no browser works on ${folder}`);
  await gone;
}

export class World {
  readonly devices: Device[] = [];
  browser: Browser | null = null;

  private constructor(readonly folder: string, readonly program: Program, readonly desk: Desk) {}

  static async begin(): Promise<World> {
    const folder = mkdtempSync(join(tmpdir(), "runtrue-e2e-"));
    const program = new Program(["serve", "--data", join(folder, "data"), "--admin", "gus"]);
    await program.start(1);
    const desk = await Desk.enter(() => program.address, program.codes[0]!);
    await desk.write("shop", "admin", ...shopEntries(Date.now()));
    await desk.learnRoles();
    return new World(folder, program, desk);
  }

  /** A job with its parts and specifications, on the server. */
  async job(name: string, ...specs: Record<string, unknown>[]): Promise<string> {
    const { facts, parts, specs: written } = jobEntries(specs);
    await this.desk.write(name, "office", ...facts);
    await this.desk.write(name, "technician", ...parts);
    await this.desk.write(name, "inspector", ...written);
    return name;
  }

  /** A phone on which this person has joined. */
  async device(person: PersonID, init?: () => void): Promise<Device> {
    this.browser ??= await chromium.launch(browserOptions);
    return this.joined(person, await this.browser.newContext(phone), init);
  }

  /** A phone with a browser and a storage folder of its own, which outlives the browser. */
  async phoneOn(folder: string, person: PersonID): Promise<Device> {
    return this.joined(person, await chromium.launchPersistentContext(folder, { ...browserOptions, ...phone }));
  }

  /** The same phone twice, as a backup restored onto a second one gives it: same storage, same address, same person and device. */
  async cloned(of: Device, folder: string, init: () => void): Promise<Device> {
    const context = await browserOn(folder);
    await context.addInitScript(init);
    const device = new Device(`clone of the ${of.name}`, context, context.pages()[0] ?? (await context.newPage()), of.line);
    this.devices.push(device);
    return device;
  }

  private async joined(person: PersonID, context: BrowserContext, init?: () => void): Promise<Device> {
    const line = new Line(() => this.program.port);
    await line.open();
    context.setDefaultTimeout(15_000);
    if (init) await context.addInitScript(init);
    const name = people.find((p) => p.id === person)!.name;
    const device = new Device(`phone of ${name}`, context, context.pages()[0] ?? (await context.newPage()), line);
    this.devices.push(device);
    await device.join(await this.desk.codeFor(person));
    return device;
  }

  /**
   * Waits until all these devices show the fingerprint of what the server holds of the job, then compares to the byte: the sheet as each device's own
   * engine writes it, and list and job file as each page hands them over, with those of the server. Answers the sheet's bytes.
   */
  async sameEverywhere(job: string, devices: Device[]): Promise<string> {
    const sheet = this.desk.engine;
    sheet.call("load", { job, entries: await this.desk.bytes(job) });
    const bytes = sheet.raw("sheet", { job, overlay: {} });
    const { ok } = JSON.parse(bytes) as { ok: { digest: string } };
    const [list, csv, file] = [await this.desk.file(job, "list.json"), await this.desk.file(job, "list.csv"), await this.desk.file(job, "job.json")];
    for (const d of devices) {
      await d.shows(job, ok.digest.slice(0, 8));
      expect(await d.sheetBytes(job), `the sheet on the ${d.name} and on the server`).toBe(bytes);
      expect(await d.file(job, "JSON"), `list.json of the ${d.name}`).toBe(list);
      expect(await d.file(job, "CSV"), `list.csv of the ${d.name}`).toBe(csv);
      expect(await d.file(job, "job"), `job file of the ${d.name}`).toBe(file);
    }
    return bytes;
  }

  async end(): Promise<void> {
    try {
      for (const d of this.devices) await d.close();
    } finally {
      await this.browser?.close();
      await this.program.stop();
      rmSync(this.folder, { recursive: true, force: true });
    }
  }
}
