// Pictures of every screen, and what the page costs in time: no tests, but run like them. See tests/pictures and tests/measure.

import { defineConfig } from "vitest/config";

export default defineConfig({
  test: { include: ["tests/pictures/**/*.pictures.ts", "tests/measure/**/*.measure.ts"], environment: "node", fileParallelism: false, testTimeout: 900_000, hookTimeout: 120_000 },
});
