import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { BOUNCE_MS, defaultUnit, keyOf, MOST_DIGITS, openPad, press, ready, shown, unitsFor } from "./state";
import type { Key, Pad } from "./state";

/** What a keyboard or a gauge types, character by character. */
function type(text: string, pad: Pad = openPad("µm", "from master")): Pad {
  for (const c of text) {
    const key = keyOf(c);
    if (key) pad = press(pad, key, null);
  }
  return pad;
}

describe("typing", () => {
  it("keeps what was typed", () => {
    for (const t of ["69.998", "-2", "+1.5", "0.0002in", "69.998mm", ">2000"]) expect(type(t).text).toBe(t);
  });
  it("takes a comma as the point, and one point only", () => {
    expect(type("69,998").text).toBe("69.998");
    expect(type("1.2.3").text).toBe("1.23");
    expect(type(".5").text).toBe("0.5");
    expect(type("-,5").text).toBe("-0.5");
  });
  it("has one sign, in front, whenever it is pressed", () => {
    expect(type("25-").text).toBe("-25");
    expect(type("-25+").text).toBe("+25");
    let pad = type("25");
    pad = press(pad, { do: "sign" }, null);
    expect(pad.text).toBe("-25");
    expect(press(pad, { do: "sign" }, null).text).toBe("+25");
  });
  it("takes letters of a unit only behind digits, and no digit behind letters", () => {
    expect(type("mm").text).toBe("");
    expect(type("2mm5").text).toBe("2mm");
  });
  it("stops at the most digits", () => {
    expect(type("1".repeat(40)).text).toHaveLength(MOST_DIGITS);
  });
  it("deletes backwards, the sign last", () => {
    let pad = type("-2.5");
    const seen: string[] = [];
    for (let i = 0; i < 4; i++) {
      pad = press(pad, { do: "back" }, null);
      seen.push(pad.text);
    }
    expect(seen).toEqual(["-2.", "-2", "-", ""]);
  });
  it("shows a real minus and knows when there is a number", () => {
    expect(shown("-2.5")).toBe("\u22122.5");
    expect(ready(type("-"))).toBe(false);
    expect(ready(type("-2"))).toBe(true);
  });
  it("leaves other keys to the page", () => {
    for (const k of ["Tab", "F5", "A", "ArrowLeft", " ", "Enter"]) expect(keyOf(k), k).toBeNull();
  });
});

describe("gloves", () => {
  it("take a bounce of one key as one touch, and a quick second digit as two", () => {
    const five: Key = { do: "digit", digit: "5" };
    const first = press(openPad("µm", "from master"), five, 1000);
    expect(press(first, five, 1000 + BOUNCE_MS - 1).text).toBe("5");
    expect(press(first, five, 1000 + BOUNCE_MS).text).toBe("55");
    expect(press(first, { do: "digit", digit: "6" }, 1001).text).toBe("56");
  });
  it("do not hold a keyboard back", () => {
    expect(type("55").text).toBe("55");
  });
});

describe("units and meanings", () => {
  it("go together: no whole size in micrometres, no deviation left in millimetres by a change of meaning", () => {
    let pad = type("2");
    pad = press(pad, { do: "means", means: "size" }, null);
    expect([pad.means, pad.unit, pad.text]).toEqual(["size", "mm", "2"]);
    pad = press(pad, { do: "means", means: "from nominal" }, null);
    expect(pad.unit).toBe("µm");
    pad = press(press(pad, { do: "unit", unit: "tenth" }, null), { do: "means", means: "size" }, null);
    expect(pad.unit).toBe("in");
    expect(press(pad, { do: "means", means: "from master" }, null).unit).toBe("tenth");
  });
  it("open and close their choice", () => {
    const open = press(openPad("µm", "from master"), { do: "choose", what: "unit" }, null);
    expect(open.choosing).toBe("unit");
    expect(press(open, { do: "choose", what: "unit" }, null).choosing).toBeNull();
    expect(press(open, { do: "unit", unit: "mm" }, null)).toMatchObject({ unit: "mm", choosing: null });
    expect(press(open, { do: "digit", digit: "1" }, null)).toMatchObject({ text: "1", choosing: null });
  });
  it("begin as the person thinks", () => {
    expect(defaultUnit("from master", "metric")).toBe("µm");
    expect(defaultUnit("from master", "inch")).toBe("tenth");
    expect(defaultUnit("size", "inch")).toBe("in");
    expect(unitsFor("size")).toEqual(["mm", "in"]);
  });
});

describe("a number given back", () => {
  const back = { ...openPad("µm", "from master"), text: "995", restored: true };
  it("is replaced by the next number, so that a gauge's next value does not hang on it", () => {
    expect(type("5.2", back).text).toBe("5.2");
    expect(type("-1", back).text).toBe("-1");
  });
  it("is mended by deleting, and takes its sign by touch", () => {
    expect(type("5", press(back, { do: "back" }, null)).text).toBe("995");
    expect(press(back, { do: "sign" }, null).text).toBe("-995");
    expect(press(back, { do: "unit", unit: "mm" }, null)).toMatchObject({ text: "995", restored: true });
  });
});

it("whatever is pressed, the text is a sign, digits with at most one point, and perhaps a unit", () => {
  const key = fc.oneof(
    fc.integer({ min: 0, max: 9 }).map((d): Key => ({ do: "digit", digit: String(d) })),
    fc.constantFrom<Key>({ do: "point" }, { do: "sign" }, { do: "minus" }, { do: "plus" }, { do: "back" }, { do: "clear" }, { do: "bound", bound: ">" }, { do: "letter", letter: "m" }, { do: "choose", what: "unit" }, { do: "means", means: "size" }, { do: "close" }),
  );
  fc.assert(fc.property(fc.array(fc.tuple(key, fc.option(fc.integer({ min: 0, max: 500 })))), (keys) => {
    let pad = openPad("µm", "from master");
    for (const [k, at] of keys) pad = press(pad, k, at);
    expect(pad.text).toMatch(/^[-+<>]?(\d*(\.\d*)?[a-z]*)$/);
    expect(unitsFor(pad.means)).toContain(pad.unit);
  }));
});
