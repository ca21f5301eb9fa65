// Lengths as people read them: from whole picometres to a number with its unit, with no more digits than the gauge resolves.
// The arithmetic is exact (BigInt), rounding is half away from zero, the minus is U+2212, and the unit hangs on a no-break space.

import type { Quantity } from "../../contract";

export type LengthUnit = "µm" | "mm" | "in" | "tenth";
export const MINUS = "\u2212";
const GAP = "\u00a0";

/** Picometres in one unit; a tenth is 0.0001 in. */
export const PM_PER: Record<LengthUnit, number> = { "µm": 1_000_000, mm: 1_000_000_000, in: 25_400_000_000, tenth: 2_540_000 };

/** The unit as it stands behind a number. */
export function unitWord(unit: LengthUnit): string {
  return unit === "tenth" ? "tenths" : unit;
}

/** Decimals that show every step of a gauge and no more: exact where the step is a decimal of the unit, else the last digit is not finer than the step.
 *  A resolution of 0 or less (not known) gives one decimal of a micrometre's worth. */
export function decimalsFor(resolution_pm: number, unit: LengthUnit): number {
  const step = resolution_pm > 0 ? resolution_pm : 100_000;
  for (let d = 0; d <= 3; d++) {
    if ((BigInt(step) * 10n ** BigInt(d)) % BigInt(PM_PER[unit]) === 0n) return d;
  }
  return Math.min(6, Math.max(0, Math.floor(Math.log10(PM_PER[unit] / step) + 1e-9)));
}

/** The digits alone, rounded half away from zero; `sign` writes a plus before positive values. */
export function digits(pm: number, unit: LengthUnit, decimals: number, sign = false): string {
  const per = BigInt(PM_PER[unit]);
  const scaled = BigInt(Math.round(Math.abs(pm))) * 10n ** BigInt(decimals);
  const whole = (2n * scaled + per) / (2n * per);
  const text = whole.toString().padStart(decimals + 1, "0");
  const cut = text.length - decimals;
  const body = decimals > 0 ? `${text.slice(0, cut)}.${text.slice(cut)}` : text;
  if (whole === 0n) return body;
  return pm < 0 ? MINUS + body : sign ? "+" + body : body;
}

export function lengthText(pm: number, unit: LengthUnit, decimals: number, sign = false): string {
  return digits(pm, unit, decimals, sign) + GAP + unitWord(unit);
}

/** A limit: as many digits as it has and at most three, since a limit is exact and not measured. */
export function limitDigits(pm: number, unit: LengthUnit, sign = true): string {
  const text = digits(pm, unit, unit === "µm" || unit === "tenth" ? (unit === "tenth" ? 2 : 3) : unit === "mm" ? 6 : 7, sign);
  return text.includes(".") ? text.replace(/\.?0+$/, "") : text;
}

/** Both limits, or the one there is: "+2 … +10 µm", "≤ 3 µm". */
export function limitsText(lower: number | null, upper: number | null, unit: LengthUnit): string {
  const tail = GAP + unitWord(unit);
  if (lower !== null && upper !== null) {
    if (lower === -upper && upper > 0) return "±" + limitDigits(upper, unit, false) + tail;
    return `${limitDigits(lower, unit)} … ${limitDigits(upper, unit)}${tail}`;
  }
  if (upper !== null) return `≤${GAP}${limitDigits(upper, unit, false)}${tail}`;
  if (lower !== null) return `≥${GAP}${limitDigits(lower, unit, false)}${tail}`;
  return "";
}

/** A quantity of another kind, with the digits it was given in. */
export function quantityText(q: Quantity): string {
  const negative = q.value < 0;
  let text = Math.abs(q.value).toString();
  if (q.exp10 < 0) {
    text = text.padStart(1 - q.exp10, "0");
    text = `${text.slice(0, q.exp10)}.${text.slice(q.exp10)}`;
  } else if (q.value !== 0) text += "0".repeat(q.exp10);
  return `${q.bound ? q.bound + GAP : ""}${negative ? MINUS : ""}${text}${q.unit ? GAP + q.unit : ""}`;
}

export function quantityNumber(q: Quantity): number {
  return q.value * 10 ** q.exp10;
}

/** Thousandths of a degree as degrees: 120000 is "120°". */
export function angleText(mdeg: number): string {
  const deg = mdeg / 1000;
  return `${Number.isInteger(deg) ? deg : deg.toFixed(1)}°`;
}

/** A probability for reading: never shown as 1 or 0 unless it is. */
export function probabilityText(p: number): string {
  if (p > 0.999 && p < 1) return "> 99.9" + GAP + "%";
  if (p > 0 && p < 0.001) return "< 0.1" + GAP + "%";
  return (100 * p).toFixed(1) + GAP + "%";
}
