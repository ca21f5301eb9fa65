import { beforeEach, describe, expect, it } from "vitest";
import type { JobLine, Sheet, SyncState } from "../contract";
import { onlyOld } from "./cleared/answer";
import { actFor } from "./cleared/hold-act";
import { fakeBackend } from "./dev/fake";
import { byStage, late, search, waitsFor } from "./jobs/order";
import { tally } from "./list/list";
import { findPart, newsSince, openCases } from "./reading-sheet";
import { href, parseRoute } from "./route";
import type { Route } from "./route";
import { forgetAll, remember, seenHeads } from "./seen";
import { knowledge, safety } from "./shell/status";

const NOW = Date.UTC(2026, 10, 25, 10);

async function opened(): Promise<{ sheet: Sheet; backend: ReturnType<typeof fakeBackend> }> {
  const backend = fakeBackend({ nowMs: NOW });
  await backend.open("2041");
  return { backend, sheet: backend.sheet.value! };
}

describe("addresses", () => {
  it("lead back to where they came from", () => {
    const routes: Route[] = [{ at: "jobs" }, { at: "job", job: "20/41 µ" }, { at: "measure", job: "2041", feature: "J1", characteristic: "circular run-out" }, { at: "list", job: "2041" }, { at: "review" }, { at: "cleared", job: "2041" }, { at: "cleared", job: "2041", component: "front-a" }, { at: "enter" }, { at: "shop" }];
    for (const r of routes) expect(parseRoute(href(r)), href(r)).toEqual(r);
  });
  it("that are broken lead to the jobs", () => {
    for (const h of ["", "#", "#/nowhere", "#/job", "#/job/%E0%A4%A"]) expect(parseRoute(h), h).toEqual({ at: "jobs" });
  });
});

describe("what an entry has seen", () => {
  beforeEach(forgetAll);
  const sheet = (heads: string[], history: string[]): Sheet => ({ job: "j", heads, entries: history.length, history: history.map((id) => ({ id, kind: "reading", words: "", by: "", as: "technician", device: "", time_ms: 0, clocked: true })) }) as unknown as Sheet;
  it("is the heads as drawn", () => {
    expect(seenHeads(sheet(["a", "b"], ["a", "b"]))).toEqual(["a", "b"]);
  });
  it("and what this page saved since, in place of the heads that it covers", () => {
    const drawn = sheet(["a", "b"], ["a", "b"]);
    remember("j", "m1", ["a", "b"]);
    expect(seenHeads(drawn)).toEqual(["m1"]);
    remember("j", "m2", ["m1"]);
    expect(seenHeads(drawn)).toEqual(["m2"]);
  });
  it("never what came in from elsewhere after the drawing", () => {
    const drawn = sheet(["a"], ["a"]);
    remember("j", "m1", ["a"]);
    expect(seenHeads(drawn)).not.toContain("x");
    // once the sheet shows the own entry beside a foreign one, both are its heads
    expect(seenHeads(sheet(["m1", "x"], ["a", "m1", "x"]))).toEqual(["m1", "x"]);
  });
  it("keeps a head that an own entry did not cover", () => {
    remember("j", "m1", ["a"]);
    expect(seenHeads(sheet(["a", "b"], ["a", "b"])).sort()).toEqual(["b", "m1"]);
  });
});

describe("cases", () => {
  it("are everything that does not conform, worst first", async () => {
    const { sheet } = await opened();
    const cases = openCases(sheet);
    expect(cases.map((c) => c.verdict.outcome)).not.toContain("conforms");
    const rank = ["fails", "in conflict", "cannot be told", "incomplete"];
    const ranks = cases.map((c) => rank.indexOf(c.verdict.outcome));
    expect(ranks).toEqual([...ranks].sort((a, b) => a - b));
    const failing = cases.filter((c) => c.verdict.outcome === "fails").map((c) => c.verdict.margin_pm!);
    expect(failing).toEqual([...failing].sort((a, b) => a - b));
  });
  it("announce what came after they were frozen", async () => {
    const { backend, sheet: frozen } = await opened();
    backend.arrive("reading", { setup: "", feature: "J2", characteristic: "size", plane: "1", angle_mdeg: 0, typed: "+5.0", unit: "µm", means: "from master", value_pm: 5_000_000, purpose: "inspection" }, "ben");
    backend.arrive("decision", { subject: "shaft", outcome: "hold", reason: "x" }, "ines");
    expect(newsSince(frozen, backend.sheet.value!)).toEqual({ readings: 1, others: 1 });
    expect(newsSince(frozen, frozen)).toEqual({ readings: 0, others: 0 });
  });
});

describe("parts", () => {
  it("are found by serial before words, and several where words fit several", async () => {
    const { sheet } = await opened();
    expect(findPart(sheet, " bx-7-01 ").map((c) => c.id)).toEqual(["front-a"]);
    expect(findPart(sheet, "spacer").map((c) => c.id)).toEqual(["inner-spacer", "outer-spacer"]);
    expect(findPart(sheet, "nothing like it")).toEqual([]);
    expect(findPart(sheet, "  ")).toEqual([]);
  });
  it("may be fitted on old knowledge only where nothing else holds them", async () => {
    const { sheet } = await opened();
    const c = sheet.components[0]!;
    const old = { code: "old knowledge", words: "", act: "", who: [] };
    expect(onlyOld({ ...c, cleared: false, holds: [old] })).toBe(true);
    expect(onlyOld({ ...c, cleared: false, holds: [old, { ...old, code: "no decision" }] })).toBe(false);
    expect(onlyOld({ ...c, cleared: false, holds: [] })).toBe(false);
    expect(onlyOld({ ...c, cleared: true, holds: [old] })).toBe(false);
  });
  it("say what may be done about a hold here, and only to those who may", () => {
    const h = (code: string, over = {}) => ({ code, words: "", act: "", who: ["inspector" as const], refs: ["x"], ...over });
    expect(actFor(h("reading not placed"), "inspector")).toBe("settle");
    expect(actFor(h("reading not placed", { refs: [] }), "inspector")).toBe("none");
    expect(actFor(h("reading not placed"), "technician")).toBe("none");
    expect(actFor(h("reading not placed"), undefined)).toBe("none");
    expect(actFor(h("specification not accepted", { feature: "J2" }), "inspector")).toBe("accept");
    expect(actFor(h("no decision"), "inspector")).toBe("decide");
    expect(actFor(h("entries missing"), "inspector")).toBe("none");
  });
  it("are tallied by decision, else by proposal", async () => {
    const { backend } = await opened();
    backend.arrive("decision", { subject: "outer-spacer", outcome: "reuse", reason: "x" }, "ines");
    const t = tally(backend.sheet.value!.components);
    expect(t.decided).toBe("1 reuse");
    expect(t.proposed).toContain("4 replace");
  });
});

describe("jobs", () => {
  const jobs = fakeBackend({ nowMs: NOW }).jobs.value;
  it("stand by stage as the shop walks, then by promise", () => {
    expect(byStage(jobs).map((g) => g.stage)).toEqual(["received", "inspection", "rework and parts", "assembly"]);
    expect(byStage(jobs)[1]!.jobs.map((j) => j.job)).toEqual(["2041", "2043"]);
    expect(byStage([{ ...jobs[0]!, stage: "elsewhere" }, { ...jobs[1]!, stage: "" }]).map((g) => g.stage)).toEqual(["received", "elsewhere"]);
  });
  it("are found by all words typed", () => {
    expect(search(jobs, "okrona 88190").map((j) => j.job)).toEqual(["2038"]);
    expect(search(jobs, "")).toHaveLength(jobs.length);
  });
  it("are late from the day after", () => {
    expect(late("2026-11-24", new Date(2026, 10, 25))).toBe(true);
    expect(late("2026-11-25", new Date(2026, 10, 25))).toBe(false);
    expect(late("soon", new Date(2026, 10, 25))).toBe(false);
  });
  it("say whom they wait for, most first", () => {
    expect(waitsFor({ waits_for: { office: 1, inspector: 3, quality: 0 } } as unknown as JobLine)).toEqual([{ role: "inspector", n: 3 }, { role: "office", n: 1 }]);
  });
});

describe("the status line", () => {
  const sync: SyncState = { unsent: 0, refused: [], photosUnsent: 0, online: true, lastAnswerMs: NOW, busy: false, trouble: "", persisted: true, savedCount: 1, engineReady: true, updateWaiting: false };
  it("calls nothing on the server before the server has answered", () => {
    expect(safety(sync).state).toBe("server");
    expect(safety({ ...sync, lastAnswerMs: null }).state).toBe("here");
    expect(safety({ ...sync, unsent: 2 })).toMatchObject({ state: "here", text: "Saved here, 2 waiting" });
    expect(safety({ ...sync, photosUnsent: 1 }).state).toBe("here");
    expect(safety({ ...sync, unsent: 1, refused: [{ id: "x", job: "j", words: "" }] }).state).toBe("refused");
  });
  it("says when knowledge is old: over four hours, or none", () => {
    const h = 3_600_000;
    expect(knowledge(NOW - 4 * h, NOW).old).toBe(false);
    expect(knowledge(NOW - 4 * h - 1, NOW)).toEqual({ old: true, text: "old knowledge: 4 h" });
    expect(knowledge(null, NOW).old).toBe(true);
    expect(knowledge(NOW + 5_000, NOW)).toEqual({ old: false, text: "heard just now" }); // a clock that was set back
  });
});
