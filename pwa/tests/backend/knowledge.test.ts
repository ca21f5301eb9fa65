import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { age, offset, overlay, usualFreshLimit } from "../../src/backend/knowledge.ts";

const at = Date.UTC(2026, 10, 25, 8);
const note = { off_ms: 1200, server_ms: at + 1200, wall_ms: at, highest_wall_ms: at };

describe("the age of knowledge", () => {
  test("is what elapsed since the server's last answer", () => {
    expect(age(note, { wall_ms: at + 60_000, elapsed_ms: null })).toBe(60_000);
    expect(age(note, { wall_ms: at + 60_000, elapsed_ms: 60_000 })).toBe(60_000);
  });
  test("is whole milliseconds, rounded up, as the engine takes them", () => {
    expect(age(note, { wall_ms: at + 5_601, elapsed_ms: 5_601.199 })).toBe(5_602);
  });
  test("counts sleep, during which only the wall clock runs", () => {
    expect(age(note, { wall_ms: at + 3_600_000, elapsed_ms: 10_000 })).toBe(3_600_000);
  });
  test("cannot be told without any answer, or once the clock was set back", () => {
    expect(age(undefined, { wall_ms: at, elapsed_ms: null })).toBe(-1);
    expect(age(note, { wall_ms: at - 60_000, elapsed_ms: null })).toBe(-1);
    expect(age({ ...note, highest_wall_ms: at + 7_200_000 }, { wall_ms: at + 3_600_000, elapsed_ms: null })).toBe(-1);
    expect(age(note, { wall_ms: at + 60_000, elapsed_ms: 3_600_000 })).toBe(-1);
  });
  test("is never younger than the truth while the page lives, whatever the clock is set to", () => {
    fc.assert(fc.property(fc.integer({ min: 0, max: 10 * 3_600_000 }), fc.integer({ min: -400 * 86_400_000, max: 400 * 86_400_000 }), (elapsed, jump) => {
      const told = age(note, { wall_ms: at + elapsed + jump, elapsed_ms: elapsed });
      expect(told === -1 || told >= elapsed - 5_000, `elapsed ${elapsed} ms, clock moved by ${jump} ms, told ${told} ms`).toBe(true);
    }));
  });
});

test("the offset of the clock goes with an entry only as long as the clock was not set back", () => {
  expect(offset(note, { wall_ms: at + 1, elapsed_ms: 1 })).toBe(1200);
  expect(offset(note, { wall_ms: at - 86_400_000, elapsed_ms: 1 })).toBe(null);
  expect(offset(undefined, { wall_ms: at, elapsed_ms: null })).toBe(null);
});

test("the shop's own limit counts, a senseless one does not", () => {
  const reading = { wall_ms: at, elapsed_ms: 0 };
  expect(overlay(note, reading, {}).fresh_limit_ms).toBe(usualFreshLimit);
  expect(overlay(note, reading, { fresh_limit_ms: "3600000" }).fresh_limit_ms).toBe(3_600_000);
  expect(overlay(note, reading, { fresh_limit_ms: "soon" }).fresh_limit_ms).toBe(usualFreshLimit);
  expect(overlay(note, reading, { fresh_limit_ms: "-1" }).fresh_limit_ms).toBe(usualFreshLimit);
});
