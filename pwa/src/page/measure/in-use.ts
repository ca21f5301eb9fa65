// The set-ups in hand. A sweep and a size are read under different set-ups, so one of each may be in use for a job; leaving the page forgets
// them, and the sheet offers the open ones again. Nobody continues another person's set-up without a new zero check, so only own ones are offered.

import { signal } from "@preact/signals";
import type { ID, Session, SetupBody, SetupLine, Sheet } from "../../contract";

export interface InUse { id: ID; body: SetupBody; /** zero checks kept since, which the sheet may not show yet */ before: boolean; after: boolean }

const inUse = signal<Record<string, InUse>>({});

function key(job: string, sweep: boolean): string { return `${sweep ? "sweep" : "size"} ${job}`; }

export function setupInUse(job: string, sweep: boolean): InUse | null {
  return inUse.value[key(job, sweep)] ?? null;
}

export function takeUp(job: string, sweep: boolean, s: InUse | null): void {
  const next = { ...inUse.value };
  if (s) next[key(job, sweep)] = s;
  else delete next[key(job, sweep)];
  inUse.value = next;
}

export function noteZero(job: string, which: "before" | "after"): void {
  const s = setupInUse(job, false);
  if (s) takeUp(job, false, { ...s, [which]: true });
}

/** Open set-ups of this person on this device that suit, newest first. */
export function openSetups(sheet: Sheet, session: Session | null, sweep: boolean): SetupLine[] {
  if (!session) return [];
  return (sheet.setups ?? [])
    .filter((s) => !s.struck && s.by === session.person.id && s.device === session.device && (s.mode === "indicator") === sweep && s.zero_after_pm === null)
    .sort((a, b) => b.time_ms - a.time_ms);
}

export function bodyOf(s: SetupLine): SetupBody {
  const body: SetupBody = { gauge: s.gauge, mode: s.mode, soaked: s.soaked };
  if (s.master) body.master = s.master;
  if (s.t_master_mdegc !== undefined) body.t_master_mdegc = s.t_master_mdegc;
  if (s.t_part_mdegc !== undefined) body.t_part_mdegc = s.t_part_mdegc;
  if (s.u_t_mk !== undefined) body.u_t_mk = s.u_t_mk;
  if (s.support) body.support = s.support;
  if (s.zero_ref) body.zero_ref = s.zero_ref;
  if (s.sense) body.sense = s.sense;
  return body;
}

/** "21.5" or "21,5" as thousandths of a degree Celsius; null for an empty field; NaN where it is no temperature between −60 and 300 °C. */
export function temperature(text: string): number | null {
  const t = text.trim().replace(",", ".").replace("\u2212", "-");
  if (t === "") return null;
  if (!/^-?\d{1,3}(\.\d{1,3})?$/.test(t)) return NaN;
  const mdeg = Math.round(Number(t) * 1000);
  return mdeg < -60_000 || mdeg > 300_000 ? NaN : mdeg;
}
