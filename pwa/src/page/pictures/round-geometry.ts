// Geometry of round pictures: stations round a circle, the trace of a sweep, the first harmonic of readings round a ring.
// Angles are thousandths of a degree, 0 at the top, growing clockwise on the screen.

export interface Spot { x: number; y: number }

export function onCircle(cx: number, cy: number, r: number, angle_mdeg: number): Spot {
  const a = (angle_mdeg / 180_000) * Math.PI;
  return { x: cx + r * Math.sin(a), y: cy - r * Math.cos(a) };
}

export interface Trace { path: string; low: number; high: number; lowRadius: number; highRadius: number; spots: (Spot & { angle_mdeg: number; value: number })[] }

/** A closed trace of values round a circle: the least value lies on `inner`, the greatest on `outer`. All alike: in the middle. */
export function layTrace(points: { angle_mdeg: number; value: number }[], cx: number, cy: number, inner: number, outer: number): Trace {
  const sorted = [...points].sort((a, b) => a.angle_mdeg - b.angle_mdeg);
  const values = sorted.map((p) => p.value);
  const low = Math.min(...values), high = Math.max(...values);
  const r = (v: number): number => (high === low ? (inner + outer) / 2 : inner + ((v - low) / (high - low)) * (outer - inner));
  const spots = sorted.map((p) => ({ ...onCircle(cx, cy, r(p.value), p.angle_mdeg), angle_mdeg: p.angle_mdeg, value: p.value }));
  const path = spots.length > 1 ? `M${spots.map((s) => `${s.x.toFixed(1)} ${s.y.toFixed(1)}`).join("L")}Z` : "";
  return { path, low, high, lowRadius: r(low), highRadius: r(high), spots };
}

export interface Wave { mean: number; amplitude: number; /** where it is highest, mdeg */ at_mdeg: number }

/** Mean and first harmonic of equally spaced readings, for drawing the tilt through them; the figures that people read come from the engine.
 *  Fewer than three readings define no wave. */
export function firstWave(points: { angle_mdeg: number; value: number }[]): Wave | null {
  const n = points.length;
  if (n < 3) return null;
  let mean = 0, a = 0, b = 0;
  for (const p of points) {
    const t = (p.angle_mdeg / 180_000) * Math.PI;
    mean += p.value / n;
    a += (2 * p.value * Math.cos(t)) / n;
    b += (2 * p.value * Math.sin(t)) / n;
  }
  const at = (Math.atan2(b, a) * 180_000) / Math.PI;
  return { mean, amplitude: Math.hypot(a, b), at_mdeg: (at + 360_000) % 360_000 };
}
