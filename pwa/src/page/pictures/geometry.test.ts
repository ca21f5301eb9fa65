import { describe, expect, it } from "vitest";
import { layBand, rowOf } from "./band-geometry";
import { firstWave, layTrace, onCircle } from "./round-geometry";

describe("the tolerance band", () => {
  it("puts the zone in the middle with room to either side", () => {
    const b = layBand(2, 10, [{ value: 4, U: 1 }], 320);
    expect(b.x(6)).toBeCloseTo(160, 6);
    expect(b.x(2)).toBeGreaterThan(14);
    expect(b.x(10)).toBeLessThan(306);
    expect(b.from).toBeCloseTo(2 - 4.8, 9);
  });
  it("stretches to a value outside with its uncertainty, yet not to a slip of a millimetre", () => {
    const near = layBand(2, 10, [{ value: 17, U: 1 }], 320);
    expect(near.off(18)).toBe(0);
    const far = layBand(2, 10, [{ value: 1000, U: 1 }, { value: -1000, U: 1 }], 320);
    expect([far.off(1000), far.off(-1000)]).toEqual([1, -1]);
    expect(far.x(10) - far.x(2)).toBeGreaterThan((320 - 28) / 8);
    expect(far.x(1000)).toBeCloseTo(306, 6);
  });
  it("begins at nought with an upper limit alone", () => {
    const b = layBand(null, 3, [{ value: 4, U: 1 }], 320);
    expect(b.from).toBe(0);
    expect(b.x(0)).toBeCloseTo(14, 6);
    expect(b.off(5)).toBe(0);
  });
  it("lives without limits, without values and without width of the zone", () => {
    for (const b of [layBand(null, null, [], 320), layBand(5, 5, [], 320), layBand(0, null, [{ value: 2, U: 0 }], 320), layBand(20, null, [], 320)]) {
      expect(Number.isFinite(b.x(1))).toBe(true);
      expect(b.to).toBeGreaterThan(b.from);
    }
  });
  it("shares its rows", () => {
    expect([0, 1, 2, 3].map((i) => rowOf(i, 4, 2))).toEqual([0, 1, 0, 1]);
    expect([0, 1, 2].map((i) => rowOf(i, 3, 5))).toEqual([0, 1, 2]);
  });
});

describe("round pictures", () => {
  it("count angles clockwise from the top", () => {
    expect(onCircle(0, 0, 10, 0)).toMatchObject({ x: 0, y: -10 });
    expect(onCircle(0, 0, 10, 90_000).x).toBeCloseTo(10, 9);
    expect(onCircle(0, 0, 10, 180_000).y).toBeCloseTo(10, 9);
  });
  it("lay the least reading on the inner circle and the greatest on the outer", () => {
    const t = layTrace([{ angle_mdeg: 90_000, value: 3 }, { angle_mdeg: 0, value: -1 }, { angle_mdeg: 180_000, value: 1 }], 100, 100, 40, 80);
    expect([t.low, t.high, t.lowRadius, t.highRadius]).toEqual([-1, 3, 40, 80]);
    expect(t.spots.map((s) => s.angle_mdeg)).toEqual([0, 90_000, 180_000]);
    expect(t.path.endsWith("Z")).toBe(true);
    expect(layTrace([{ angle_mdeg: 0, value: 2 }], 0, 0, 40, 80).highRadius).toBe(60);
  });
  it("find the wedge that highest minus lowest hides: 1.4 1.4 −1.4 −1.4 is 1.98 at 45°", () => {
    const w = firstWave([1.4, 1.4, -1.4, -1.4].map((value, i) => ({ angle_mdeg: i * 90_000, value })))!;
    expect(w.amplitude).toBeCloseTo(1.9799, 4);
    expect(w.at_mdeg).toBeCloseTo(45_000, 6);
    expect(w.mean).toBeCloseTo(0, 12);
    expect(firstWave([{ angle_mdeg: 0, value: 1 }, { angle_mdeg: 180_000, value: 2 }])).toBeNull();
  });
});
