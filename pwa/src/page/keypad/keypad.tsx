// The keypad: keys as large as a gloved thumb, the sign and the decimal point among them, Enter tall at the thumb's side.
// Units and meanings are chosen on the same keys' place, so that nothing small has to be hit.

import type { JSX } from "preact";

import { words } from "../words";
import { shown, unitsFor } from "./state";
import type { Key, Means, Pad } from "./state";

export interface KeypadProps {
  pad: Pad; press: (key: Key, at: number | null) => void; enter: () => void; busy: boolean;
  /** what the digits are for: "Plane 1 · 120°" */ asks: string;
  means: Means[]; /** a quantity has its own unit and may be beyond the gauge's range */ quantity?: string;
}

export function Keypad(p: KeypadProps): JSX.Element {
  const tap = (key: Key) => (e: MouseEvent): void => p.press(key, e.timeStamp);
  const unit = p.quantity ?? p.pad.unit;
  return (
    <section class="pad" aria-label={words.pad.name}>
      <div class="display">
        {p.quantity || p.means.length < 2 ? <span class="means fixed">{words.pad.means[p.pad.means]}</span> : (
          <button type="button" class="means" aria-expanded={p.pad.choosing === "means"} onClick={tap({ do: "choose", what: "means" })}>
            <span class="label">{words.pad.read}</span>{words.pad.means[p.pad.means]}<span class="unseen">{words.pad.changeMeans}</span>
          </button>
        )}
        <output class="typed num" aria-live="polite" aria-label={words.pad.typed(p.asks, shown(p.pad.text), words.pad.unit(unit))}>
          <span class="asks label">{p.asks}</span>
          <span class={p.pad.text === "" ? "figure blank" : "figure"}>{p.pad.text === "" ? "0" : shown(p.pad.text)}</span>
        </output>
        {p.quantity ? <span class="unit fixed">{p.quantity}</span> : (
          <button type="button" class="unit" aria-expanded={p.pad.choosing === "unit"} onClick={tap({ do: "choose", what: "unit" })}>{words.pad.unit(p.pad.unit)}<span class="unseen">{words.pad.changeUnit}</span></button>
        )}
      </div>
      {p.pad.choosing ? choices(p.pad.choosing) : keys()}
    </section>
  );

  function choices(what: "unit" | "means"): JSX.Element {
    return (
      <div class="picks" role="group" aria-label={what === "unit" ? words.pad.chooseUnit : words.pad.chooseMeans}>
        {what === "unit"
          ? unitsFor(p.pad.means).map((u) => <button type="button" key={u} aria-pressed={u === p.pad.unit} class="do" onClick={tap({ do: "unit", unit: u })}>{words.pad.unitLong(u)}</button>)
          : p.means.map((m) => <button type="button" key={m} aria-pressed={m === p.pad.means} class="do" onClick={tap({ do: "means", means: m })}><span>{words.pad.means[m]}<span class="label block">{words.pad.meansHelp[m]}</span></span></button>)}
      </div>
    );
  }

  function keys(): JSX.Element {
    const digit = (d: string, area: string): JSX.Element => <button type="button" class="key num" style={{ gridArea: area }} onClick={tap({ do: "digit", digit: d })}>{d}</button>;
    return (
      <div class="keys">
        {digit("7", "a")}{digit("8", "b")}{digit("9", "c")}{digit("4", "d")}{digit("5", "e")}{digit("6", "f")}{digit("1", "g")}{digit("2", "h")}{digit("3", "i")}{digit("0", "z")}
        {p.quantity
          ? <button type="button" class="key" style={{ gridArea: "s" }} aria-label={words.pad.beyond} onClick={tap({ do: "bound", bound: ">" })}>&gt;</button>
          : <button type="button" class="key" style={{ gridArea: "s" }} aria-label={words.pad.sign} onClick={tap({ do: "sign" })}>+/−</button>}
        <button type="button" class="key" style={{ gridArea: "p" }} aria-label={words.pad.point} onClick={tap({ do: "point" })}>.</button>
        <button type="button" class="key" style={{ gridArea: "k" }} aria-label={words.pad.back} onClick={tap({ do: "back" })}>
          <svg width="30" height="22" viewBox="0 0 30 22" aria-hidden="true"><path d="M9 2H28V20H9L1.5 11ZM13.5 6.5l8 9m0-9l-8 9" fill="none" stroke="currentColor" stroke-width="2.2" stroke-linejoin="round" /></svg>
        </button>
        <button type="button" class="key enter" style={{ gridArea: "n" }} disabled={p.busy || !/\d/.test(p.pad.text)} onClick={() => p.enter()}>
          <svg width="30" height="26" viewBox="0 0 30 26" aria-hidden="true"><path d="M26 2v12H4M11 6.5 4 14l7 7.5" fill="none" stroke="currentColor" stroke-width="2.8" /></svg>
          <span>{words.pad.keep}</span>
        </button>
      </div>
    );
  }
}
