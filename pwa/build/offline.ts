// What turns a bundle into a page that starts without the network.
//
// After the bundle is written this plug-in
//   1. brings the engine (engine.wasm and the loader that belongs to the same Go release, wasm_exec.js) from ../build/engine, if it was built;
//   2. writes the icons;
//   3. lists every file with the SHA-256 of its bytes and builds the service worker around that list (sw.js), and the worker of last resort (sw-off.js);
//   4. puts a Brotli copy (.br) beside each file that compresses.
// The list's own hash names the version: one version is kept whole or not at all.

import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { extname, join, relative, resolve } from "node:path";
import { brotliCompressSync, constants } from "node:zlib";
import { build, type Plugin } from "vite";
import * as icons from "./icons.ts";

const keptNote = "README.txt";
const compressible = new Set([".html", ".js", ".css", ".wasm", ".svg", ".webmanifest"]);
const engineFiles = ["engine.wasm", "wasm_exec.js"];

export interface Precached {
  /** Path as it is asked for; the page itself is "/". */ url: string;
  /** SHA-256 of the bytes, 64 hex digits. */ sha256: string;
}

function filesUnder(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: "utf8" })
    .filter((name) => statSync(join(folder, name)).isFile())
    .map((name) => name.split("\\").join("/"))
    .sort();
}

/** The files of one version, in order of their names. */
export function precacheList(dist: string): Precached[] {
  return filesUnder(dist)
    .filter((name) => !name.endsWith(".br") && name !== keptNote && name !== "sw.js" && name !== "sw-off.js")
    .map((name) => ({
      url: name === "index.html" ? "/" : "/" + name,
      sha256: createHash("sha256").update(readFileSync(join(dist, name))).digest("hex"),
    }));
}

export function versionOf(list: Precached[]): string {
  return createHash("sha256").update(JSON.stringify(list)).digest("hex").slice(0, 16);
}

const workers = resolve(import.meta.dirname, "../src/sw");

async function buildServiceWorker(root: string, dist: string): Promise<string> {
  const list = precacheList(dist);
  const version = versionOf(list);
  for (const [entry, name] of [["main.ts", "sw"], ["off.ts", "sw-off"]] as const) {
    await build({
      configFile: false,
      root,
      logLevel: "warn",
      publicDir: false,
      define: { __VERSION__: JSON.stringify(version), __FILES__: JSON.stringify(list) },
      build: {
        outDir: dist,
        emptyOutDir: false,
        target: "es2022",
        // One classic script without imports: not every browser takes a service worker as a module.
        lib: { entry: resolve(workers, entry), formats: ["iife"], name: "runtrueServiceWorker", fileName: () => `${name}.js` },
      },
    });
  }
  return version;
}

function compress(dist: string): void {
  for (const name of filesUnder(dist)) {
    if (!compressible.has(extname(name))) continue;
    const bytes = readFileSync(join(dist, name));
    const packed = brotliCompressSync(bytes, {
      params: { [constants.BROTLI_PARAM_MODE]: name.endsWith(".wasm") ? constants.BROTLI_MODE_GENERIC : constants.BROTLI_MODE_TEXT, [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_LGWIN]: 24, [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length },
    });
    writeFileSync(join(dist, name + ".br"), packed);
  }
}

/** Sizes in kB, Brotli, of what a person waits for (page, style, script), and of the engine with its worker, which come after the first paint. */
function sizes(dist: string): string {
  let page = 0;
  let engine = 0;
  for (const name of filesUnder(dist)) {
    if (!/\.(html|css|js|wasm)\.br$/.test(name) || name.startsWith("sw")) continue;
    const size = statSync(join(dist, name)).size;
    if (engineFiles.includes(name.slice(0, -3)) || name.startsWith("assets/worker-")) engine += size;
    else page += size;
  }
  return `page ${(page / 1000).toFixed(1)} kB, engine and worker ${(engine / 1000).toFixed(1)} kB (Brotli)`;
}

/** The plug-ins for building and for developing. @param engineDir where the engine was built, absolute */
export function offline(engineDir: string): Plugin[] {
  return [forBuilding(engineDir), forDeveloping(engineDir)];
}

function forDeveloping(engineDir: string): Plugin {
  return {
    name: "runtrue:engine",
    apply: "serve",
    configureServer(server) {
      server.middlewares.use((request, response, next) => {
        const name = (request.url ?? "").split("?")[0]!.slice(1);
        const file = join(engineDir, name);
        if (!engineFiles.includes(name) || !existsSync(file)) return next();
        response.setHeader("Content-Type", name.endsWith(".wasm") ? "application/wasm" : "text/javascript");
        response.end(readFileSync(file));
      });
    },
  };
}

function forBuilding(engineDir: string): Plugin {
  let root = "";
  let dist = "";
  return {
    name: "runtrue:offline",
    apply: "build",
    configResolved(config) {
      root = config.root;
      dist = resolve(root, config.build.outDir);
    },
    buildStart() {
      if (this.meta.watchMode) return;
      mkdirSync(dist, { recursive: true });
      for (const name of readdirSync(dist)) if (name !== keptNote) rmSync(join(dist, name), { recursive: true });
    },
    async closeBundle(error) {
      if (error || this.meta.watchMode) return;
      for (const name of engineFiles) {
        const from = join(engineDir, name);
        if (existsSync(from)) writeFileSync(join(dist, name), readFileSync(from));
        else this.warn(`${relative(root, from)} is missing: the page is built without its engine and can only show what it has stored`);
      }
      writeFileSync(join(dist, "icon.svg"), icons.svg());
      writeFileSync(join(dist, "icon-192.png"), icons.png(192));
      writeFileSync(join(dist, "icon-512.png"), icons.png(512));
      writeFileSync(join(dist, "icon-maskable-512.png"), icons.png(512, true));
      const version = await buildServiceWorker(root, dist);
      compress(dist);
      this.info(`version ${version}: ${sizes(dist)}`);
    },
  };
}
