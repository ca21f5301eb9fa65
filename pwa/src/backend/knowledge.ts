// How old this device's knowledge is, and what its clock is worth.
//
// Age is the server's time at its last answer and what elapsed here since. It only ever makes things worse for a part: where the age cannot be
// told (no answer ever, or the clock was set back), the part counts as not freshly known.

import type { ClockNote } from "../disk/schema.ts";

/** Age that a shop which set none allows before a clearance counts as old knowledge: 4 h; common practice, no source. */
export const usualFreshLimit = 4 * 3_600_000;

/** The name under which the shop's record keeps its own limit, in milliseconds. */
export const freshLimitSetting = "fresh_limit_ms";

export interface Overlay { knowledge_ms: number; fresh_limit_ms: number; now_ms: number | null; revoked: never[] }

export interface ClockReading { wall_ms: number; /** elapsed since the last answer on the clock that is never set back, or null if the page has had none since it began */ elapsed_ms: number | null }

/** How far a clock that runs as it should may fall behind the other, in milliseconds. */
const tolerance = 5_000;

/** True if this device's clock was visibly set back since the last answer. */
export function setBack(note: ClockNote, reading: ClockReading): boolean {
  if (reading.wall_ms < note.highest_wall_ms - tolerance) return true;
  // The other clock may stand while the device sleeps, so it may fall behind; the wall clock may not.
  return reading.elapsed_ms !== null && reading.wall_ms - note.wall_ms < reading.elapsed_ms - tolerance;
}

/** Milliseconds since the server last answered; -1: it cannot be told. */
export function age(note: ClockNote | undefined, reading: ClockReading): number {
  if (!note || setBack(note, reading)) return -1;
  // Whole milliseconds, rounded up: the engine takes no fractions, and knowledge is never younger than it is.
  return Math.max(0, Math.ceil(reading.wall_ms - note.wall_ms), Math.ceil(reading.elapsed_ms ?? 0));
}

/** What to add to this device's clock to get the server's, or null if it was never learnt or the clock was altered since. */
export function offset(note: ClockNote | undefined, reading: ClockReading): number | null {
  return note && !setBack(note, reading) ? note.off_ms : null;
}

export function overlay(note: ClockNote | undefined, reading: ClockReading, settings: Record<string, string>): Overlay {
  const set = Number(settings[freshLimitSetting] ?? "");
  const off = offset(note, reading);
  return {
    knowledge_ms: age(note, reading),
    fresh_limit_ms: Number.isSafeInteger(set) && set > 0 ? set : usualFreshLimit,
    now_ms: off === null ? null : reading.wall_ms + off,
    revoked: [],
  };
}

/** Whether clearances count as old knowledge. */
export function isOld({ knowledge_ms, fresh_limit_ms }: Overlay): boolean {
  return knowledge_ms < 0 || knowledge_ms > fresh_limit_ms;
}
