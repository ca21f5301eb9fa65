// Rework of features: asked for, sent away, done. "Done" begins a new round: what was read before says nothing of the feature any more.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ComponentSheet, Sheet } from "../../contract";
import { useSave } from "../backend-context";
import { deviationPm } from "../numbers/typed-length";
import { fine } from "../numbers/preference";
import { unitWord } from "../numbers/length-text";
import { features, handle } from "../reading-sheet";
import { seenHeads } from "../seen";
import { Choices, Dialog, Trouble } from "../shell/dialog";
import { words } from "../words";

export function ReworkForm({ sheet, component, feature, close }: { sheet: Sheet; component: ComponentSheet; feature?: string; close: () => void }): JSX.Element {
  const [chosen, setChosen] = useState<string[]>(feature ? [feature] : []);
  const [state, setState] = useState<"asked" | "sent" | "done" | null>(null);
  const [operation, setOperation] = useState<string | null>(null);
  const [from, setFrom] = useState("");
  const [to, setTo] = useState("");
  const [who, setWho] = useState("");
  const [certificate, setCertificate] = useState("");
  const [text, setText] = useState("");
  const { busy, trouble, save } = useSave(sheet.job);
  const a = deviationPm(from, fine()), b = deviationPm(to, fine());
  const lacks = chosen.length === 0 || !state || !operation || Number.isNaN(a) || Number.isNaN(b);
  return (
    <Dialog title={words.rework.title(component.name)} close={close}>
      <fieldset class="field"><legend>{words.rework.features}</legend>
        <div class="choices">{features(component).map((f) => <button type="button" key={f.spec.feature} class="do" aria-pressed={chosen.includes(f.spec.feature)} onClick={() => setChosen(chosen.includes(f.spec.feature) ? chosen.filter((x) => x !== f.spec.feature) : [...chosen, f.spec.feature])}>{f.spec.feature} {f.spec.name}</button>)}</div>
      </fieldset>
      <Choices label={words.rework.state} value={state} options={["asked", "sent", "done"] as const} choose={setState} text={(s) => words.rework.states[s]} />
      {state === "done" ? <p class="say doubt">{words.rework.doneMeans}</p> : null}
      <Choices label={words.rework.operation} value={operation} options={words.rework.operations} choose={setOperation} />
      <div class="pair">
        <label class="field"><span>{words.rework.from(unitWord(fine()))}</span><input inputMode="text" value={from} aria-invalid={Number.isNaN(a)} onInput={(e) => setFrom(e.currentTarget.value)} /></label>
        <label class="field"><span>{words.rework.to(unitWord(fine()))}</span><input inputMode="text" value={to} aria-invalid={Number.isNaN(b)} onInput={(e) => setTo(e.currentTarget.value)} /></label>
      </div>
      <label class="field"><span>{words.rework.who}</span><input value={who} onInput={(e) => setWho(e.currentTarget.value)} /></label>
      <label class="field"><span>{words.rework.certificate}</span><input value={certificate} onInput={(e) => setCertificate(e.currentTarget.value)} /></label>
      <label class="field"><span>{words.rework.text}</span><textarea value={text} onInput={(e) => setText(e.currentTarget.value)} /></label>
      <Trouble words={trouble} />
      <button type="button" class="do main" disabled={busy || lacks} onClick={() => void keep()}>{words.rework.save}</button>
    </Dialog>
  );

  async function keep(): Promise<void> {
    const body = {
      component: handle(component), features: chosen, state, operation, who: who.trim(), certificate: certificate.trim(), text: text.trim(),
      ...(a !== null && !Number.isNaN(a) ? { from_pm: a } : {}), ...(b !== null && !Number.isNaN(b) ? { to_pm: b } : {}),
    };
    const saved = await save("rework", body, seenHeads(sheet));
    if (saved?.ok) close();
  }
}
