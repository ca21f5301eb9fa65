// Questions that screens ask of a sheet. Null slices of the engine arrive as null; here they become empty.

import type { ComponentSheet, FeatureSheet, Outcome, ReadingLine, Sheet, SpecCharacteristic, VCharacteristic } from "../contract";

export interface Found { component: ComponentSheet; feature: FeatureSheet }

const typeOrder = ["shaft", "housing", "spacer", "bearing", "sleeve", "nut", "cover", "seal", "drawbar", "rotor"];

/** The components as people go through them: what decides a rebuild first, then from the nose to the rear. */
export function components(sheet: Sheet): ComponentSheet[] {
  const rank = (c: ComponentSheet): number => { const i = typeOrder.indexOf(c.type); return i < 0 ? typeOrder.length : i; };
  const z = (c: ComponentSheet): number => Math.min(Number.MAX_SAFE_INTEGER, ...(c.outline ?? []).map((s) => s.z_pm));
  return [...(sheet.components ?? [])].sort((a, b) => rank(a) - rank(b) || z(a) - z(b) || (handle(a) < handle(b) ? -1 : 1));
}
export function features(c: ComponentSheet): FeatureSheet[] { return c.features ?? []; }
export function verdicts(f: FeatureSheet): VCharacteristic[] { return f.verdict?.characteristics ?? []; }

/** A component's handle in entries and addresses: its id, or its name where a job file gave none. */
export function handle(c: ComponentSheet): string { return c.id || c.name; }

export function findFeature(sheet: Sheet, name: string): Found | null {
  for (const component of components(sheet)) {
    const feature = features(component).find((f) => f.spec.feature === name);
    if (feature) return { component, feature };
  }
  return null;
}

export function findComponent(sheet: Sheet, name: string): ComponentSheet | null {
  return components(sheet).find((c) => handle(c) === name) ?? null;
}

export function verdictOf(f: FeatureSheet, characteristic: string): VCharacteristic | null {
  return verdicts(f).find((v) => v.characteristic === characteristic) ?? null;
}

export function specOf(f: FeatureSheet, characteristic: string): SpecCharacteristic | null {
  return (f.spec.characteristics ?? []).find((c) => c.name === characteristic) ?? null;
}

/** A fact of the job; several values stand side by side where two people wrote without knowing of each other. */
export function fact(sheet: Sheet, field: string): string {
  const f = (sheet.facts ?? []).find((x) => x.field === field && (x.subject === "" || x.subject === "job" || x.subject === sheet.job));
  return (f?.values ?? []).join(" / ");
}

/** The coarsest resolution among the gauges whose readings count here: a shown value has no finer digit. 0 where nothing was read. */
export function resolutionOf(sheet: Sheet, f: FeatureSheet): number {
  let coarsest = 0;
  for (const r of f.readings ?? []) {
    if (r.status !== "counts") continue;
    const s = (sheet.setups ?? []).find((x) => x.id === r.setup);
    if (s) coarsest = Math.max(coarsest, s.gauge.resolution_pm);
  }
  return coarsest;
}

const severity: Record<Outcome, number> = { fails: 0, "in conflict": 1, "cannot be told": 2, incomplete: 3, conforms: 4 };

export interface Case extends Found { verdict: VCharacteristic }

/** Everything that does not conform, worst first: by outcome, then required before not, then by margin (furthest out first), then by name. */
export function openCases(sheet: Sheet): Case[] {
  const list: Case[] = [];
  for (const component of components(sheet)) {
    for (const feature of features(component)) {
      for (const verdict of verdicts(feature)) {
        if (verdict.outcome !== "conforms") list.push({ component, feature, verdict });
      }
    }
  }
  return list.sort((a, b) =>
    severity[a.verdict.outcome] - severity[b.verdict.outcome]
    || Number(b.verdict.required) - Number(a.verdict.required)
    || (a.verdict.margin_pm ?? 0) - (b.verdict.margin_pm ?? 0)
    || (a.feature.spec.feature < b.feature.spec.feature ? -1 : 1));
}

export interface News { readings: number; others: number }

/** What has come since a frozen sheet: how many readings, how much else. */
export function newsSince(frozen: Sheet, current: Sheet): News {
  const known = new Set((frozen.history ?? []).map((l) => l.id));
  const fresh = (current.history ?? []).filter((l) => !known.has(l.id));
  const readings = fresh.filter((l) => l.kind === "reading").length;
  return { readings, others: Math.max(fresh.length, current.entries - frozen.entries) - readings };
}

/** The last reading of this person that still counts: what "undo" would strike. */
export function lastOwnReading(f: FeatureSheet, person: string): ReadingLine | null {
  const mine = (f.readings ?? []).filter((r) => r.by === person && r.status === "counts");
  return mine.reduce<ReadingLine | null>((last, r) => (last === null || r.time_ms >= last.time_ms ? r : last), null);
}

/** Part by tag, serial, id or name as typed or scanned; several where the words fit several. */
export function findPart(sheet: Sheet, typed: string): ComponentSheet[] {
  const want = typed.trim().toLowerCase();
  if (want === "") return [];
  const exact = components(sheet).filter((c) => [c.serial, c.id, tagOf(sheet, c)].some((x) => x !== undefined && x !== "" && x.toLowerCase() === want));
  return exact.length > 0 ? exact : components(sheet).filter((c) => `${c.name} ${c.place} ${c.serial ?? ""}`.toLowerCase().includes(want));
}

function tagOf(sheet: Sheet, c: ComponentSheet): string {
  return (sheet.facts ?? []).find((f) => f.field === "tag" && f.subject === handle(c))?.values[0] ?? "";
}
