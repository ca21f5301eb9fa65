import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { cards, mm, specs } from "../dev/parts";
import { bearingPicture, extentOf, featureTrait, layPaper, placeBalloons, sectionPath } from "./section-geometry";

const extent = extentOf(cards)!;
const paper = layPaper(extent, 640, 400, 20, 50);
const numbers = (path: string): number[] => (path.match(/-?\d+(\.\d+)?/g) ?? []).map(Number);

describe("the paper", () => {
  it("spans all outlines: z from the nose face to the shaft's end, the largest radius from the housing's flange", () => {
    expect(extent).toEqual({ z0: 0, z1: mm(520), r: mm(105) });
    expect(extentOf([{ ...cards[0]!, outline: [] }])).toBeNull();
  });
  it("has one scale for both directions and keeps the margins", () => {
    expect(paper.x(mm(520)) - paper.x(0)).toBeCloseTo(600, 6);
    expect(paper.axis - paper.up(mm(100))).toBeCloseTo((600 / 520) * 50, 6);
    expect(paper.down(mm(100)) - paper.axis).toBeCloseTo(paper.axis - paper.up(mm(100)), 9);
    expect(paper.up(2 * extent.r)).toBeCloseTo(50, 6);
  });
  it("is limited by the height where that is scarce", () => {
    const low = layPaper(extent, 640, 105, 20, 0);
    expect(low.k * mm(210)).toBeCloseTo(105, 6);
    expect(low.x(0) + low.x(mm(520))).toBeCloseTo(640, 6); // centred
  });
});

describe("sections", () => {
  it("join steps of one piece into one contour, and leave a gap a gap", () => {
    expect((sectionPath(cards[0]!.outline!, paper).match(/Z/g) ?? []).length).toBe(1);
    const apart = [{ z_pm: 0, length_pm: mm(10), outside_pm: mm(50), inside_pm: mm(40) }, { z_pm: mm(20), length_pm: mm(10), outside_pm: mm(50), inside_pm: mm(40) }];
    expect((sectionPath(apart, paper).match(/Z/g) ?? []).length).toBe(2);
  });
  it("reach the axis where the material is solid", () => {
    const bar = sectionPath([{ z_pm: 0, length_pm: mm(10), outside_pm: mm(20) }], paper);
    expect(Math.max(...numbers(bar).filter((_, i) => i % 2 === 1))).toBeCloseTo(paper.axis, 1);
  });
  it("draw a taper slanting", () => {
    const n = numbers(sectionPath([{ z_pm: 0, length_pm: mm(100), outside_pm: mm(90), inside_pm: mm(69.85), inside_end_pm: mm(40.7) }], paper));
    const [backEnd, backStart] = [n[5]!, n[7]!]; // y at the end of the bore, y at its mouth
    expect(backEnd).toBeCloseTo(paper.up(mm(40.7)), 1);
    expect(backStart).toBeCloseTo(paper.up(mm(69.85)), 1);
  });
});

describe("bearings", () => {
  const outline = cards.find((c) => c.id === "front-a")!.outline!;
  const at = (opens_to: string) => bearingPicture(outline, { contact_angle_mdeg: 25_000, opens_to }, paper)!;
  it("lean away from the side they open to: towards the rear at the outer ring where they open to the nose", () => {
    const nose = at("nose").line!, rear = at("rear").line!;
    expect(nose.x1).toBeGreaterThan(nose.x2); // x1 at the outer ring
    expect(rear.x1).toBeLessThan(rear.x2);
    const run = nose.x1 - nose.x2, rise = nose.y2 - nose.y1;
    expect(Math.atan2(run, rise) * (180 / Math.PI)).toBeCloseTo(25, 6);
  });
  it("put the pair of the invented spindle back to back: the lines part towards the axis", () => {
    const a = bearingPicture(outline, cards.find((c) => c.id === "front-a")!.bearing, paper)!.line!;
    const b = bearingPicture(cards.find((c) => c.id === "front-b")!.outline!, cards.find((c) => c.id === "front-b")!.bearing, paper)!.line!;
    expect(b.x2 - a.x2).toBeGreaterThan(b.x1 - a.x1);
  });
  it("have no contact line as radial bearings, and rollers instead of balls where told", () => {
    expect(bearingPicture(outline, {}, paper)).toMatchObject({ line: null });
    const r = bearingPicture(outline, { rollers: true }, paper)!;
    expect(r.ball).toBeNull();
    expect(r.roller!.w).toBeGreaterThan(0);
  });
  it("keep the ball between the rings and inside the width", () => {
    const p = at("nose");
    expect(p.ball!.r * 2).toBeLessThan(paper.x(mm(66)) - paper.x(mm(44)));
    expect(p.ball!.y - p.ball!.r).toBeGreaterThan(paper.up(mm(125)));
    expect(p.ball!.y + p.ball!.r).toBeLessThan(paper.up(mm(80)));
  });
});

describe("features", () => {
  it("lie on the surface that they are", () => {
    for (const s of specs) {
      const c = cards.find((x) => x.id === s.component)!;
      const t = featureTrait(s, c, paper)!;
      expect(t, s.feature).not.toBeNull();
      expect(t.x, s.feature).toBeGreaterThanOrEqual(paper.x(s.at!.z_pm) - 0.2);
      expect(t.x, s.feature).toBeLessThanOrEqual(paper.x(s.at!.z_pm + s.at!.length_pm) + 0.2);
    }
    const journal = featureTrait(specs.find((s) => s.feature === "J1")!, cards[0], paper)!;
    expect(journal.y).toBeCloseTo(paper.up(mm(80)), 6);
    const taper = numbers(featureTrait(specs.find((s) => s.feature === "T1")!, cards[0], paper)!.path);
    expect(taper[1]).toBeCloseTo(paper.up(mm(69.85)), 1); // at the nose the mouth of the bore
  });
  it("hang on their part where no place is given, and nowhere where there is no outline", () => {
    const { at: _, ...bare } = specs.find((s) => s.feature === "D1")!;
    expect(featureTrait(bare, cards.find((c) => c.id === "drawbar"), paper)).toMatchObject({ path: "" });
    expect(featureTrait(bare, { ...cards[0]!, outline: [] }, paper)).toBeNull();
  });
});

describe("balloons", () => {
  it("stay where they are wanted when there is room", () => {
    expect(placeBalloons([100, 300], 640, 56)).toEqual([{ x: 100, row: 0 }, { x: 300, row: 0 }]);
  });
  it("never cover one another, keep the order of their points and stay on the paper", () => {
    fc.assert(fc.property(fc.array(fc.integer({ min: 0, max: 640 }), { minLength: 1, maxLength: 20 }), (wanted) => {
      const width = Math.max(640, (wanted.length + 1) * 28);
      const slots = placeBalloons(wanted, width, 56);
      const order = wanted.map((x, i) => ({ x, i })).sort((a, b) => a.x - b.x || a.i - b.i).map((o) => slots[o.i]!);
      for (let i = 0; i < order.length; i++) {
        expect(order[i]!.x).toBeGreaterThanOrEqual(28 - 1e-6);
        expect(order[i]!.x).toBeLessThanOrEqual(width - 28 + 1e-6);
        for (let j = i + 1; j < order.length; j++) {
          expect(order[j]!.x).toBeGreaterThan(order[i]!.x - 1e-9);
          if (order[i]!.row === order[j]!.row) expect(order[j]!.x - order[i]!.x).toBeGreaterThanOrEqual(56 - 1e-6);
        }
      }
    }));
  });
});
