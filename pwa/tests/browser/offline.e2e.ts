import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, expect, test } from "vitest";
import type { DeviceBackend } from "../../src/backend/backend.ts";
import { buildPage, openBrowser, Shop } from "./shop.ts";

declare global {
  interface Window { backend: DeviceBackend; durabilities: Set<string> }
}

let first = "";
let second = "";
let shop: Shop;
let storage = "";
let address = "";
let complaints: string[] = [];
let context: BrowserContext | null = null;

beforeAll(async () => {
  first = await buildPage("first");
  second = await buildPage("second");
});

afterAll(() => {
  for (const dist of [first, second]) rmSync(dirname(dist), { recursive: true, force: true });
});

beforeEach(async () => {
  shop = new Shop(first);
  address = await shop.open();
  storage = mkdtempSync(join(tmpdir(), "runtrue-browser-"));
});

afterEach(async () => {
  await context?.close();
  context = null;
  await shop.close();
  rmSync(storage, { recursive: true, force: true });
  expect(complaints, "what the page complained of").toEqual([]);
});

async function browser(): Promise<Page> {
  const opened = await openBrowser(storage);
  context = opened.context;
  complaints = opened.complaints;
  return context.newPage();
}

const version = (page: Page): Promise<string | null> => page.textContent("#version");
const controlled = (page: Page): Promise<unknown> => page.waitForFunction(() => navigator.serviceWorker.controller !== null);
const ready = (page: Page): Promise<unknown> => page.waitForFunction(() => window.backend.sync.value.engineReady);

async function enter(page: Page): Promise<void> {
  await page.goto(address + "#enter=A%2DCODE");
  expect(await page.evaluate(() => window.backend.invitation.value)).toBe("A-CODE");
  expect(page.url()).toBe(address + "#/enter");
  await controlled(page);
  expect(await page.evaluate(async () => window.backend.enrol(window.backend.invitation.value, "bench tablet"))).toEqual({ ok: true });
  await ready(page);
}

async function save(page: Page, text: string, seen: string[] = []): Promise<string> {
  return page.evaluate(async ([value, heads]) => {
    const answer = await window.backend.save("job-1", "fact", { value }, heads as string[]);
    if (!answer.ok) throw new Error(answer.words);
    return answer.id;
  }, [text, seen] as const);
}

test("after one visit everything works without the network, from a cold start, and what was saved outlives the browser", async () => {
  let page = await browser();
  await enter(page);
  const id = await save(page, "before");
  await expect.poll(() => shop.api.all().map((a) => a.id), { timeout: 30_000 }).toEqual([id]);
  await page.waitForFunction(() => window.backend.sync.value.unsent === 0);
  await context!.close();

  shop.up = false;
  page = await browser();
  await page.goto(address);
  expect(await version(page)).toBe("first");
  await ready(page);
  await page.evaluate(() => window.backend.open("job-1"));
  const offline = await save(page, "offline", [id]);
  expect([...(await page.evaluate(() => [...window.durabilities]))]).toEqual(["strict"]);
  await page.waitForFunction(() => window.backend.sheet.value?.entries === 2);
  expect(await page.evaluate(() => window.backend.sync.value)).toMatchObject({ unsent: 1, online: false });
  await context!.close();

  shop.up = true;
  page = await browser();
  await page.goto(address);
  await page.waitForFunction(() => window.backend.sync.value.savedCount === 2 && window.backend.sync.value.unsent === 0);
  expect(shop.api.all().map((a) => a.id)).toEqual([id, offline]);
});

test("two tabs save at once, and each shows both", async () => {
  const a = await browser();
  await enter(a);
  const root = await save(a, "root");
  const b = await context!.newPage();
  await b.goto(address);
  await ready(b);
  await Promise.all([a, b].map((page) => page.evaluate(() => window.backend.open("job-1"))));
  const ids = await Promise.all([save(a, "from a", [root]), save(b, "from b", [root])]);
  for (const page of [a, b]) await page.waitForFunction(() => window.backend.sheet.value?.entries === 3);
  expect(await a.evaluate(() => window.backend.sheet.value!.heads)).toEqual([...ids].sort());
});

// When a browser lets a waiting service worker go on is its own affair and sometimes takes longer than any patience; vitest names what was tried again.
test("a new version waits, does not take over while something is typed in any tab, and then replaces the old one whole", { retry: 1 }, async () => {
  const page = await browser();
  await enter(page);
  const other = await context!.newPage();
  await other.goto(address);
  await other.evaluate(() => window.backend.typing(true));
  shop.dist = second;
  await page.evaluate(async () => (await navigator.serviceWorker.getRegistration())!.update());
  await page.waitForFunction(() => window.backend.sync.value.updateWaiting);
  await page.evaluate(() => window.backend.applyUpdate());
  await page.reload();
  expect(await version(page), "still the old one: another tab has something typed").toBe("first");
  await ready(page); // the browser lets a new worker go on only when the old one has answered everything that it was asked for
  await page.waitForFunction(() => window.backend.sync.value.updateWaiting);
  await other.evaluate(() => window.backend.typing(false));
  // Asked for until it is done, as a person would: the worker may still be waiting for a tab's answer to the first question.
  await expect.poll(async () => {
    await page.evaluate(() => window.backend.applyUpdate()).catch((cause: unknown) => { if (!/context was destroyed|navigation/i.test(String(cause))) throw cause; });
    return version(page);
  }, { timeout: 60_000, interval: 500 }).toBe("second");
  await other.waitForFunction(() => document.querySelector("#version")?.textContent === "second");
  expect((await page.evaluate(() => caches.keys())).length).toBe(1);
});

test("a version that cannot be fetched whole is not installed at all", async () => {
  const page = await browser();
  await enter(page);
  shop.dist = second;
  shop.instead.set("/wasm_exec.js", "icon.svg");
  const failed = await page.evaluate(async () => {
    const registration = (await navigator.serviceWorker.getRegistration())!;
    await registration.update();
    const fresh = registration.installing!;
    if (fresh.state === "redundant") return "redundant";
    return new Promise((done) => fresh.addEventListener("statechange", () => done(fresh.state)));
  });
  expect(failed).toBe("redundant");
  expect((await page.evaluate(() => caches.keys())).length).toBe(1);
  await page.reload();
  expect(await version(page)).toBe("first");
});

test("the worker of last resort takes the page off the device and leaves the entries", async () => {
  const page = await browser();
  await enter(page);
  await save(page, "kept");
  shop.instead.set("/sw.js", "sw-off.js");
  await page.evaluate(async () => (await navigator.serviceWorker.getRegistration())!.update());
  await page.waitForFunction(async () => (await caches.keys()).length === 0 && navigator.serviceWorker.controller === null); // the page loads itself anew
  await page.waitForFunction(() => window.backend.sync.value.savedCount === 1);
  expect(await page.evaluate(() => window.backend.jobs.value.map((j) => j.job))).toEqual(["job-1"]);
});
