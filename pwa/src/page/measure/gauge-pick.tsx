// Picking the gauge and the master: big rows, calibration due date in sight, what the gauge cannot see named.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Gauge, Master, Specification } from "../../contract";
import { digits, lengthText } from "../numbers/length-text";
import { coarse, fine } from "../numbers/preference";
import { dateText, now } from "../numbers/time-text";
import { words } from "../words";
import type { Kind } from "./in-use";

export function dueText(g: Gauge, nowMs: number): { text: string; overdue: boolean } {
  if (!g.due_ms) return { text: words.setup.dueUnknown, overdue: false };
  return g.due_ms < nowMs ? { text: words.setup.overdue(dateText(g.due_ms)), overdue: true } : { text: words.setup.due(dateText(g.due_ms)), overdue: false };
}

/** What is to be measured, as far as it helps to order gauges. */
export interface Wanted { kind: Kind; geometry?: Specification["geometry"]; nominal_pm?: number }

/** What speaks against a gauge here, 0 for nothing: out of its range 1, not made for it 2, reads no length 4, overdue 8. Types and names are free
 *  words of the shop, so this is a hint; the engine alone says whether a gauge can decide. A range is read from a name such as "snap gauge, 40–80",
 *  in mm. */
export function against(g: Gauge, want: Wanted, nowMs: number): number {
  const text = `${g.type} ${g.name ?? ""}`.toLowerCase();
  const has = (...list: string[]): boolean => list.some((w) => text.includes(w));
  const length = g.resolution_pm > 0, indicator = has("indicator"), bore = has("bore", "inside"), thickness = has("thickness", "surface plate", "block");
  const fits = want.kind === "quantity" ? !length : want.kind === "sweep" ? length && indicator
    : length && !indicator && bore === (want.geometry === "inside") && thickness === (want.geometry === "thickness");
  const range = /(\d+(?:\.\d+)?)\s*[–-]\s*(\d+(?:\.\d+)?)/.exec(g.name ?? "");
  const mm = (want.nominal_pm ?? 0) / 1e9;
  const reaches = want.kind !== "size" || !range || mm === 0 || (mm >= Number(range[1]) && mm <= Number(range[2]));
  return (dueText(g, nowMs).overdue ? 8 : 0) + (want.kind !== "quantity" && !length ? 4 : 0) + (fits ? 0 : 2) + (reaches ? 0 : 1);
}

/** Gauges that suit come first, overdue ones last; none is left out. */
export function sortGauges(gauges: Gauge[], want: Wanted, nowMs: number): Gauge[] {
  return [...gauges].sort((a, b) => against(a, want, nowMs) - against(b, want, nowMs) || a.u_cal_pm - b.u_cal_pm || (a.id < b.id ? -1 : 1));
}

/** The few to begin with, of gauges in their order: those that nothing speaks against; where there is none, simply the first. */
export function offered(sorted: Gauge[], want: Wanted, nowMs: number): Gauge[] {
  const good = sorted.filter((g) => against(g, want, nowMs) === 0);
  return (good.length > 0 ? good : sorted).slice(0, 4);
}

export function GaugePick({ gauges, want, chosen, choose }: { gauges: Gauge[]; want: Wanted; chosen: Gauge | null; choose: (g: Gauge | null) => void }): JSX.Element {
  const [all, setAll] = useState(false);
  const sorted = sortGauges(gauges, want, now.value);
  const shown = chosen ? [chosen] : all ? sorted : offered(sorted, want, now.value);
  return (
    <fieldset class="field">
      <legend>{words.setup.gauge}</legend>
      {gauges.length === 0 ? <p class="say doubt">{words.setup.noGauges}</p> : null}
      <div class="picklist">
        {shown.map((g) => {
          const due = dueText(g, now.value);
          return (
            <button type="button" key={g.id} aria-pressed={chosen?.id === g.id} class="do pickrow" onClick={() => choose(chosen?.id === g.id ? null : g)}>
              <span class="grow"><b>{g.name || g.id}</b><span class="label block">{g.type}</span></span>
              <span class="end label"><span class={due.overdue ? "tone-fails block" : "block"}>{due.text}</span>{(g.blind_to ?? []).length > 0 ? <span class="block">{words.setup.blindTo((g.blind_to ?? []).join(", "))}</span> : null}</span>
            </button>
          );
        })}
      </div>
      {!chosen && sorted.length > shown.length ? <button type="button" class="do quiet" onClick={() => setAll(true)}>{words.setup.allGauges(sorted.length)}</button> : null}
      {chosen ? <button type="button" class="do quiet" onClick={() => choose(null)}>{words.setup.otherGauge}</button> : null}
    </fieldset>
  );
}

export function MasterPick({ masters, nominal_pm, chosen, choose }: { masters: Master[]; nominal_pm: number | null; chosen: Master | null; choose: (m: Master | undefined) => void }): JSX.Element {
  const sorted = [...masters].sort((a, b) => distance(a) - distance(b) || (a.id < b.id ? -1 : 1));
  const shown = chosen ? [chosen] : sorted.slice(0, 4);
  return (
    <fieldset class="field">
      <legend>{words.setup.master}</legend>
      {masters.length === 0 ? <p class="say doubt">{words.setup.noMasters}</p> : null}
      <div class="picklist">
        {shown.map((m) => (
          <button type="button" key={m.id} aria-pressed={chosen?.id === m.id} class="do pickrow" onClick={() => choose(chosen?.id === m.id ? undefined : m)}>
            <span class="grow"><b>{m.name || m.id}</b><span class="label block num">{lengthText(m.certified_pm, coarse(), coarse() === "mm" ? 4 : 6)}</span></span>
            {nominal_pm ? <span class="end label num">{offset(m)}</span> : null}
          </button>
        ))}
      </div>
    </fieldset>
  );

  function distance(m: Master): number { return nominal_pm ? Math.abs(m.certified_pm - nominal_pm) : m.certified_pm; }

  function offset(m: Master): string {
    const d = m.certified_pm - nominal_pm!;
    if (Math.abs(d) >= 1_000_000_000) return words.setup.fromNominal(lengthText(d, coarse(), 2, true));
    return words.setup.fromNominal(`${digits(d, fine(), 1, true)}\u00a0${fine() === "µm" ? "µm" : "tenths"}`);
  }
}
