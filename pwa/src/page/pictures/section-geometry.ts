// From outlines in picometres to a drawing in pixels: scale, section contours, bearings, where a feature lies, where its balloon stands.
// z grows to the right from the nose face; the upper half is the section, the lower half the outside view.

import type { BearingFacts, ComponentCard, Segment, Specification } from "../../contract";

export interface Extent { z0: number; z1: number; r: number }
export interface Paper { k: number; left: number; axis: number; z0: number; x(z_pm: number): number; up(d_pm: number): number; down(d_pm: number): number }

/** What the drawn components span, or null where none has an outline. */
export function extentOf(components: ComponentCard[]): Extent | null {
  let z0 = Infinity, z1 = -Infinity, r = 0;
  for (const c of components) {
    for (const s of c.outline ?? []) {
      z0 = Math.min(z0, s.z_pm);
      z1 = Math.max(z1, s.z_pm + s.length_pm);
      r = Math.max(r, s.outside_pm / 2, (s.outside_end_pm ?? 0) / 2);
    }
  }
  return r > 0 ? { z0, z1, r } : null;
}

/** One scale for both directions: as large as the width and the height (of the drawing proper) allow. */
export function layPaper(e: Extent, width: number, height: number, margin: number, top: number): Paper {
  const k = Math.min((width - 2 * margin) / (e.z1 - e.z0), height / (2 * e.r));
  const left = (width - k * (e.z1 - e.z0)) / 2, axis = top + e.r * k;
  return { k, left, axis, z0: e.z0, x: (z) => left + k * (z - e.z0), up: (d) => axis - (k * d) / 2, down: (d) => axis + (k * d) / 2 };
}

const at = (x: number, y: number): string => `${x.toFixed(1)} ${y.toFixed(1)}`;
const outEnd = (s: Segment): number => s.outside_end_pm || s.outside_pm;
const inEnd = (s: Segment): number => s.inside_end_pm || s.inside_pm || 0;

/** Closed contours of the upper half, one for each unbroken run of segments: along the outside, back along the inside. */
export function sectionPath(outline: Segment[], p: Paper): string {
  const sorted = [...outline].sort((a, b) => a.z_pm - b.z_pm || a.inside_pm! - b.inside_pm!);
  const runs: Segment[][] = [];
  for (const s of sorted) {
    const run = runs.find((r) => {
      const last = r[r.length - 1]!;
      return last.z_pm + last.length_pm === s.z_pm && outEnd(last) > (s.inside_pm ?? 0) && inEnd(last) < s.outside_pm;
    });
    if (run) run.push(s);
    else runs.push([s]);
  }
  return runs.map((run) => {
    const out: string[] = [], back: string[] = [];
    for (const s of run) {
      const a = p.x(s.z_pm), b = p.x(s.z_pm + s.length_pm);
      out.push(at(a, p.up(s.outside_pm)), at(b, p.up(outEnd(s))));
      back.unshift(at(b, p.up(inEnd(s))), at(a, p.up(s.inside_pm ?? 0)));
    }
    return `M${[...out, ...back].join("L")}Z`;
  }).join("");
}

/** The outside view of the lower half: what one would see of this component alone, each step from the axis down. */
export function viewPath(outline: Segment[], p: Paper): string {
  return outline.map((s) => {
    const a = p.x(s.z_pm), b = p.x(s.z_pm + s.length_pm);
    return `M${at(a, p.axis)}L${at(a, p.down(s.outside_pm))}L${at(b, p.down(outEnd(s)))}L${at(b, p.axis)}`;
  }).join("");
}

export function largestOutside(outline: Segment[]): number {
  return Math.max(0, ...outline.map((s) => Math.max(s.outside_pm, s.outside_end_pm ?? 0)));
}

export interface BearingPicture { inner: string; outer: string; ball: { x: number; y: number; r: number } | null; roller: { x: number; y: number; w: number; h: number } | null; line: { x1: number; y1: number; x2: number; y2: number } | null }

/** A bearing in section: rings of 0.27 of the ring space each, a ball of 0.56 of it (about what precision bearings have; for the eye, never for
 *  a sum), the contact line through the ball. An angular contact bearing touches its outer ring away from the side to which it opens. */
export function bearingPicture(outline: Segment[], facts: BearingFacts | undefined, p: Paper): BearingPicture | null {
  const e = outline.length > 0 ? outline : null;
  if (!e) return null;
  const z0 = Math.min(...e.map((s) => s.z_pm)), z1 = Math.max(...e.map((s) => s.z_pm + s.length_pm));
  const bore = Math.min(...e.map((s) => s.inside_pm ?? 0)), od = largestOutside(e);
  const a = p.x(z0), b = p.x(z1), mid = (a + b) / 2;
  const yi = p.up(bore), yo = p.up(od), gap = yi - yo, ring = 0.27 * gap, cy = (yi + yo) / 2, r = Math.min(0.28 * gap, 0.42 * (b - a));
  const lean = ((facts?.contact_angle_mdeg ?? 0) / 180_000) * Math.PI;
  const side = facts?.opens_to === "nose" ? 1 : facts?.opens_to === "rear" ? -1 : 0;
  const cut = side === 0 ? 0 : 0.45 * ring; // the shoulder that is relieved so that the balls go in
  const openLeft = side === 1 ? cut : 0, openRight = side === -1 ? cut : 0;
  const outer = `M${at(a, yo)}L${at(b, yo)}L${at(b, yo + ring - openRight)}L${at(mid, yo + ring - Math.max(openLeft, openRight) / 2)}L${at(a, yo + ring - openLeft)}Z`;
  const inner = `M${at(a, yi)}L${at(b, yi)}L${at(b, yi - ring)}L${at(a, yi - ring)}Z`;
  const half = gap / 2;
  return {
    inner, outer,
    ball: facts?.rollers ? null : { x: mid, y: cy, r },
    roller: facts?.rollers ? { x: mid - 0.3 * (b - a), y: cy - 0.23 * gap, w: 0.6 * (b - a), h: 0.46 * gap } : null,
    line: facts?.rollers || side === 0 ? null : { x1: mid + side * half * Math.tan(lean), y1: cy - half, x2: mid - side * half * Math.tan(lean), y2: cy + half },
  };
}

export interface Trait { path: string; x: number; y: number }

/** The surface that a feature is, as a line to draw thick, and the point that its leader touches. A feature without a place hangs on the middle of its part. */
export function featureTrait(spec: Specification, component: ComponentCard | undefined, p: Paper): Trait | null {
  const outline = component?.outline ?? [];
  const near = (z: number): Segment | undefined => outline.find((s) => z >= s.z_pm && z <= s.z_pm + s.length_pm);
  if (!spec.at) {
    if (outline.length === 0) return null;
    const z0 = Math.min(...outline.map((s) => s.z_pm)), z1 = Math.max(...outline.map((s) => s.z_pm + s.length_pm));
    return { path: "", x: p.x((z0 + z1) / 2), y: p.up(near((z0 + z1) / 2)?.outside_pm ?? largestOutside(outline)) };
  }
  const z = spec.at.z_pm, end = z + spec.at.length_pm, x0 = p.x(z), x1 = p.x(end);
  const seg = near((z + end) / 2) ?? near(z) ?? near(end);
  const out = (zz: number): number => diameterAt(near(zz) ?? seg, zz, "out") ?? spec.nominal_pm ?? 0;
  const ins = (zz: number): number => diameterAt(near(zz) ?? seg, zz, "in") ?? spec.nominal_pm ?? 0;
  switch (spec.geometry) {
    case "inside": {
      const y = p.up(spec.nominal_pm || ins((z + end) / 2));
      return { path: `M${at(x0, y)}L${at(x1, y)}`, x: (x0 + x1) / 2, y };
    }
    case "face": {
      const radius = spec.plan.radius_pm;
      const top = p.up(radius ? 2 * radius * 1.06 : out(z)), foot = p.up(radius ? 2 * radius * 0.94 : Math.max(ins(z), 0.7 * out(z)));
      return { path: `M${at(x0, top)}L${at(x0, foot)}`, x: x0, y: (top + foot) / 2 };
    }
    case "thickness": {
      const top = p.up(out((z + end) / 2)), foot = p.up(ins((z + end) / 2));
      return { path: `M${at(x0, top)}L${at(x0, foot)}M${at(x1, top)}L${at(x1, foot)}`, x: (x0 + x1) / 2, y: top };
    }
    case "outside": {
      const y = p.up(spec.nominal_pm || out((z + end) / 2));
      return { path: `M${at(x0, y)}L${at(x1, y)}`, x: (x0 + x1) / 2, y };
    }
    default: {
      // A taper or a swept surface follows the contour: the bore where that is conical, else the outside.
      const inside = Boolean(seg?.inside_end_pm);
      const mid = (z + end) / 2;
      const steps = outline.filter((s) => s.z_pm < end && s.z_pm + s.length_pm > z && (!inside || Boolean(s.inside_end_pm)));
      const path = steps.map((s) => {
        const a = Math.max(z, s.z_pm), b = Math.min(end, s.z_pm + s.length_pm);
        const d = (zz: number): number => diameterAt(s, zz, inside ? "in" : "out") ?? 0;
        return `M${at(p.x(a), p.up(d(a)))}L${at(p.x(b), p.up(d(b)))}`;
      }).join("");
      return { path, x: p.x(mid), y: p.up(inside ? ins(mid) : out(mid)) };
    }
  }
}

function diameterAt(s: Segment | undefined, z: number, which: "out" | "in"): number | undefined {
  if (!s) return undefined;
  const t = Math.min(1, Math.max(0, (z - s.z_pm) / s.length_pm));
  return which === "out" ? s.outside_pm + t * (outEnd(s) - s.outside_pm) : (s.inside_pm ?? 0) + t * (inEnd(s) - (s.inside_pm ?? 0));
}

export interface Slot { x: number; row: 0 | 1 }

/** Where balloons stand: in the order of their points, `target` pixels wide each, in one row where they fit, else in two rows half a step apart,
 *  so that a leader of the far row falls between two balloons of the near one. Each stays as near to its point as the order allows. */
export function placeBalloons(wanted: number[], width: number, target: number): Slot[] {
  const n = wanted.length;
  if (n === 0) return [];
  const two = n * target > width;
  const step = two ? Math.max(target / 2, Math.min(target * 0.62, (width - target) / Math.max(1, n - 1))) : target;
  const order = wanted.map((x, i) => ({ x, i })).sort((a, b) => a.x - b.x || a.i - b.i);
  // Blocks of touching balloons, each centred on the mean of what its members want.
  const blocks: { first: number; count: number; centre: number }[] = [];
  const lo = target / 2, hi = Math.max(lo, width - target / 2);
  order.forEach((o, j) => {
    let block = { first: j, count: 1, centre: o.x };
    clamp(block);
    for (let prev = blocks[blocks.length - 1]; prev && prev.centre + ((prev.count - 1) / 2) * step + step > block.centre - ((block.count - 1) / 2) * step; prev = blocks[blocks.length - 1]) {
      const count = prev.count + block.count;
      block = { first: prev.first, count, centre: (prev.centre * prev.count + block.centre * block.count) / count };
      clamp(block);
      blocks.pop();
    }
    blocks.push(block);
  });
  const slots = new Array<Slot>(n);
  let k = 0;
  for (const b of blocks) {
    for (let j = 0; j < b.count; j++, k++) {
      slots[order[k]!.i] = { x: b.centre + (j - (b.count - 1) / 2) * step, row: two && k % 2 === 1 ? 1 : 0 };
    }
  }
  return slots;

  function clamp(b: { count: number; centre: number }): void {
    const half = ((b.count - 1) / 2) * step;
    b.centre = Math.max(lo + half, Math.min(hi - half, b.centre));
    if (hi - lo < 2 * half) b.centre = (lo + hi) / 2;
  }
}
