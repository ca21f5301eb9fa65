// The scale that this person thinks in, kept on the device. Micrometres and millimetres, or tenths (0.0001 in) and inches.

import { signal } from "@preact/signals";
import type { LengthUnit } from "./length-text";

export type Scale = "metric" | "inch";
const KEY = "runtrue.scale";

function stored(): Scale {
  try {
    return localStorage.getItem(KEY) === "inch" ? "inch" : "metric";
  } catch {
    return "metric"; // storage may be forbidden; the preference then lasts as long as the page
  }
}

export const scale = signal<Scale>(stored());

export function chooseScale(to: Scale): void {
  scale.value = to;
  try {
    localStorage.setItem(KEY, to);
  } catch {
    // see stored()
  }
}

/** The unit for deviations, tolerances and run-outs. */
export function fine(): LengthUnit {
  return scale.value === "inch" ? "tenth" : "µm";
}

/** The unit for whole sizes. */
export function coarse(): LengthUnit {
  return scale.value === "inch" ? "in" : "mm";
}
