// How the page is built and tested. What makes it work offline is in build/offline.ts.

import { resolve } from "node:path";
import { defineConfig } from "vitest/config";
import { offline } from "./build/offline.ts";

const jsx = { runtime: "automatic", importSource: "preact" } as const;

export default defineConfig({
  appType: "spa",
  oxc: { jsx },
  plugins: [...offline(resolve(import.meta.dirname, "../build/engine"))],
  build: {
    outDir: "dist",
    emptyOutDir: false, // the plug-in empties it and keeps the note that lets Go embed an unbuilt folder
    target: "es2022",
    assetsInlineLimit: 0, // the page's policy allows no data: sources for scripts and styles
    modulePreload: { polyfill: false },
    reportCompressedSize: false,
  },
  worker: { format: "es", rolldownOptions: { output: { entryFileNames: "assets/worker-[hash].js" } } },
  server: { proxy: { "/api": "http://127.0.0.1:8377" } },
  test: {
    include: ["tests/**/*.test.{ts,tsx}", "src/**/*.test.{ts,tsx}"],
    environment: "node",
    testTimeout: 60_000, // a bound for a machine under load; no test waits for time to pass
    setupFiles: ["tests/setup.ts"],
  },
});
