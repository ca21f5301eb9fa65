// What the keypad holds, as a state machine without a screen: the same for thumbs, for a keyboard and for a gauge that types.
// Text is kept as typed, in ASCII, with the sign in front; whether it makes sense is the engine's business.

import type { ReadingBody } from "../../contract";
import { MINUS } from "../numbers/length-text";

export type Means = ReadingBody["means"];
export interface Pad { text: string; unit: string; means: Means; /** which choice covers the digits */ choosing: "unit" | "means" | null; last: { key: string; at: number } | null; /** given back after it was not kept: the next number replaces it, the delete key mends it */ restored?: boolean }
export type Key =
  | { do: "digit"; digit: string } | { do: "point" } | { do: "sign" } | { do: "minus" } | { do: "plus" } | { do: "bound"; bound: "<" | ">" } | { do: "letter"; letter: string }
  | { do: "back" } | { do: "clear" } | { do: "choose"; what: "unit" | "means" } | { do: "unit"; unit: string } | { do: "means"; means: Means } | { do: "close" };

export const MOST_DIGITS = 12;
/** The same touch key twice within this many milliseconds is one touch of a glove. */
export const BOUNCE_MS = 70;

export function openPad(unit: string, means: Means): Pad {
  return { text: "", unit, means, choosing: null, last: null };
}

/** Units for a meaning: a whole size is not typed in micrometres, an indicator reading not in inches. */
export function unitsFor(means: Means): string[] {
  if (means === "size") return ["mm", "in"];
  return ["µm", "tenth", "mm", "in"];
}

export function defaultUnit(means: Means, scale: "metric" | "inch"): string {
  if (means === "size") return scale === "inch" ? "in" : "mm";
  return scale === "inch" ? "tenth" : "µm";
}

/** One key. `at` is the touch's time in milliseconds, or null for a keyboard, which does not bounce. */
export function press(pad: Pad, key: Key, at: number | null): Pad {
  const name = JSON.stringify(key);
  if (at !== null && pad.last && pad.last.key === name && at - pad.last.at < BOUNCE_MS) return pad;
  const last = at === null ? pad.last : { key: name, at };
  const set = (text: string): Pad => ({ ...pad, text, last, choosing: null, restored: false });
  const begins = key.do === "digit" || key.do === "point" || key.do === "minus" || key.do === "plus" || key.do === "bound";
  const t = pad.restored && begins ? "" : pad.text;
  const sign = /^[-+<>]/.test(t) ? t[0]! : "";
  const rest = t.slice(sign.length);
  switch (key.do) {
    case "digit":
      return /[a-zµ"]/.test(rest) || rest.replace(".", "").length >= MOST_DIGITS ? { ...pad, last } : set(t + key.digit);
    case "point":
      return rest.includes(".") || /[a-zµ"]/.test(rest) ? { ...pad, last } : set(sign + (rest === "" ? "0." : rest + "."));
    case "sign":
      return set((sign === "-" ? "+" : "-") + rest);
    case "minus":
      return set("-" + rest);
    case "plus":
      return set("+" + rest);
    case "bound":
      return set(sign === key.bound ? rest : key.bound + rest);
    case "letter":
      return /\d/.test(rest) && rest.length < MOST_DIGITS + 6 ? set(t + key.letter) : { ...pad, last };
    case "back":
      return pad.choosing ? { ...pad, choosing: null, last } : set(rest === "" || rest === "0." ? "" : t.slice(0, -1));
    case "clear":
      return set("");
    case "choose":
      return { ...pad, choosing: pad.choosing === key.what ? null : key.what, last };
    case "close":
      return { ...pad, choosing: null, last };
    case "unit":
      return { ...pad, unit: key.unit, choosing: null, last };
    case "means": {
      const units = unitsFor(key.means);
      const fits = units.includes(pad.unit) && (key.means === "size") === (pad.means === "size");
      return { ...pad, means: key.means, unit: fits ? pad.unit : pad.unit === "in" || pad.unit === "tenth" ? (key.means === "size" ? "in" : "tenth") : key.means === "size" ? "mm" : "µm", choosing: null, last };
    }
  }
}

/** Something that could be a number stands there. */
export function ready(pad: Pad): boolean {
  return /\d/.test(pad.text);
}

/** The text as shown: a real minus. */
export function shown(text: string): string {
  return text.replace("-", MINUS);
}

/** The key that a keyboard event means, or null where it is none of ours. Enter is the caller's. */
export function keyOf(k: string): Key | null {
  if (/^[0-9]$/.test(k)) return { do: "digit", digit: k };
  switch (k) {
    case ".": case ",": return { do: "point" };
    case "-": case MINUS: return { do: "minus" };
    case "+": return { do: "plus" };
    case "<": case ">": return { do: "bound", bound: k };
    case "Backspace": return { do: "back" };
    case "Escape": return { do: "clear" };
    default: return /^[a-zµμ"]$/.test(k) ? { do: "letter", letter: k === "μ" ? "µ" : k } : null;
  }
}
