// An invented spindle for looking at the screens: a belt-driven 50-taper machining spindle of a shop that does not exist.

import type { ComponentCard, Gauge, Master, Segment, Specification } from "../../contract";

export const mm = (v: number): number => Math.round(v * 1e9);
export const um = (v: number): number => Math.round(v * 1e6);
const seg = (z: number, length: number, outside: number, inside = 0, insideEnd = 0): Segment => ({ z_pm: mm(z), length_pm: mm(length), outside_pm: mm(outside), ...(inside ? { inside_pm: mm(inside) } : {}), ...(insideEnd ? { inside_end_pm: mm(insideEnd) } : {}) });

export const cards: ComponentCard[] = [
  { id: "shaft", type: "shaft", name: "Shaft", place: "", origin: "removed", serial: "K-88213", run_before: true, outline: [seg(0, 22, 128.57, 69.85, 63.43), seg(22, 18, 96, 63.43, 58.18), seg(40, 60, 80, 58.18, 40.7), seg(100, 230, 78, 32), seg(330, 42, 70, 32), seg(372, 68, 60, 32), seg(440, 80, 50, 32)] },
  { id: "housing", type: "housing", name: "Housing", place: "", origin: "removed", run_before: true, outline: [seg(42, 66, 160, 125), seg(108, 25, 210, 116), seg(133, 193, 160, 116), seg(326, 36, 160, 110)] },
  { id: "front-a", type: "bearing", name: "Front bearing A", place: "front, outer of the pair", origin: "removed", serial: "BX-7-01", set_id: "BX-7", run_before: true, outline: [seg(44, 22, 125, 80)], bearing: { designation: "7016", bore_pm: mm(80), outside_pm: mm(125), width_pm: mm(22), class: "4", contact_angle_mdeg: 25000, opens_to: "nose" } },
  { id: "inner-spacer", type: "spacer", name: "Inner spacer", place: "front, between the pair", origin: "removed", run_before: true, outline: [seg(66, 16, 94, 80)] },
  { id: "outer-spacer", type: "spacer", name: "Outer spacer", place: "front, between the pair", origin: "removed", run_before: true, outline: [seg(66, 16, 125, 111)] },
  { id: "front-b", type: "bearing", name: "Front bearing B", place: "front, inner of the pair", origin: "removed", serial: "BX-7-02", set_id: "BX-7", run_before: true, outline: [seg(82, 22, 125, 80)], bearing: { designation: "7016", bore_pm: mm(80), outside_pm: mm(125), width_pm: mm(22), class: "4", contact_angle_mdeg: 25000, opens_to: "rear" } },
  { id: "rear", type: "bearing", name: "Rear bearing", place: "rear, floating", origin: "removed", serial: "R-1140", run_before: true, outline: [seg(336, 20, 110, 70)], bearing: { designation: "6014", bore_pm: mm(70), outside_pm: mm(110), width_pm: mm(20), class: "5" } },
  { id: "nut", type: "nut", name: "Lock nut", place: "behind the front pair", origin: "removed", run_before: true, outline: [seg(104, 18, 102, 78)] },
  { id: "front-cover", type: "cover", name: "Front cover", place: "front", origin: "removed", run_before: true, outline: [seg(26, 16, 160, 100)] },
  { id: "drawbar", type: "drawbar", name: "Drawbar", place: "in the shaft", origin: "removed", run_before: true, outline: [seg(128, 382, 24)] },
];

const three = [0, 120000, 240000], eight = [0, 45000, 90000, 135000, 180000, 225000, 270000, 315000], four = [0, 90000, 180000, 270000];
const two = (a: number, b: number): { name: string; z_pm: number }[] => [{ name: "1", z_pm: mm(a) }, { name: "2", z_pm: mm(b) }];

export const specs: Specification[] = [
  { feature: "T1", component: "shaft", name: "taper at the nose", geometry: "sweep", at: { z_pm: 0, length_pm: mm(100) }, characteristics: [{ name: "circular run-out", max_pm: um(3), datum: ["J1", "J2"], required: true }], plan: { planes: [{ name: "nose", z_pm: mm(5) }], angles_mdeg: eight, sweep_angles_mdeg: eight }, rework: { max_off_pm: um(50), build_up: false }, source: "drawing", reference: "T-2041" },
  { feature: "F1", component: "shaft", name: "bearing shoulder", geometry: "face", at: { z_pm: mm(40), length_pm: mm(0.001) }, characteristics: [{ name: "axial run-out", max_pm: um(2), datum: ["J1"], required: true }], plan: { planes: null, angles_mdeg: eight, radius_pm: mm(44) }, rework: { max_off_pm: um(20), build_up: false }, source: "drawing", reference: "T-2041" },
  { feature: "J1", component: "shaft", name: "front bearing journal", geometry: "outside", nominal_pm: mm(80), at: { z_pm: mm(42), length_pm: mm(56) }, characteristics: [{ name: "size", class: "k4", required: true }, { name: "circular run-out", max_pm: um(2), required: true }], plan: { planes: two(52, 92), angles_mdeg: three, sweep_angles_mdeg: eight }, rework: { max_off_pm: um(20), build_up: true }, source: "drawing", reference: "T-2041" },
  { feature: "J2", component: "shaft", name: "rear bearing journal", geometry: "outside", nominal_pm: mm(70), at: { z_pm: mm(332), length_pm: mm(36) }, characteristics: [{ name: "size", class: "k4", required: true }], plan: { planes: two(338, 362), angles_mdeg: three }, rework: { max_off_pm: um(20), build_up: true }, source: "proposed" },
  { feature: "B1", component: "housing", name: "front bearing bore", geometry: "inside", nominal_pm: mm(125), at: { z_pm: mm(44), length_pm: mm(62) }, characteristics: [{ name: "size", class: "JS5", required: true }], plan: { planes: two(54, 96), angles_mdeg: three }, rework: { max_off_pm: um(30), build_up: false }, source: "drawing", reference: "T-2042" },
  { feature: "B2", component: "housing", name: "rear bearing bore", geometry: "inside", nominal_pm: mm(110), at: { z_pm: mm(328), length_pm: mm(32) }, characteristics: [{ name: "size", class: "H6", required: true }], plan: { planes: two(334, 354), angles_mdeg: three }, rework: { build_up: false }, source: "drawing", reference: "T-2042" },
  { feature: "S1", component: "inner-spacer", name: "inner spacer", geometry: "thickness", nominal_pm: mm(16), at: { z_pm: mm(66), length_pm: mm(16) }, characteristics: [{ name: "parallelism", max_pm: um(2), required: true }], plan: { planes: null, angles_mdeg: four }, rework: { max_off_pm: um(100), build_up: false }, source: "shop", reference: "shop rule 4" },
  { feature: "S2", component: "outer-spacer", name: "outer spacer", geometry: "thickness", nominal_pm: mm(16), at: { z_pm: mm(66), length_pm: mm(16) }, characteristics: [{ name: "parallelism", max_pm: um(2), required: true }], plan: { planes: null, angles_mdeg: four }, rework: { max_off_pm: um(100), build_up: false }, source: "shop", reference: "shop rule 4" },
  { feature: "N1", component: "nut", name: "thread and face", geometry: "attribute", at: { z_pm: mm(104), length_pm: mm(18) }, characteristics: [{ name: "attribute", required: true, ask: "Is the thread clean, and the face free of fretting?" }], plan: { planes: null, angles_mdeg: [0] }, rework: { build_up: false }, source: "shop" },
  { feature: "D1", component: "drawbar", name: "clamping force", geometry: "quantity", at: { z_pm: mm(128), length_pm: mm(382) }, characteristics: [{ name: "quantity", lower: { value: 20, exp10: 0, unit: "kN" }, upper: { value: 28, exp10: 0, unit: "kN" }, required: true }], plan: { planes: null, angles_mdeg: [0] }, rework: { build_up: false }, source: "drawing", reference: "T-2050" },
];

export const gauges = (now: number): Gauge[] => [
  { id: "cmp-3", name: "Comparator 3", type: "two-point comparator", resolution_pm: um(0.1), cal_id: "C-1182", due_ms: now + 90 * 864e5, u_cal_pm: um(0.3), s_p_pm: um(0.2), nu: 24, blind_to: ["odd lobes"] },
  { id: "mic-70", name: "Micrometer 50–75", type: "outside micrometer", resolution_pm: um(1), cal_id: "C-1090", due_ms: now + 30 * 864e5, u_cal_pm: um(1.6), s_p_pm: um(1.2), nu: 18 },
  { id: "bore-2", name: "Bore gauge 100–160", type: "bore gauge, two-point", resolution_pm: um(0.5), cal_id: "C-1140", due_ms: now - 6 * 864e5, u_cal_pm: um(0.6), s_p_pm: um(0.5), nu: 20 },
  { id: "ind-1", name: "Lever indicator 1", type: "lever indicator", resolution_pm: um(0.2), cal_id: "C-1175", due_ms: now + 200 * 864e5, u_cal_pm: um(0.25), s_p_pm: um(0.15), nu: 30 },
  { id: "force-1", name: "Force gauge", type: "drawbar force gauge", resolution_pm: 0, cal_id: "C-0901", due_ms: now + 60 * 864e5, u_cal_pm: 0 },
];

export const masters: Master[] = [
  { id: "ring-80", name: "Setting ring 80", certified_pm: mm(80.0003), u_pm: um(0.2) },
  { id: "ring-70", name: "Setting ring 70", certified_pm: mm(69.9998), u_pm: um(0.2) },
  { id: "ring-110", name: "Setting ring 110", certified_pm: mm(110.0012), u_pm: um(0.4) },
  { id: "ring-125", name: "Setting ring 125", certified_pm: mm(125.0001), u_pm: um(0.4) },
  { id: "block-16", name: "Gauge block 16", certified_pm: mm(16.00002), u_pm: um(0.05) },
];
