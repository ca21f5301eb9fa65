// A shop for tests in a real browser: a built page, a server that can be switched off or replaced, and browsers that can be killed.

import { cpSync, mkdirSync, mkdtempSync, readFileSync, existsSync, writeFileSync } from "node:fs";
import { createServer, type Server } from "node:http";
import { tmpdir } from "node:os";
import { extname, join, resolve } from "node:path";
import { chromium, type BrowserContext, type Page } from "playwright-core";
import { build } from "vite";
import { offline } from "../../build/offline.ts";
import { FakeServer } from "../fakes/server.ts";

const types: Record<string, string> = {
  ".html": "text/html; charset=utf-8", ".js": "text/javascript", ".css": "text/css", ".wasm": "application/wasm", ".svg": "image/svg+xml",
  ".png": "image/png", ".webmanifest": "application/manifest+json", ".txt": "text/plain",
};
const policy = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'; img-src 'self' blob: data:; worker-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/** Builds the backend's test page with the stand-in engine; the version shows in the page. Answers the folder. */
export async function buildPage(version: string): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), "runtrue-page-"));
  const root = join(folder, "source");
  const engine = join(folder, "engine");
  mkdirSync(engine);
  cpSync(resolve(import.meta.dirname, "page"), root, { recursive: true });
  const html = join(root, "index.html");
  writeFileSync(html, readFileSync(html, "utf8").replace("__PAGE_VERSION__", version));
  const main = join(root, "main.ts");
  writeFileSync(main, readFileSync(main, "utf8").replace("../../../src", resolve(import.meta.dirname, "../../src")));
  writeFileSync(join(engine, "engine.wasm"), Uint8Array.of(0, 0x61, 0x73, 0x6d, 1, 0, 0, 0)); // the smallest module there is
  cpSync(resolve(import.meta.dirname, "engine-loader.js"), join(engine, "wasm_exec.js"));
  const dist = join(folder, "dist");
  process.env.NODE_ENV = "production"; // the test runner set it to "test", and the bundler goes by it
  await build({
    configFile: false, root, logLevel: "error", plugins: [...offline(engine)], worker: { format: "es" },
    build: { outDir: dist, emptyOutDir: false, target: "es2022", assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  });
  return dist;
}

export class Shop {
  readonly api = new FakeServer("shop-1", () => Date.now());
  dist: string;
  /** the network is there */ up = true;
  /** answered in place of a file, by path */ readonly instead = new Map<string, string>();
  port = 0;
  private readonly server: Server;

  constructor(dist: string) {
    this.dist = dist;
    this.server = createServer((request, response) => {
      if (!this.up) {
        request.socket.destroy();
        return;
      }
      const body: Buffer[] = [];
      request.on("data", (piece: Buffer) => body.push(piece));
      request.on("end", () => {
        void this.answer(request.method ?? "GET", request.url ?? "/", request.headers.authorization, Buffer.concat(body)).then(async (answer) => {
          response.writeHead(answer.status, Object.fromEntries(answer.headers));
          response.end(Buffer.from(await answer.arrayBuffer()));
        }, (cause: unknown) => {
          response.writeHead(500);
          response.end(String(cause));
        });
      });
    });
  }

  async open(): Promise<string> {
    await new Promise<void>((done) => this.server.listen(this.port, "127.0.0.1", done));
    this.port = (this.server.address() as { port: number }).port;
    return `http://127.0.0.1:${this.port}/`;
  }

  async close(): Promise<void> {
    this.server.closeAllConnections();
    await new Promise<void>((done, failed) => this.server.close((cause) => (cause ? failed(cause) : done())));
  }

  private async answer(method: string, url: string, authorization: string | undefined, body: Buffer): Promise<Response> {
    const path = url.split("?")[0]!;
    if (path === "/api/v1/enrol") {
      return Response.json({
        server: this.api.id, device: "tablet-1", person: "ana", name: "Ana", roles: [{ role: "technician", grant: "" }],
        access: this.api.access, refresh: this.api.refresh, access_expires_ms: Date.now() + 900_000, time_ms: Date.now(),
      });
    }
    if (path.startsWith("/api/")) {
      return this.api.fetch(url, { method, headers: authorization ? { Authorization: authorization } : {}, body: method === "POST" ? body.toString("utf8") : undefined });
    }
    const other = this.instead.get(path);
    const file = join(this.dist, other ?? (path === "/" ? "index.html" : path));
    if (!existsSync(file)) return new Response("no such file", { status: 404 });
    return new Response(readFileSync(file), {
      headers: { "Content-Type": types[extname(file)] ?? "application/octet-stream", "Cache-Control": "no-cache", "Content-Security-Policy": policy, "X-Content-Type-Options": "nosniff" },
    });
  }
}

/** A browser with a storage of its own, which outlives it. What the page complains of is collected. */
export async function openBrowser(storage: string): Promise<{ context: BrowserContext; complaints: string[] }> {
  const context = await chromium.launchPersistentContext(storage, {
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", headless: true, args: ["--no-sandbox", "--disable-gpu"],
  });
  const complaints: string[] = [];
  await context.addInitScript(() => {
    document.addEventListener("securitypolicyviolation", (event) => console.error(`policy: ${event.violatedDirective} ${event.blockedURI}`));
    const transaction = IDBDatabase.prototype.transaction;
    const kinds = new Set<string>();
    Object.assign(window, { durabilities: kinds });
    IDBDatabase.prototype.transaction = function (stores, mode, options) {
      const tx = transaction.call(this, stores, mode, options);
      if (mode === "readwrite") kinds.add(tx.durability);
      return tx;
    };
  });
  context.on("page", (page) => listen(page, complaints));
  context.pages().forEach((page) => listen(page, complaints));
  return { context, complaints };
}

function listen(page: Page, complaints: string[]): void {
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("console", (message) => {
    // Requests that fail while the network is off are written to the console by the browser itself.
    if (message.type() === "error" && !/Failed to load resource|ERR_/.test(message.text())) complaints.push(message.text());
  });
}
