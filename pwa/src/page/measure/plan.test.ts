import { describe, expect, it } from "vitest";
import type { ReadingLine } from "../../contract";
import { specs } from "../dev/parts";
import { offered, sortGauges } from "./gauge-pick";
import { kindOf, suits, temperature } from "./in-use";
import { isSweep, meansFor, nextStation, purposeFor, readAs, stationKey, stationsOf, takenAt } from "./plan";

const spec = (f: string) => specs.find((s) => s.feature === f)!;

describe("stations", () => {
  it("go plane by plane round the angles", () => {
    expect(stationsOf(spec("J1"), "size").map(stationKey)).toEqual(["1@0", "1@120000", "1@240000", "2@0", "2@120000", "2@240000"]);
  });
  it("of a sweep end each plane at its first angle again", () => {
    const s = stationsOf(spec("J1"), "circular run-out");
    expect(s).toHaveLength(18);
    expect(s[8]).toEqual({ plane: "1", angle_mdeg: 0, closing: true });
    expect(s[17]).toEqual({ plane: "2", angle_mdeg: 0, closing: true });
  });
  it("exist where a plan has neither planes nor angles", () => {
    expect(stationsOf({ ...spec("D1"), plan: { planes: null, angles_mdeg: null } }, "quantity")).toEqual([{ plane: "", angle_mdeg: 0, closing: false }]);
  });
  it("come in turn, skip what has a reading, and end", () => {
    const s = stationsOf(spec("J1"), "size");
    const taken = new Map([["1@0", 1], ["1@120000", 1]]);
    expect(stationKey(nextStation(s, taken, null)!)).toBe("1@240000");
    expect(stationKey(nextStation(s, taken, s[5]!)!)).toBe("1@240000"); // round once
    expect(stationKey(nextStation(s, taken, s[2]!)!)).toBe("2@0");
    expect(nextStation(s, new Map(s.map((x) => [stationKey(x), 1])), s[0]!)).toBeNull();
  });
});

describe("what serves what", () => {
  it("sizes serve variation, taper and a ring's parallelism; sweeps serve roundness and run-outs", () => {
    expect(["size variation", "taper"].map((c) => readAs("outside", c))).toEqual(["size", "size"]);
    expect(readAs("thickness", "parallelism")).toBe("size");
    expect(readAs("face", "parallelism")).toBe("parallelism");
    expect(["roundness", "total run-out"].map((c) => readAs("outside", c))).toEqual(["circular run-out", "circular run-out"]);
    expect(readAs("face", "perpendicularity")).toBe("axial run-out");
    expect([isSweep("roundness"), isSweep("size")]).toEqual([true, false]);
  });
  it("numbers mean what the set-up allows", () => {
    expect(meansFor("indicator", "outside")).toEqual(["indicator"]);
    expect(meansFor("master", "inside")[0]).toBe("from master");
    expect(meansFor("absolute", "outside")).not.toContain("from master");
    expect(meansFor("absolute", "quantity")).toEqual(["quantity"]);
  });
  it("those who measure again are blind", () => {
    expect(purposeFor("assembler", "inspection")).toEqual({ purpose: "assembly", blind: true });
    expect(purposeFor("quality", "final check")).toEqual({ purpose: "final", blind: true });
    expect(purposeFor("technician", "teardown")).toEqual({ purpose: "teardown", blind: false });
    expect(purposeFor("inspector", "inspection")).toEqual({ purpose: "inspection", blind: false });
  });
});

describe("counting", () => {
  const line = (over: Partial<ReadingLine>): ReadingLine => ({ setup: "s", feature: "J1", characteristic: "size", plane: "1", angle_mdeg: 0, typed: "1", unit: "µm", means: "from master", purpose: "inspection", by: "ana", as: "technician", device: "d", time_ms: 0, clocked: true, id: "x", status: "counts", ...over });
  it("takes only what counts, and blind only the own readings of the purpose", () => {
    const readings = [line({}), line({ status: "struck" }), line({ by: "ben" }), line({ plane: "2", purpose: "assembly" }), line({ characteristic: "circular run-out" }), line({ closing: true })];
    expect([...takenAt(readings, "size")]).toEqual([["1@0", 2], ["2@0", 1], ["1@0!", 1]]);
    expect([...takenAt(readings, "size", { purpose: "assembly", person: "ana" })]).toEqual([["2@0", 1]]);
    expect(takenAt(null, "size").size).toBe(0);
  });
});

describe("the set-up", () => {
  it("takes temperatures with point or comma and refuses the rest", () => {
    expect([temperature("21.5"), temperature("21,5"), temperature("-4"), temperature("")]).toEqual([21_500, 21_500, -4_000, null]);
    for (const bad of ["warm", "400", "2e1", "21.55555", "1.2.3"]) expect(temperature(bad), bad).toBeNaN();
  });
  it("serves sizes near its master and no others", () => {
    const body = { gauge: { id: "g", type: "", resolution_pm: 1, u_cal_pm: 1 }, mode: "master" as const, master: { id: "m", certified_pm: 80_000_300_000, u_pm: 1 }, soaked: true };
    expect(suits(body, spec("J1"))).toBe(true); // 80 mm
    expect(suits(body, spec("J2"))).toBe(false); // 70 mm
    expect(suits({ ...body, mode: "indicator" }, spec("J2"))).toBe(true);
    expect([kindOf("quantity", "quantity"), kindOf("outside", "circular run-out"), kindOf("thickness", "size")]).toEqual(["quantity", "sweep", "size"]);
  });
  it("offers first the gauge for this feature, overdue ones last, and leaves none out", () => {
    const g = (id: string, type: string, name = "", due_ms = 50, resolution_pm = 100_000) => ({ id, type, name, due_ms, resolution_pm, u_cal_pm: 1 });
    const list = [g("late", "lever indicator", "", 5), g("mic", "outside micrometer"), g("ind", "lever indicator"), g("small", "comparator", "snap gauge, 10–50"), g("right", "comparator", "snap gauge, 40–80"), g("bore", "bore gauge, two-point"), g("kn", "force gauge", "", 50, 0)];
    const first = (want: Parameters<typeof sortGauges>[1]) => sortGauges(list, want, 10)[0]!.id;
    expect(first({ kind: "sweep" })).toBe("ind");
    expect(sortGauges(list, { kind: "sweep" }, 10).map((x) => x.id)).toHaveLength(list.length);
    expect(sortGauges(list, { kind: "sweep" }, 10).at(-1)!.id).toBe("late");
    expect(["mic", "right"]).toContain(first({ kind: "size", geometry: "outside", nominal_pm: 65e9 }));
    expect(sortGauges(list, { kind: "size", geometry: "outside", nominal_pm: 65e9 }, 10).slice(0, 2).map((x) => x.id).sort()).toEqual(["mic", "right"]);
    expect(first({ kind: "size", geometry: "inside", nominal_pm: 110e9 })).toBe("bore");
    expect(first({ kind: "quantity" })).toBe("kn");
    expect(sortGauges(list, { kind: "size", geometry: "inside", nominal_pm: 100e9 }, 10).slice(-2).map((x) => x.id)).toEqual(["kn", "late"]); // what measures no length comes before what is overdue, behind all else
    const offers = (want: Parameters<typeof sortGauges>[1]) => offered(sortGauges(list, want, 10), want, 10).map((x) => x.id);
    expect(offers({ kind: "size", geometry: "inside", nominal_pm: 110e9 })).toEqual(["bore"]);
    expect(offers({ kind: "size", geometry: "outside", nominal_pm: 65e9 }).sort()).toEqual(["mic", "right"]);
    expect(offers({ kind: "size", geometry: "thickness", nominal_pm: 8e9 })).toHaveLength(4); // nothing suits: better some than none
  });
});
