// A backend without a disk, a network or an engine, for looking at the screens and for their tests. It keeps what it is given in memory and
// answers with the rough stand-in of judge.ts. Never in the build.

import { signal } from "@preact/signals";
import type { Backend, ComponentSheet, FeatureSheet, ID, JobLine, ReadingBody, ReadingLine, Saved, Session, SetupBody, Sheet, Shop, Stamp, SyncState, Understood } from "../../contract";
import { lengthText, PM_PER } from "../numbers/length-text";
import type { LengthUnit } from "../numbers/length-text";
import { cards, gauges, masters, mm, specs, um } from "./parts";
import { refresh, worstOf } from "./judge";

export interface FakeOptions { nowMs: number; as?: Session["as"]; empty?: boolean; joined?: boolean }

export function fakeBackend(o: FakeOptions): Backend & { saved: { kind: string; body: unknown; seen: ID[] }[]; arrive(kind: string, body: unknown, by: string): void } {
  let count = 0;
  const nextId = (): ID => (++count).toString(16).padStart(64, "0");
  const stamp = (by: string, ago = 0): Stamp => ({ by, as: "technician", device: "bench-1", time_ms: o.nowMs - ago, clocked: true });
  const saved: { kind: string; body: unknown; seen: ID[] }[] = [];
  const setups: Sheet["setups"] = [];
  const setup = (body: SetupBody, by: string): ID => {
    const id = nextId();
    setups.push({ ...body, ...stamp(by, 3.6e6), id, zero_before_pm: 0, zero_after_pm: um(0.2), corrected: false, readings: 6, struck: false });
    return id;
  };
  const g = gauges(o.nowMs);
  const cmp = setup({ gauge: g[0]!, mode: "master", master: masters[0]!, t_part_mdegc: 20500, t_master_mdegc: 20300, soaked: true }, "ana");
  const cmp2 = setup({ gauge: g[0]!, mode: "master", master: masters[0]!, soaked: true }, "ben");
  const ind = setup({ gauge: g[3]!, mode: "indicator", soaked: true, support: "between centres", zero_ref: "keyway", sense: "clockwise seen from the nose" }, "ana");
  const read = (feature: string, characteristic: string, values: [string, number, number][], by: string, s: ID): ReadingLine[] => values.map(([plane, deg, v], i) => ({
    setup: s, feature, characteristic, ...(plane ? { plane } : {}), angle_mdeg: deg * 1000, typed: v.toFixed(1).replace(/^(?=[1-9])/, "+"), unit: "µm", means: s === ind ? "indicator" : "from master", value_pm: um(v), purpose: "inspection", ...stamp(by, 3e6 - i * 6e4), id: nextId(), status: "counts",
  }));
  const ring = (p: string, vs: number[]): [string, number, number][] => vs.map((v, i) => [p, (360 / vs.length) * i, v]);
  const given: Record<string, ReadingLine[]> = {
    T1: read("T1", "circular run-out", ring("nose", [2.4, 2.0, 1.0, 0, -0.6, -0.4, 0.6, 1.6]), "ana", ind),
    J1: [...read("J1", "size", [["1", 0, 4], ["1", 120, 5], ["1", 240, 4.6], ["2", 0, 5], ["2", 120, 6]], "ana", cmp), ...read("J1", "circular run-out", [...ring("1", [0, 0.4, 0.6, 0.8, 0.6, 0.2, 0, -0.2]), ...ring("2", [0, 0.2, 0.6, 0.8, 1, 0.6, 0.2, 0])], "ana", ind)],
    J2: [...read("J2", "size", [["1", 0, 2.6], ["1", 120, 5], ["1", 240, 4.2], ["2", 0, 5], ["2", 120, 6], ["2", 240, 4.4]], "ana", cmp)],
    F1: read("F1", "axial run-out", ring("", [0, 0.2, 0.4, 0.6, 0.6, 0.4, 0.2, 0]), "ana", ind),
    B1: [...read("B1", "size", [["1", 0, -10.6], ["1", 120, -4], ["1", 240, -3.5], ["2", 0, -2], ["2", 120, -4.5], ["2", 240, -4]], "ben", cmp2)],
    B2: [...read("B2", "size", [["1", 0, 5], ["1", 120, 7]], "ana", cmp), ...read("B2", "size", [["1", 0, 7.5]], "ben", cmp2)],
    S1: read("S1", "size", [["", 0, 1.4], ["", 90, 1.4], ["", 180, -1.4], ["", 270, -1.4]], "ben", cmp2),
    S2: read("S2", "size", [["", 0, 0.4], ["", 90, 0.2], ["", 180, -0.2], ["", 270, 0.1]], "ben", cmp2),
    N1: [], D1: [],
  };
  const featureSheet = (feature: string): FeatureSheet => refresh({ spec: specs.find((s) => s.feature === feature)!, spec_id: nextId(), round: 0, verdict: { feature, name: "", outcome: "incomplete", characteristics: [] }, readings: given[feature] ?? [], reworks: [], concessions: [] });
  const component = (c: (typeof cards)[number]): ComponentSheet => settle({ ...c, proposal: { proposal: "measure", reason: "" }, decision: "", decisions: [], cleared: false, cleared_by: "", holds: [], features: specs.filter((s) => s.component === c.id).map((s) => featureSheet(s.feature)), evidence: "5e1f0c9a22", fitted: false });
  const first: Sheet = {
    job: "2041", engine: "stand-in", digest: "9c41e07ab2d35f60", entries: 148, heads: [nextId()], facts: [fact("customer", "Halden Pressworks"), fact("maker", "Okrona"), fact("model", "VX-50 belt"), fact("serial", "88213"), fact("stage", "inspection")],
    components: cards.map(component), setups, steps: [], findings: [], alarms: [], holds: [], without_effect: [], history: [],
  };
  const sheet = signal<Sheet | null>(null);
  const current = signal<Sheet>(first);
  const session: Session = { person: { id: "ana", name: "Ana Velde", roles: [{ role: "technician", grant: nextId() }, { role: "inspector", grant: nextId() }, { role: "assembler", grant: nextId() }] }, as: o.as ?? "technician", device: "bench-1", server: "shop" };
  const sync: SyncState = { unsent: 3, refused: [], photosUnsent: 0, online: false, lastAnswerMs: o.nowMs - 22 * 6e4, busy: false, trouble: "", persisted: true, savedCount: 148, engineReady: true, updateWaiting: false };
  const shop: Shop = { name: "Weir Lane Spindles", people: [{ id: "ana", name: "Ana Velde", roles: ["technician", "inspector"] }, { id: "ben", name: "Ben Okoro", roles: ["technician"] }, { id: "ines", name: "Ines Marr", roles: ["inspector", "quality"] }], gauges: g, masters, settings: {} };
  const jobs: JobLine[] = o.empty ? [] : [
    line("2041", "Halden Pressworks", "Okrona", "VX-50 belt", "88213", "inspection", "2026-11-27", 10, 2, 8, { inspector: 4, technician: 3 }, 4),
    line("2043", "Tarn Valley Gear", "Bexmoor", "M4 motor spindle", "M4-0097", "inspection", "2026-12-04", 14, 0, 14, { technician: 9 }, 1),
    line("2038", "Halden Pressworks", "Okrona", "VX-50 belt", "88190", "assembly", "2026-11-20", 10, 9, 1, { inspector: 1 }, 0),
    line("2044", "Northgate Grinding", "Silvarn", "GX 60k", "60K-311", "received", "", 0, 0, 0, { office: 1 }, 0),
    line("2035", "Calder Dies", "Bexmoor", "B2 belt", "B2-554", "rework and parts", "2026-12-01", 11, 6, 5, { inspector: 1, office: 2 }, 2),
  ];
  const state = { jobs: signal(jobs), shop: signal<Shop | null>(shop), session: signal<Session | null>(o.joined === false ? null : session), sync: signal(sync) };
  return {
    ...state, sheet, saved,
    async start() {},
    async enrol(code) { if (code.toUpperCase() !== "ALDER-7") return { ok: false, words: "The server does not know this code. Codes hold for 15 minutes; ask for a new one." }; state.session.value = session; return { ok: true }; },
    async leave() { state.session.value = null; },
    setRole(as) { if (state.session.value) state.session.value = { ...state.session.value, as }; },
    async open(job) { if (job !== "2041") throw new Error(`job ${job} is not on this device; go where the network reaches and open it once`); sheet.value = current.value; },
    async save(_job, kind, body, seen): Promise<Saved> { saved.push({ kind, body, seen }); const id = nextId(); apply(id, kind, body, session.person.id); return { ok: true, id }; },
    async understand(q): Promise<Understood> { return understand(q.text, q.unit, q.means); },
    async capable(q) {
      const mic = q.setup.gauge.u_cal_pm > um(1);
      return mic ? { can: false, best_pc: 0.918, bound_U_pm: um(4.08), words: "Its expanded uncertainty is 4.6 µm; in a zone of 8 µm even a value in the very middle reaches only 91.8 %. A gauge with U ≤ 4.08 µm is needed." }
        : { can: true, best_pc: 1, bound_U_pm: um(4.08), words: "U is 1.0 µm, an eighth of the zone of 8 µm." };
    },
    async explain(q) {
      return { feature: q.feature, name: "front journal", characteristic: q.characteristic, outcome: "conforms", sentence: "within its limits", steps: [
        { key: "readings", title: "Readings", head: ["station", "typed"], rows: [{ cells: ["plane 1, 0°", "+4.0 µm"] }, { cells: ["plane 1, 60°", "+5.0 µm"] }] },
        { key: "decision", title: "Decision", formula: "p_c = Φ((T_U − y)/u) − Φ((T_L − y)/u)", source: "JCGM 106", words: ["p_c = 0.99997"] }] };
    },
    async export(_job, format) { return new Blob([format], { type: "text/plain" }); },
    async exportEntries() { return new Blob([""]); },
    async importEntries() { return { taken: 0, words: "0 entries taken in; all were here already." }; },
    async savePhoto(b) { return { hash: nextId(), bytes: b.size, w: 0, h: 0 }; },
    async photo() { return null; },
    async syncNow() { state.sync.value = { ...state.sync.value, unsent: 0, online: true, lastAnswerMs: o.nowMs }; },
    applyUpdate() {},
    arrive(kind, body, by) { apply(nextId(), kind, body, by); },
  };

  function apply(id: ID, kind: string, body: unknown, by: string): void {
    const s = current.value;
    const next: Sheet = { ...s, entries: s.entries + 1, heads: [id], history: [...s.history, { id, kind, words: kind, ...stamp(by) }] };
    if (kind === "setup") next.setups = [...s.setups, { ...(body as SetupBody), ...stamp(by), id, zero_before_pm: null, zero_after_pm: null, corrected: false, readings: 0, struck: false }];
    if (kind === "reading") {
      const r = body as ReadingBody;
      if (r.feature === "master") next.setups = s.setups.map((x) => (x.id === r.setup ? { ...x, ...(r.plane === "before" ? { zero_before_pm: r.value_pm ?? 0 } : { zero_after_pm: r.value_pm ?? 0 }) } : x));
      else next.components = s.components.map((c) => settle({ ...c, features: c.features.map((f) => (f.spec.feature === r.feature ? refresh({ ...f, readings: [...f.readings, { ...r, ...stamp(by), id, status: "counts" }] }) : f)) }));
    }
    if (kind === "strike") { const t = (body as { target: ID }).target; next.components = s.components.map((c) => settle({ ...c, features: c.features.map((f) => refresh({ ...f, readings: f.readings.map((r) => (r.id === t ? { ...r, status: "struck" as const, why: "struck" } : r)) })) })); }
    if (kind === "decision") { const d = body as { subject: string; outcome: string; reason: string }; next.components = s.components.map((c) => (c.id === d.subject ? settle({ ...c, decision: d.outcome, decisions: [...c.decisions, { id, ...stamp(by), outcome: d.outcome, reason: d.reason, stands: true }] }) : c)); }
    if (kind === "step") { const d = body as { component: string }; next.components = s.components.map((c) => (c.id === d.component ? { ...c, fitted: true } : c)); }
    current.value = next;
    if (sheet.value) sheet.value = next;
  }
}

function settle(c: ComponentSheet): ComponentSheet {
  const all = c.features.flatMap((f) => f.verdict.characteristics.map((v) => ({ f, v })));
  const o = worstOf(all.map((x) => x.v)), worst = all.find((x) => x.v.outcome === o);
  const bearing = c.type === "bearing";
  const proposal = bearing ? "replace" as const : all.length === 0 ? "measure" as const : o === "conforms" ? "reuse" as const : o === "fails" ? (worst?.v.mend?.allowed ? "rework" as const : "replace" as const) : o === "incomplete" ? "measure" as const : "decide" as const;
  const holds: ComponentSheet["holds"] = [];
  if (!c.decision) holds.push({ code: "no decision", words: "No decision.", act: "decide", who: ["inspector"] });
  if (o !== "conforms" && worst) holds.push({ code: "does not conform", words: `${worst.f.spec.feature} ${worst.v.characteristic}: ${worst.v.sentence}`, act: o === "incomplete" ? "take the missing readings" : "measure with a better gauge, rework, or decide", who: ["technician", "inspector"], feature: worst.f.spec.feature, characteristic: worst.v.characteristic });
  const cleared = holds.length === 0 && c.decision === "reuse";
  return { ...c, holds, cleared, cleared_by: cleared ? "reuse by Ines Marr" : "", proposal: { proposal, reason: bearing ? "Has run; bearings that have run are replaced (common practice)." : worst?.v.sentence ?? "Nothing is specified for this part.", ...(worst ? { feature: worst.f.spec.feature, characteristic: worst.v.characteristic } : {}) } };
}

function understand(text: string, unit: string, means: ReadingBody["means"]): Understood {
  const n = Number(text);
  if (Number.isNaN(n)) return { ok: false, words: `“${text}” is not a number. Type digits, a sign and a decimal point.` };
  if (means === "quantity") { const [a, b = ""] = text.split("."); return { ok: true, words: "", quantity: { value: Number(a! + b), exp10: -b.length || 0, unit }, shown: `${text} ${unit}` }; }
  const pm = Math.round(n * PM_PER[unit as LengthUnit]);
  const slip = means === "size" ? Math.abs(pm - mm(80)) > mm(0.1) : Math.abs(pm) > um(60);
  return { ok: true, words: "", value_pm: pm, shown: means === "size" ? lengthText(pm, "mm", 4) : lengthText(pm, unit as LengthUnit, 1, true), ...(slip ? { ask: `${lengthText(Math.abs(pm), "mm", 4)} from the master is far outside anything read here. A slip of the decimal point or the unit?` } : {}) };
}

function fact(field: string, value: string): Sheet["facts"][number] { return { subject: "job", field, values: [value] }; }

function line(job: string, customer: string, maker: string, model: string, serial: string, stage: string, promised: string, components: number, cleared: number, held: number, waits_for: Record<string, number>, out: number): JobLine {
  return { job, customer, maker, model, serial, stage, promised, entries: 148, components, cleared, held, waits_for, out };
}
