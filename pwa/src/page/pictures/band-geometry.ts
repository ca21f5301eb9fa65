// Where things stand on a tolerance band: one axis of numbers (any unit), two limits or one, values with their expanded uncertainty.

export interface BandPoint { value: number; U: number }
export interface Band {
  /** ends of the axis */ from: number; to: number;
  /** limits as drawn; a missing one is the end of the axis */ zoneFrom: number; zoneTo: number;
  x(value: number): number;
  /** beyond the axis: −1 off the low end, 1 off the high end, 0 on it */ off(value: number): -1 | 0 | 1;
}

/** The axis shows the zone with 60 % of its width to either side, stretched to hold every value, yet never beyond three zones: a slip of a
 *  millimetre must not shrink the zone to a hair. With an upper limit alone the axis begins at 0. Without limits it holds the values. */
export function layBand(lower: number | null, upper: number | null, points: BandPoint[], width: number, pad = 14): Band {
  const lows = points.map((p) => p.value - p.U);
  const highs = points.map((p) => p.value + p.U);
  let zoneFrom: number, zoneTo: number, from: number, to: number;
  if (lower === null && upper === null) {
    const lo = Math.min(0, ...lows), hi = Math.max(0, ...highs);
    const spread = hi - lo || 1;
    zoneFrom = from = lo - 0.1 * spread;
    zoneTo = to = hi + 0.1 * spread;
  } else {
    const oneSided = lower === null || upper === null;
    zoneFrom = lower ?? Math.min(0, upper!);
    zoneTo = upper ?? (lower === 0 ? 1 : lower! + Math.abs(lower!));
    const T = zoneTo - zoneFrom || Math.abs(zoneTo) || 1;
    from = oneSided && lower === null ? zoneFrom : zoneFrom - 0.6 * T;
    to = oneSided && upper === null ? zoneTo + 0.2 * T : zoneTo + 0.6 * T;
    from = Math.max(zoneFrom - 3 * T, Math.min(from, ...lows.map((v) => v - 0.06 * T)));
    to = Math.min(zoneTo + 3 * T, Math.max(to, ...highs.map((v) => v + 0.06 * T)));
    if (lower === null) { from = Math.min(from, zoneFrom); zoneFrom = from; }
    if (upper === null) zoneTo = to;
  }
  const k = (width - 2 * pad) / (to - from);
  return {
    from, to, zoneFrom, zoneTo,
    x: (v) => pad + k * (Math.min(to, Math.max(from, v)) - from),
    off: (v) => (v < from ? -1 : v > to ? 1 : 0),
  };
}

/** Rows on which whiskers do not lie on one another: at most `most` rows, taken in turn. */
export function rowOf(index: number, count: number, most: number): number {
  return count <= most ? index : index % most;
}
