// Picking the gauge and the master: big rows, calibration due date in sight, what the gauge cannot see named.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Gauge, Master } from "../../contract";
import { digits, lengthText } from "../numbers/length-text";
import { coarse, fine } from "../numbers/preference";
import { dateText, now } from "../numbers/time-text";
import { words } from "../words";

export function dueText(g: Gauge, nowMs: number): { text: string; overdue: boolean } {
  if (!g.due_ms) return { text: words.setup.dueUnknown, overdue: false };
  return g.due_ms < nowMs ? { text: words.setup.overdue(dateText(g.due_ms)), overdue: true } : { text: words.setup.due(dateText(g.due_ms)), overdue: false };
}

/** Gauges that suit come first: indicators for what is swept, the others for sizes; overdue ones last. */
export function sortGauges(gauges: Gauge[], sweep: boolean, nowMs: number): Gauge[] {
  const rank = (g: Gauge): number => (dueText(g, nowMs).overdue ? 2 : 0) + (g.type.includes("indicator") === sweep ? 0 : 1);
  return [...gauges].sort((a, b) => rank(a) - rank(b) || a.u_cal_pm - b.u_cal_pm || (a.id < b.id ? -1 : 1));
}

export function GaugePick({ gauges, sweep, chosen, choose }: { gauges: Gauge[]; sweep: boolean; chosen: Gauge | null; choose: (g: Gauge | null) => void }): JSX.Element {
  const [all, setAll] = useState(false);
  const sorted = sortGauges(gauges, sweep, now.value);
  const shown = chosen ? [chosen] : all ? sorted : sorted.slice(0, 4);
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
      {!chosen && sorted.length > 4 && !all ? <button type="button" class="do quiet" onClick={() => setAll(true)}>{words.setup.allGauges(sorted.length)}</button> : null}
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
