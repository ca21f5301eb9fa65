// A rough stand-in for the engine, enough to see the screens move. It is not the engine: no drift, no temperatures, no rounds. Never in the build.

import type { FeatureSheet, Outcome, ReadingLine, SpecCharacteristic, Specification, VCharacteristic, VStation } from "../../contract";
import { isSweep, readAs, stationKey, stationsOf } from "../measure/plan";
import { lengthText } from "../numbers/length-text";
import { firstWave } from "../pictures/round-geometry";
import { um } from "./parts";

const classes: Record<string, [number, number]> = { k4: [2, 10], JS5: [-9, 9], H6: [0, 22] };
const u = um(0.5);

function phi(z: number): number { // a smooth stand-in for the normal distribution (logistic); good enough to look at
  return 1 / (1 + Math.exp(-1.702 * z));
}

function local(value: number, lower: number, upper: number): { pc: number; outcome: Outcome } {
  const low = phi((lower - value) / u), high = phi((value - upper) / u), pc = Math.max(0, 1 - low - high);
  return { pc, outcome: pc >= 0.95 ? "conforms" : Math.max(low, high) >= 0.95 ? "fails" : "cannot be told" };
}

export function judge(spec: Specification, c: SpecCharacteristic, readings: ReadingLine[]): VCharacteristic {
  const name = readAs(spec.geometry, c.name);
  const own = readings.filter((r) => r.status === "counts" && r.characteristic === name && !r.closing);
  const plan = stationsOf(spec, name).filter((s) => !s.closing);
  const by = new Map<string, ReadingLine[]>();
  for (const r of own) by.set(stationKey(r), [...(by.get(stationKey(r)) ?? []), r]);
  const [lower, upper] = c.class ? classes[c.class]!.map(um) as [number, number] : [0, c.max_pm ?? 0];
  const size = c.name === "size";
  const stations: VStation[] = [...by.values()].map((rs) => {
    const value = rs.reduce((n, r) => n + (r.value_pm ?? 0), 0) / rs.length;
    const clash = rs.some((r) => Math.abs((r.value_pm ?? 0) - value) > 1.1 * u);
    const l = local(value, lower, upper);
    return { ...(rs[0]!.plane ? { plane: rs[0]!.plane } : {}), angle_mdeg: rs[0]!.angle_mdeg, value_pm: value, u_pm: u, p_c: l.pc, n: rs.length, people: [...new Set(rs.map((r) => r.by))], ids: rs.map((r) => r.id), clash, outcome: clash ? "in conflict" : size ? l.outcome : "conforms" };
  });
  const missing = plan.filter((s) => !by.has(stationKey(s)));
  const base: VCharacteristic = {
    characteristic: c.name, outcome: "incomplete", value_pm: null, lower_pm: c.lower ? null : lower, upper_pm: c.lower ? null : upper, U_pm: null, p_c: null, rule: "guarded: p_c ≥ 0.95", need: plan.length, have: plan.length - missing.length, stations,
    missing: missing.map((s) => ({ plane: s.plane, angle_mdeg: s.angle_mdeg })), margin_pm: null, sentence: `${missing.length} of ${plan.length} stations are still to be read.`, limits_from: c.class ? `ISO 286-2:2010, ${(spec.nominal_pm ?? 0) / 1e9} ${c.class}` : `${spec.source} ${spec.reference ?? ""}`.trim(), required: c.required,
  };
  if (spec.geometry === "attribute") {
    const yes = own[own.length - 1]?.yes;
    return { ...base, lower_pm: null, upper_pm: null, outcome: yes === undefined ? "incomplete" : yes ? "conforms" : "fails", sentence: yes === undefined ? "Nobody has answered yet." : yes ? "Answered yes." : "Answered no." };
  }
  if (spec.geometry === "quantity") {
    const q = own[own.length - 1]?.quantity;
    const n = q ? q.value * 10 ** q.exp10 : 0;
    return { ...base, ...(c.lower ? { lower: c.lower } : {}), ...(c.upper ? { upper: c.upper } : {}), ...(q ? { quantity: q } : {}), outcome: q ? (n >= 20 && n <= 28 ? "conforms" : "fails") : "incomplete", sentence: q ? `${n} kN stands within 20 … 28 kN.` : "No value yet." };
  }
  if (stations.length === 0) return base;
  let value: number, pc: number, outcome: Outcome;
  const figures: VCharacteristic["figures"] = [];
  if (size) {
    const worst = [...stations].sort((a, b) => a.p_c - b.p_c)[0]!;
    value = worst.value_pm; pc = worst.p_c; outcome = worst.outcome;
  } else {
    const values = stations.map((s) => s.value_pm), wave = firstWave(stations.map((s) => ({ angle_mdeg: s.angle_mdeg, value: s.value_pm })));
    const wedge = c.name === "parallelism" && wave !== null;
    value = wedge ? 2 * wave.amplitude : Math.max(...values) - Math.min(...values);
    const l = local(value, -1e12, upper);
    pc = l.pc; outcome = l.outcome;
    if (wedge) figures.push({ name: "wedge", value: value / 1e6, unit: "µm" }, { name: "wedge direction", value: wave.at_mdeg / 1000, unit: "°" }, { name: "highest minus lowest reading", value: (Math.max(...values) - Math.min(...values)) / 1e6, unit: "µm", note: "under-reports a wedge" });
    else if (isSweep(name) && wave) figures.push({ name: "eccentricity", value: wave.amplitude / 1e6, unit: "µm" }, { name: "high spot", value: wave.at_mdeg / 1000, unit: "°" });
  }
  if (stations.some((s) => s.outcome === "in conflict")) outcome = "in conflict";
  else if (outcome !== "fails" && missing.length > 0) outcome = "incomplete";
  const margin = size ? Math.min(value - lower, upper - value) : upper - value;
  return {
    ...base, outcome, value_pm: Math.round(value), U_pm: 2 * u, p_c: pc, margin_pm: Math.round(margin), figures,
    sentence: sentence(outcome, value, margin, missing.length),
    ...(outcome === "cannot be told" ? { settle: `A gauge with U ≤ ${lengthText((2 * Math.abs(margin)) / 1.645, "µm", 2)} would settle it.` } : {}),
    ...(outcome === "fails" && size ? { mend: { direction: value < lower ? "metal on" as const : "metal off" as const, from_pm: um(2.32), to_pm: um(7.68), aim_pm: um(5), allowed: spec.rework.build_up, why: spec.rework.build_up ? "The drawing allows building up and regrinding." : "The drawing allows no building up." } } : {}),
    notes: size ? ["Two-point readings do not show odd lobing."] : [],
    budget: [
      { source: "repeatability of the gauge", value: "s = 0.2 µm, 24 degrees of freedom", distribution: "normal", u_um: 0.36, share: 0.52, mend: "repeat each station" },
      { source: "calibration of the gauge", value: "u = 0.3 µm", distribution: "normal", u_um: 0.3, share: 0.36 },
      { source: "certified value of the master", value: "u = 0.2 µm", distribution: "normal", u_um: 0.17, share: 0.12, mend: "a better master" },
    ],
  };
}

function sentence(o: Outcome, value: number, margin: number, missing: number): string {
  const v = lengthText(value, "µm", 1, true), m = lengthText(Math.abs(margin), "µm", 1);
  switch (o) {
    case "conforms": return `${v} lies ${m} inside the nearer limit.`;
    case "fails": return `${v} lies ${m} beyond the limit; the uncertainty does not reach it.`;
    case "cannot be told": return `${v} lies ${m} from the limit, nearer than the guard: neither good nor bad can be said.`;
    case "in conflict": return "Two people differ at one station by more than both uncertainties allow: a third reading is wanted.";
    case "incomplete": return `${missing} more to read; so far the worst is ${v}.`;
  }
}

const order: Outcome[] = ["in conflict", "fails", "incomplete", "cannot be told", "conforms"];

export function worstOf(vs: VCharacteristic[]): Outcome {
  return order.find((o) => vs.some((v) => v.outcome === o)) ?? "incomplete";
}

export function refresh(f: FeatureSheet): FeatureSheet {
  const characteristics = f.spec.characteristics.map((c) => judge(f.spec, c, f.readings));
  return { ...f, verdict: { feature: f.spec.feature, name: f.spec.name, outcome: worstOf(characteristics), characteristics } };
}
