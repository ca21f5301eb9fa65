// The invented shop of the scenarios: people, gauges, masters, and a shaft with its housing and spacer.
//
// The gauges' calibration uncertainties are chosen so that one reading under a set-up with measured temperatures (0.5 K between part and master where
// nobody states less) has the round u that the scenario's arithmetic uses: u² = u_cal² + (L·11.5e-6/K·0.5 K)².

const um = (v: number): number => Math.round(v * 1e6);
const mm = (v: number): number => Math.round(v * 1e9);

/** u_cal in picometres with which a comparator has standard uncertainty `u` µm on a size of `size` mm. */
function calibratedFor(u: number, size: number): number {
  const heat = size * 1000 * 11.5e-6 * 0.5;
  return um(Math.sqrt(u * u - heat * heat));
}

export const people = [
  { id: "ana", name: "Ana", role: "technician" }, { id: "bo", name: "Bo", role: "technician" }, { id: "cleo", name: "Cleo", role: "inspector" },
  { id: "dov", name: "Dov", role: "inspector" }, { id: "eli", name: "Eli", role: "assembler" }, { id: "fay", name: "Fay", role: "quality" },
] as const;
export type PersonID = (typeof people)[number]["id"];

const twoPoint = (id: string, name: string, u: number, size: number) => ({ id, name, type: "two-point comparator", resolution_pm: um(0.1), u_cal_pm: calibratedFor(u, size), blind_to: ["odd lobes"] });
export const gauges = {
  /** u = 0.5 µm on 70 mm */ A: twoPoint("cmp-a", "comparator A", 0.5, 70), B: twoPoint("cmp-b", "comparator B", 0.5, 70), C: twoPoint("cmp-c", "comparator C", 0.5, 70),
  /** u = 0.8 µm on 110 mm */ bore: { ...twoPoint("bor-1", "bore gauge 1", 0.8, 110), type: "bore gauge, two-point" },
  /** u = 2.3 µm on 70 mm */ micrometer: { ...twoPoint("mic-1", "micrometer 1", 2.3, 70), type: "micrometer" },
  /** u_cal = 0.5 µm by itself */ plain: { id: "cmp-p", name: "comparator P", type: "two-point comparator", resolution_pm: um(0.1), u_cal_pm: um(0.5), blind_to: ["odd lobes"] },
  thickness: { id: "thk-1", name: "thickness stand 1", type: "comparator on a plate", resolution_pm: um(0.1), u_cal_pm: um(0.1) },
  lever: { id: "lev-1", name: "lever indicator 1", type: "lever indicator", resolution_pm: um(0.1), u_cal_pm: um(0.2) },
};
export const masters = {
  A: { id: "r70-a", name: "ring 70 A", certified_pm: mm(70), u_pm: 0 }, B: { id: "r70-b", name: "ring 70 B", certified_pm: mm(70), u_pm: 0 }, C: { id: "r70-c", name: "ring 70 C", certified_pm: mm(70), u_pm: 0 },
  bore: { id: "r110", name: "ring 110", certified_pm: mm(110), u_pm: 0 }, block: { id: "b20", name: "block 20", certified_pm: mm(20), u_pm: 0 },
};

const planes = [{ name: "1", z_pm: mm(70) }, { name: "2", z_pm: mm(100) }];
const angles = [0, 60_000, 120_000];
type Body = Record<string, unknown>;

/** The seat J1: 70 k4, +2 … +10 µm, two planes at three angles. */
export function journal(more: Body = {}): Body {
  return {
    feature: "J1", component: "shaft", name: "front seat", geometry: "outside", nominal_pm: mm(70), at: { z_pm: mm(62), length_pm: mm(44) },
    characteristics: [{ name: "size", class: "k4", required: true }], plan: { planes, angles_mdeg: angles }, rework: { max_off_pm: um(100), build_up: true }, source: "drawing", reference: "drawing 12", ...more,
  };
}

/** The seat J2 behind it, with its run-out to J1. */
export function otherJournal(): Body {
  return {
    ...journal(), feature: "J2", name: "rear seat", at: { z_pm: mm(300), length_pm: mm(40) },
    characteristics: [{ name: "size", class: "k4", required: true }, { name: "circular run-out", max_pm: um(5), datum: ["J1"], required: true }],
    plan: { planes: [{ name: "1", z_pm: mm(320) }], angles_mdeg: angles, sweep_angles_mdeg: [0, 90_000, 180_000, 270_000] },
  };
}

/** The bore B1: 110 JS5, ±7.5 µm. */
export function bore(): Body {
  return { ...journal(), feature: "B1", component: "housing", name: "front bore", geometry: "inside", nominal_pm: mm(110), characteristics: [{ name: "size", class: "JS5", required: true }] };
}

/** A spacer of 20 mm whose faces are parallel within 3 µm, four stations. */
export function spacer(max = 3): Body {
  return {
    feature: "P1", component: "spacer", name: "inner spacer", geometry: "thickness", nominal_pm: mm(20), at: { z_pm: mm(110), length_pm: mm(20) },
    characteristics: [{ name: "parallelism", max_pm: um(max), required: true }], plan: { planes: [{ name: "1", z_pm: mm(120) }], angles_mdeg: [0, 90_000, 180_000, 270_000], radius_pm: mm(40) }, rework: { max_off_pm: um(50), build_up: false }, source: "shop",
  };
}

const segment = (z: number, long: number, outside: number, inside: number) => ({ z_pm: mm(z), length_pm: mm(long), outside_pm: mm(outside), inside_pm: mm(inside) });
const parts: Record<string, Body> = {
  shaft: { template_id: "shaft", type: "shaft", name: "shaft", place: "whole length", origin: "removed", run_before: true, outline: [segment(0, 62, 88, 40), segment(62, 44, 70, 40), segment(106, 194, 68, 36), segment(300, 40, 70, 36), segment(340, 40, 60, 30)] },
  housing: { template_id: "housing", type: "housing", name: "housing", place: "around the front bearings", origin: "removed", run_before: true, outline: [segment(50, 70, 160, 110), segment(120, 200, 150, 104)] },
  spacer: { template_id: "spacer", type: "spacer", name: "inner spacer", place: "between the front bearings", origin: "removed", run_before: true, outline: [segment(110, 20, 90, 70)] },
};

/** What the shop's own record says: who is who and which gauges and masters there are. */
export function shopEntries(nowMS: number): [string, unknown][] {
  const card = (subject: string, value: unknown): [string, unknown] => ["fact", { subject, field: "card", value: JSON.stringify(value) }];
  return [
    ["fact", { subject: "shop", field: "name", value: "Harrow Lane Spindles" }],
    ...people.flatMap((p): [string, unknown][] => [["fact", { subject: `person/${p.id}`, field: "name", value: p.name }], ["grant", { person: p.id, role: p.role, from_ms: nowMS - 60_000 }]]),
    ...(["technician", "inspector", "office"] as const).map((role): [string, unknown] => ["grant", { person: "gus", role, from_ms: nowMS - 60_000 }]),
    ...Object.values(gauges).map((g) => card(`gauge/${g.id}`, { ...g, due_ms: nowMS + 120 * 86_400_000 })),
    ...Object.values(masters).map((m) => card(`master/${m.id}`, m)),
  ];
}

/** A job with these specifications and the parts that they are on. */
export function jobEntries(specs: Body[]): { facts: [string, unknown][]; parts: [string, unknown][]; specs: [string, unknown][] } {
  return {
    facts: [["fact", { subject: "job", field: "customer", value: "Millrace Gears" }], ["fact", { subject: "job", field: "serial", value: "S-100" }], ["fact", { subject: "job", field: "stage", value: "inspection" }]],
    parts: [...new Set(specs.map((s) => String(s.component)))].map((c) => ["component", parts[c]]),
    specs: specs.map((s) => ["specification", s]),
  };
}
