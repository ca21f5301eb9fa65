// The set-ups in hand. A sweep, a size and a quantity are read under different set-ups, so one of each may be in use for a job; leaving the page forgets
// them, and the sheet offers the open ones again. Nobody continues another person's set-up without a new zero check, so only own ones are offered.

import { signal } from "@preact/signals";
import type { ID, Session, SetupBody, SetupLine, Sheet, Specification } from "../../contract";
import { isSweep } from "./plan";

export interface InUse { id: ID; body: SetupBody; /** it was taken up for this feature, and serves it whatever its master */ feature: string; /** zero checks kept since, which the sheet may not show yet */ before: boolean; after: boolean }

const inUse = signal<Record<string, InUse>>({});

export type Kind = "sweep" | "size" | "quantity";

export function kindOf(geometry: Specification["geometry"], characteristic: string): Kind {
  return geometry === "quantity" ? "quantity" : isSweep(characteristic) ? "sweep" : "size";
}

export function setupInUse(job: string, kind: Kind): InUse | null {
  return inUse.value[`${kind} ${job}`] ?? null;
}

export function takeUp(job: string, kind: Kind, s: InUse | null): void {
  const next = { ...inUse.value };
  if (s) next[`${kind} ${job}`] = s;
  else delete next[`${kind} ${job}`];
  inUse.value = next;
}

/** A master stands for sizes near it: one set-up may serve several features, but not one of another size (the reach of a comparator, taken as 1 mm). */
export function suits(body: SetupBody, spec: Specification): boolean {
  if (body.mode !== "master" || !body.master || !spec.nominal_pm) return true;
  return Math.abs(body.master.certified_pm - spec.nominal_pm) <= 1_000_000_000;
}

export function noteZero(job: string, which: "before" | "after"): void {
  const s = setupInUse(job, "size");
  if (s) takeUp(job, "size", { ...s, [which]: true });
}

/** Open set-ups of this person on this device that suit, newest first. */
export function openSetups(sheet: Sheet, session: Session | null, kind: Kind, spec: Specification): SetupLine[] {
  if (!session || kind === "quantity") return [];
  return (sheet.setups ?? [])
    .filter((s) => !s.struck && s.by === session.person.id && s.device === session.device && (s.mode === "indicator") === (kind === "sweep") && s.gauge.resolution_pm > 0 && s.zero_after_pm === null && suits(bodyOf(s), spec))
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
