// Tests in a real browser: Chromium at the path in the environment variable CHROMIUM, or /usr/bin/chromium. Those in tests/browser bring a stand-in
// server; those in tests/e2e run the real program, at the path in RUNTRUE, or ../build/runtrue.

import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["tests/browser/**/*.e2e.ts", "tests/e2e/**/*.e2e.ts"],
    environment: "node",
    fileParallelism: false, // a browser takes all of a small machine
    testTimeout: 120_000,
    hookTimeout: 120_000,
  },
});
