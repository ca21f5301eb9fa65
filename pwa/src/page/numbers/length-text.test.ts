import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { angleText, decimalsFor, digits, lengthText, limitsText, MINUS, PM_PER, probabilityText, quantityNumber, quantityText } from "./length-text";
import type { LengthUnit } from "./length-text";
import { deviationPm } from "./typed-length";

const um = (v: number): number => Math.round(v * 1_000_000);

describe("decimals", () => {
  it("show every step of the gauge and nothing finer", () => {
    // resolution in pm, unit, decimals
    const rows: [number, LengthUnit, number][] = [
      [um(0.1), "µm", 1], [um(0.5), "µm", 1], [um(1), "µm", 0], [um(0.05), "µm", 2], [um(2), "µm", 0], [um(0.1), "mm", 4],
      [2_540_000, "tenth", 0], [1_270_000, "tenth", 1], [254_000, "tenth", 1], [um(0.1), "tenth", 1], [um(1), "tenth", 0], [254_000, "in", 5], [0, "µm", 1],
    ];
    for (const [resolution, unit, decimals] of rows) expect(decimalsFor(resolution, unit), `${resolution} pm in ${unit}`).toBe(decimals);
  });
});

describe("lengths", () => {
  it("carry a real minus, a sign where asked, and their unit", () => {
    expect(lengthText(um(-2.5), "µm", 1, true)).toBe(`${MINUS}2.5\u00a0µm`);
    expect(lengthText(um(4), "µm", 1, true)).toBe("+4.0\u00a0µm");
    expect(lengthText(69_998_000_000, "mm", 3)).toBe("69.998\u00a0mm");
    expect(lengthText(5_080_000, "tenth", 1, true)).toBe("+2.0\u00a0tenths");
  });
  it("round half away from zero, without a sign on nought", () => {
    expect(digits(450_000, "µm", 1)).toBe("0.5");
    expect(digits(-450_000, "µm", 1)).toBe(`${MINUS}0.5`);
    expect(digits(-40_000, "µm", 1, true)).toBe("0.0");
    expect(digits(9_950_000, "µm", 1)).toBe("10.0");
  });
  it("stay within half a last digit of what they show", () => {
    fc.assert(fc.property(fc.integer({ min: -9e12, max: 9e12 }), fc.constantFrom<LengthUnit>("µm", "mm", "in", "tenth"), fc.integer({ min: 0, max: 6 }), (pm, unit, d) => {
      const shown = Number(digits(pm, unit, d).replace(MINUS, "-"));
      expect(Math.abs(shown * PM_PER[unit] - pm)).toBeLessThanOrEqual((PM_PER[unit] / 10 ** d) * 0.5 + Math.abs(pm) * 1e-12 + 1);
    }));
  });
});

describe("limits", () => {
  it("are exact: half micrometres stay", () => {
    expect(limitsText(um(-7.5), um(7.5), "µm")).toBe("±7.5\u00a0µm");
    expect(limitsText(um(2), um(10), "µm")).toBe("+2 … +10\u00a0µm");
    expect(limitsText(um(-13), um(2), "µm")).toBe(`${MINUS}13 … +2\u00a0µm`);
    expect(limitsText(null, um(3), "µm")).toBe("≤\u00a03\u00a0µm");
    expect(limitsText(um(2), null, "µm")).toBe("≥\u00a02\u00a0µm");
    expect(limitsText(null, null, "µm")).toBe("");
  });
});

describe("quantities, angles, probabilities", () => {
  it("keep the digits that were given", () => {
    expect(quantityText({ value: 2450, exp10: -2, unit: "kN" })).toBe("24.50\u00a0kN");
    expect(quantityText({ value: 5, exp10: -3, unit: "Ω" })).toBe("0.005\u00a0Ω");
    expect(quantityText({ value: 2, exp10: 3, unit: "MΩ", bound: ">" })).toBe(">\u00a02000\u00a0MΩ");
    expect(quantityText({ value: -7, exp10: -1, unit: "mm/s" })).toBe(`${MINUS}0.7\u00a0mm/s`);
    expect(quantityNumber({ value: 2450, exp10: -2, unit: "kN" })).toBeCloseTo(24.5, 12);
  });
  it("are never rounded into certainty", () => {
    expect(probabilityText(0.99997)).toBe("> 99.9\u00a0%");
    expect(probabilityText(0.0001)).toBe("< 0.1\u00a0%");
    expect(probabilityText(0.841)).toBe("84.1\u00a0%");
    expect(angleText(120_000)).toBe("120°");
    expect(angleText(22_500)).toBe("22.5°");
  });
});

describe("typed deviations", () => {
  it("are exact or refused", () => {
    expect(deviationPm("+0.5", "µm")).toBe(500_000);
    expect(deviationPm("-1,5", "tenth")).toBe(-3_810_000);
    expect(deviationPm(`${MINUS}2`, "µm")).toBe(-2_000_000);
    expect(deviationPm(" ", "µm")).toBeNull();
    expect(Object.is(deviationPm("-0", "µm"), 0)).toBe(true);
    for (const bad of ["x", "1e3", "1.2.3", "0.0000001", "--2", "+"]) expect(deviationPm(bad, "µm"), bad).toBeNaN();
  });
});
