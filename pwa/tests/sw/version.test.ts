import { createHash } from "node:crypto";
import { mkdtempSync, mkdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { precacheList, versionOf } from "../../build/offline.ts";
import { png, svg } from "../../build/icons.ts";
import { answersReady, pageFor, sha256Hex, wholeVersion } from "../../src/sw/version.ts";

const urls = new Set(["/", "/engine.wasm", "/assets/index-1.js"]);

test.each([
  ["/", true, "/"],
  ["/index.html", true, "/"],
  ["/job/12", true, "/"],
  ["/engine.wasm", false, "/engine.wasm"],
  ["/assets/index-1.js", false, "/assets/index-1.js"],
  ["/assets/index-0.js", false, null],
  ["/api/v1/pull", false, null],
  ["/api/v1/jobs/a/list.html", true, null],
  ["/api", true, null],
  ["/healthz", true, null],
])("a request for %s (navigation: %s) is answered by %s", (path, navigation, expected) => {
  expect(pageFor(path, navigation, urls)).toBe(expected);
});

const hash = (text: string): string => createHash("sha256").update(text).digest("hex");
const files = [{ url: "/", sha256: hash("page") }, { url: "/a.js", sha256: hash("script") }];
const answers = (texts: Record<string, string | number>) => async (url: string): Promise<Response> => {
  const answer = texts[url];
  return typeof answer === "string" ? new Response(answer, { headers: { "Content-Type": "text/plain", "Content-Security-Policy": "default-src 'self'", "Content-Encoding": "br" } }) : new Response("", { status: answer ?? 404 });
};

describe("a version", () => {
  test("is taken whole, with what the browser needs of its headers", async () => {
    const got = await wholeVersion(files, answers({ "/": "page", "/a.js": "script" }), sha256Hex);
    expect(got.map((f) => f.url)).toEqual(["/", "/a.js"]);
    expect(got[0]!.response.headers.get("Content-Security-Policy")).toBe("default-src 'self'");
    expect(got[0]!.response.headers.get("Content-Encoding")).toBe(null);
    expect(await got[1]!.response.text()).toBe("script");
  });
  test("or not at all: a file of another version", async () => {
    await expect(wholeVersion(files, answers({ "/": "page", "/a.js": "newer script" }), sha256Hex)).rejects.toThrow("/a.js");
  });
  test("or not at all: a file that is missing", async () => {
    await expect(wholeVersion(files, answers({ "/": "page" }), sha256Hex)).rejects.toThrow("404");
  });
});

describe("taking over", () => {
  const says = (answer: unknown) => (port: MessagePort): void => port.postMessage(answer);
  const never = (): Promise<void> => new Promise(() => undefined);
  test("when every page says that nothing is unsaved", async () => {
    expect(await answersReady([says(true), says(true)], never)).toBe(true);
    expect(await answersReady([], never)).toBe(true);
  });
  test("not when one has something, says something else, or does not answer", async () => {
    expect(await answersReady([says(true), says(false)], never)).toBe(false);
    expect(await answersReady([says("yes")], never)).toBe(false);
    expect(await answersReady([says(true), () => undefined], () => Promise.resolve())).toBe(false);
  });
});

test("the list of a version holds every file but the copies, the note and the workers, and its hash follows each byte", () => {
  const dist = mkdtempSync(join(tmpdir(), "dist-"));
  mkdirSync(join(dist, "assets"));
  for (const name of ["index.html", "index.html.br", "README.txt", "sw.js", "sw-off.js", "engine.wasm", "assets/index-1.js"]) writeFileSync(join(dist, name), name);
  const list = precacheList(dist);
  expect(list.map((f) => f.url)).toEqual(["/assets/index-1.js", "/engine.wasm", "/"]);
  expect(list[2]!.sha256).toBe(hash("index.html"));
  const before = versionOf(list);
  writeFileSync(join(dist, "engine.wasm"), "other");
  expect(versionOf(precacheList(dist))).not.toBe(before);
  rmSync(dist, { recursive: true });
});

test("the icons are pictures of the size they claim", () => {
  for (const size of [192, 512]) {
    const bytes = png(size);
    expect([...bytes.slice(0, 8)]).toEqual([137, 80, 78, 71, 13, 10, 26, 10]);
    const view = new DataView(bytes.buffer, bytes.byteOffset);
    expect([view.getUint32(16), view.getUint32(20)]).toEqual([size, size]);
  }
  expect(svg()).toMatch(/^<svg [^>]*viewBox="0 0 100 100">/);
});
