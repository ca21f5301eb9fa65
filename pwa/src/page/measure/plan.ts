// Which stations a characteristic is read at, in which order, and which comes next. The engine judges by the same plan; here it only leads the hand.

import type { ReadingBody, ReadingLine, SetupBody, Specification } from "../../contract";

export interface Station { plane: string; angle_mdeg: number; closing: boolean }

const sweeps = new Set(["roundness", "circular run-out", "total run-out", "axial run-out", "perpendicularity"]);

/** Read with an indicator round the part under one arbitrary zero (ISO 1101). */
export function isSweep(characteristic: string): boolean {
  return sweeps.has(characteristic);
}

/** The characteristic whose readings serve this one: sizes serve size variation, taper and a ring's parallelism; a radial sweep serves roundness and
 *  run-out; an axial sweep serves perpendicularity. */
export function readAs(geometry: Specification["geometry"], characteristic: string): string {
  switch (characteristic) {
    case "size variation": case "taper": return "size";
    case "parallelism": return geometry === "thickness" ? "size" : characteristic;
    case "roundness": case "total run-out": return "circular run-out";
    case "perpendicularity": return "axial run-out";
    default: return characteristic;
  }
}

/** All stations in the order in which a hand takes them: plane by plane, round by angle; a sweep ends each plane at its first angle again. */
export function stationsOf(spec: Specification, characteristic: string): Station[] {
  const sweep = isSweep(characteristic);
  const planes = spec.plan.planes?.length ? spec.plan.planes.map((p) => p.name) : [""];
  const angles = (sweep && spec.plan.sweep_angles_mdeg?.length ? spec.plan.sweep_angles_mdeg : spec.plan.angles_mdeg) ?? [];
  const round = angles.length > 0 ? angles : [0];
  return planes.flatMap((plane) => {
    const list: Station[] = round.map((angle_mdeg) => ({ plane, angle_mdeg, closing: false }));
    if (sweep && list.length > 1) list.push({ plane, angle_mdeg: round[0]!, closing: true });
    return list;
  });
}

export function stationKey(s: { plane?: string | undefined; angle_mdeg: number; closing?: boolean | undefined }): string {
  return `${s.plane ?? ""}@${s.angle_mdeg}${s.closing ? "!" : ""}`;
}

/** How many counting readings each station has; for a blind measurement only those of its own purpose and person, since the earlier ones are not shown. */
export function takenAt(readings: ReadingLine[] | null, characteristic: string, only?: { purpose: ReadingBody["purpose"]; person: string }): Map<string, number> {
  const taken = new Map<string, number>();
  for (const r of readings ?? []) {
    if (r.status !== "counts" || r.characteristic !== characteristic) continue;
    if (only && (r.purpose !== only.purpose || r.by !== only.person)) continue;
    const k = stationKey(r);
    taken.set(k, (taken.get(k) ?? 0) + 1);
  }
  return taken;
}

/** The first open station after `after` (or from the start), round once; null when all have a reading. */
export function nextStation(stations: Station[], taken: ReadonlyMap<string, number>, after: Station | null): Station | null {
  const from = after ? stations.findIndex((s) => stationKey(s) === stationKey(after)) + 1 : 0;
  for (let i = 0; i < stations.length; i++) {
    const s = stations[(from + i) % stations.length]!;
    if (!taken.has(stationKey(s))) return s;
  }
  return null;
}

/** What numbers may mean under a set-up, the usual one first. */
export function meansFor(mode: SetupBody["mode"], geometry: Specification["geometry"]): ReadingBody["means"][] {
  if (geometry === "quantity") return ["quantity"];
  if (geometry === "attribute") return ["yes or no"];
  if (mode === "indicator") return ["indicator"];
  if (mode === "master") return ["from master", "from nominal", "size"];
  return ["size", "from nominal"];
}

/** Why a reading is taken, from who takes it and where the job stands. Those who measure again do so blind to the first values. */
export function purposeFor(as: string, stage: string): { purpose: ReadingBody["purpose"]; blind: boolean } {
  if (as === "assembler") return { purpose: "assembly", blind: true };
  if (as === "quality") return { purpose: "final", blind: true };
  const s = stage.toLowerCase();
  if (s.startsWith("received") || s.startsWith("as-received")) return { purpose: "arrival", blind: false };
  if (s.startsWith("teardown")) return { purpose: "teardown", blind: false };
  return { purpose: "inspection", blind: false };
}
