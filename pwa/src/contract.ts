// What the parts of the page promise one another.
//
// The page (src/page) draws and listens; it never touches IndexedDB, the network or the engine. It gets everything through `Backend`, whose one implementation
// (src/backend) talks to the worker that owns the engine, and to the disk. Entries are opaque strings here: only the engine writes and reads them.
// Lengths are whole picometres as numbers (safe up to 9 m), angles thousandths of a degree, times milliseconds since 1970 UTC.

export type Role = "technician" | "inspector" | "assembler" | "quality" | "office" | "admin" | "server";
export type Outcome = "conforms" | "fails" | "cannot be told" | "incomplete" | "in conflict";
export type Action = "reuse" | "rework" | "replace" | "measure" | "decide";
export type ID = string; // 64 hex digits

export interface Stamp { by: string; as: Role; device: string; time_ms: number; clocked: boolean }

export interface Quantity { value: number; exp10: number; unit: string; bound?: string }
export interface Segment { z_pm: number; length_pm: number; outside_pm: number; inside_pm?: number; outside_end_pm?: number; inside_end_pm?: number }
export interface BearingFacts { designation?: string; bore_pm?: number; outside_pm?: number; width_pm?: number; class?: string; contact_angle_mdeg?: number; opens_to?: string; rollers?: boolean }
export interface ComponentCard { id?: string; type: string; name: string; place: string; origin: string; serial?: string; set_id?: string; run_before: boolean; outline?: Segment[]; bearing?: BearingFacts }

export interface SpecCharacteristic {
  name: string; class?: string; lower_pm?: number; upper_pm?: number; max_pm?: number; lower?: Quantity; upper?: Quantity;
  datum?: string[]; required: boolean; rule?: string; ask?: string;
}
export interface Specification {
  feature: string; component: string; name: string; geometry: "outside" | "inside" | "face" | "taper" | "thickness" | "sweep" | "quantity" | "attribute";
  nominal_pm?: number; at?: { z_pm: number; length_pm: number }; characteristics: SpecCharacteristic[];
  plan: { planes: { name: string; z_pm: number }[] | null; angles_mdeg: number[] | null; sweep_angles_mdeg?: number[]; radius_pm?: number; min_n?: number };
  rework: { max_off_pm?: number; build_up: boolean; min_wall_pm?: number };
  source: "drawing" | "standard" | "shop" | "proposed"; reference?: string; accepted_by?: string; alpha_ppb_per_k?: number;
}
export interface Gauge { id: string; name?: string; type: string; resolution_pm: number; cal_id?: string; due_ms?: number; u_cal_pm: number; s_p_pm?: number; nu?: number; blind_to?: string[] }
export interface Master { id: string; name?: string; certified_pm: number; alpha_ppb_per_k?: number; u_pm: number }
export interface SetupBody {
  gauge: Gauge; mode: "absolute" | "master" | "indicator"; master?: Master; t_master_mdegc?: number; t_part_mdegc?: number; u_t_mk?: number; soaked: boolean;
  support?: string; zero_ref?: string; sense?: string; corrects?: string;
}
export interface ReadingBody {
  setup: string; feature: string; characteristic: string; plane?: string; angle_mdeg: number; repeat?: number; closing?: boolean; typed: string; unit: string;
  means: "size" | "from nominal" | "from master" | "indicator" | "quantity" | "yes or no"; value_pm?: number; quantity?: Quantity; yes?: boolean;
  purpose: "arrival" | "teardown" | "inspection" | "assembly" | "final" | "marked"; taken_at_ms?: number; blind?: boolean; asked?: string;
}

// ---- the sheet: one job as people see it (mirrors Go's internal/sheet; null slices may arrive for empty ones) ----
export interface Reason { code: string; words: string; act: string; who: Role[]; refs?: ID[]; feature?: string; characteristic?: string }
export interface VStation { plane?: string; angle_mdeg: number; value_pm: number; u_pm: number; p_c: number; n: number; people: string[]; ids: ID[]; clash?: boolean; outcome: Outcome }
export interface BudgetLine { source: string; value: string; distribution: string; u_um: number; share: number; mend?: string }
export interface Figure { name: string; value: number; unit: string; note?: string }
export interface Mend { direction: "metal off" | "metal on"; from_pm: number; to_pm: number; aim_pm: number; allowed: boolean; why: string }
export interface VCharacteristic {
  characteristic: string; outcome: Outcome; value_pm: number | null; lower_pm: number | null; upper_pm: number | null; U_pm: number | null; p_c: number | null; rule: string;
  quantity?: Quantity; lower?: Quantity; upper?: Quantity; need: number; have: number; missing?: { plane: string; angle_mdeg: number }[]; stations?: VStation[]; figures?: Figure[]; budget?: BudgetLine[];
  margin_pm: number | null; mend?: Mend; settle?: string; sentence: string; notes?: string[]; conceded?: string; limits_from: string; required: boolean; doubtful?: string; open?: boolean;
}
export interface VFeature { feature: string; name: string; outcome: Outcome; characteristics: VCharacteristic[] }
export interface Proposal { proposal: Action; reason: string; feature?: string; characteristic?: string }
export interface ReadingLine extends ReadingBody, Stamp { id: ID; status: "counts" | "struck" | "earlier round" | "unplaced" | "without effect"; why?: string }
export interface FeatureSheet {
  spec: Specification; spec_id: ID; others?: Specification[]; round: number; verdict: VFeature; readings: ReadingLine[];
  reworks: (Stamp & { id: ID; state: string; operation: string; struck: boolean })[]; concessions: (Stamp & { id: ID; characteristic: string; words: string; covers: boolean; why?: string })[];
}
export interface DecisionLine extends Stamp { id: ID; outcome: string; reason: string; stands: boolean; why?: string }
export interface ComponentSheet extends ComponentCard {
  proposal: Proposal; decision: string; decisions: DecisionLine[]; cleared: boolean; cleared_by: string; holds: Reason[]; features: FeatureSheet[]; evidence: string; fitted: boolean;
}
export interface SetupLine extends SetupBody, Stamp { id: ID; zero_before_pm: number | null; zero_after_pm: number | null; corrected: boolean; readings: number; struck: boolean }
export interface Line extends Stamp { id: ID; kind: string; words: string; why?: string }
export interface Sheet {
  job: string; engine: string; digest: string; entries: number; heads: ID[];
  facts: { subject: string; field: string; values: string[] }[]; components: ComponentSheet[]; setups: SetupLine[];
  steps: (Stamp & { id: ID; what: string; component: string; place: string; words: string })[];
  findings: (Stamp & { id: ID; subject: string; place: string; severity: string; text: string; signs: string[]; photos: string[]; struck: boolean })[];
  alarms: string[]; holds: Reason[]; without_effect: Line[]; history: Line[];
}

// ---- the shop: people, gauges, masters (folded from the shop's own record) ----
export interface Shop { name: string; people: { id: string; name: string; roles: Role[] }[]; gauges: Gauge[]; masters: Master[]; settings: Record<string, string> }

// ---- who works on this device ----
export interface Person { id: string; name: string; roles: { role: Role; grant: ID }[] }
export interface Session { person: Person; as: Role; device: string; server: string }

/** One line of the list of jobs, kept ready so that the start screen needs no folding. */
export interface JobLine {
  job: string; customer: string; maker: string; model: string; serial: string; stage: string; promised: string; entries: number;
  components: number; cleared: number; held: number; waits_for: Record<string, number>; /* role → how many holds it could lift */ out: number; /* features out or not to be told */
}

export interface SyncState {
  /** entries saved on this device and not yet on the server */ unsent: number;
  /** entries that the server refused, with the reason in words; they stay here and can be exported */ refused: { id: ID; job: string; words: string }[];
  photosUnsent: number;
  /** a fresh answer of our server within the last minute; never navigator.onLine */ online: boolean;
  lastAnswerMs: number | null; busy: boolean; /** what went wrong last, in words, or "" */ trouble: string;
  persisted: boolean; /** the browser promised to keep our storage */ savedCount: number; engineReady: boolean; updateWaiting: boolean;
}

export type Saved = { ok: true; id: ID } | { ok: false; words: string };

export interface ExplanationStep { key: string; title: string; words?: string[]; formula?: string; source?: string; head?: string[]; rows?: { cells: string[]; ids?: ID[] }[] }
export interface Explanation { feature: string; name: string; characteristic: string; outcome: Outcome; sentence: string; steps: ExplanationStep[] }

/** What was typed, as the engine understood it. `ask` is a question to put before keeping ("0.9955 mm under nominal: a slip?"); never a refusal. */
export interface Understood { ok: boolean; words: string; value_pm?: number; shown?: string; deviation_pm?: number; ask?: string; quantity?: Quantity }

export interface Backend {
  /** Signals are read by the page; the backend writes them. */
  readonly jobs: { readonly value: JobLine[] };
  readonly shop: { readonly value: Shop | null };
  readonly session: { readonly value: Session | null };
  readonly sync: { readonly value: SyncState };
  /** The open job's sheet as of now; null while loading. A frozen screen keeps its own copy and compares `entries`. */
  readonly sheet: { readonly value: Sheet | null };

  start(): Promise<void>;
  /** Joins this device by a code that the server printed or an admin made. */
  enrol(code: string, deviceName: string): Promise<{ ok: true } | { ok: false; words: string }>;
  /** Forgets the session, keeps the record. */
  leave(): Promise<void>;
  setRole(as: Role): void;
  open(job: string): Promise<void>;
  /** Makes an entry by the engine, saves it to disk, then (and only then) answers ok; folds and sends in the background.
   *  `seen` are the heads of the sheet that was rendered; the body is checked by the engine. */
  save(job: string, kind: string, body: unknown, seen: ID[]): Promise<Saved>;
  /** How the engine reads what was typed for this station. */
  understand(q: { job: string; feature: string; characteristic: string; setup: ID; text: string; unit: string; means: ReadingBody["means"] }): Promise<Understood>;
  /** Can this set-up ever decide this characteristic? Asked when the gauge is picked. */
  capable(q: { job: string; feature: string; characteristic: string; setup: SetupBody }): Promise<{ can: boolean; words: string; best_pc: number; bound_U_pm: number }>;
  /** How a verdict came about, step by step: readings, corrections, stations, formula, budget, limits, decision, what would settle it. */
  explain(q: { job: string; feature: string; characteristic: string }): Promise<Explanation>;
  /** The job's list as a file: "html" (to print), "csv", "json", or "job" (a job file for `runtrue assess`). */
  export(job: string, format: "html" | "csv" | "json" | "job"): Promise<Blob>;
  /** Everything saved on this device, as one file: the last resort when no server answers. */
  exportEntries(): Promise<Blob>;
  importEntries(file: Blob): Promise<{ taken: number; words: string }>;
  savePhoto(blob: Blob): Promise<{ hash: string; bytes: number; w: number; h: number }>;
  photo(hash: string): Promise<Blob | null>;
  syncNow(): Promise<void>;
  /** Loads the newer version that the service worker has ready; only when nothing is unsaved. */
  applyUpdate(): void;

  // Not every backend has these (a fake one may leave them out).
  /** May readings be kept here? Not in a browser tab on iOS, whose storage the system deletes: `save` then refuses with the same words. */
  readonly mayCapture?: { readonly value: { ok: boolean; words: string } };
  /** The code of the link that opened the page (`#enter=CODE`), already removed from the address; "" without one or once used. */
  readonly invitation?: { readonly value: string };
  /** The page says that something is typed and not yet kept: no update takes over meanwhile. */
  typing?(open: boolean): void;
}
