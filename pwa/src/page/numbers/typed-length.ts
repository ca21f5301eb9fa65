// Deviations typed into forms (limits of a concession, achieved sizes of a rework): a plain decimal in the person's fine unit, exact to the
// picometre. Readings never come this way: they go to the engine as typed.

import { MINUS, PM_PER } from "./length-text";
import type { LengthUnit } from "./length-text";

/** Whole picometres; null for an empty field; NaN for what is no number, is finer than a picometre or is beyond one metre. */
export function deviationPm(text: string, unit: LengthUnit): number | null {
  const t = text.trim().replaceAll(MINUS, "-").replace(",", ".");
  if (t === "") return null;
  const m = /^([+-]?)(\d{1,9})(?:\.(\d{1,12}))?$/.exec(t);
  if (!m) return NaN;
  const decimals = m[3] ?? "";
  const scaled = BigInt(m[2]! + decimals) * BigInt(PM_PER[unit]);
  const divisor = 10n ** BigInt(decimals.length);
  if (scaled % divisor !== 0n) return NaN;
  const pm = Number(scaled / divisor) * (m[1] === "-" ? -1 : 1);
  return Math.abs(pm) > 1_000_000_000_000 ? NaN : pm === 0 ? 0 : pm;
}
