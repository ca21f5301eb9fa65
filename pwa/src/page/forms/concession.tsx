// A concession: a named person lets one characteristic of one feature pass, in this round, within stated limits. The part stays what it is.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { useSave } from "../backend-context";
import { deviationPm } from "../numbers/typed-length";
import { unitWord } from "../numbers/length-text";
import { fine } from "../numbers/preference";
import { limitsOf } from "../pictures/characteristic";
import { handle } from "../reading-sheet";
import type { Case } from "../reading-sheet";
import type { Sheet } from "../../contract";
import { Choices, Dialog, Trouble } from "../shell/dialog";
import { words } from "../words";

export function ConcessionForm({ sheet, on, close }: { sheet: Sheet; on: Case; close: () => void }): JSX.Element {
  const [lower, setLower] = useState("");
  const [upper, setUpper] = useState("");
  const [authority, setAuthority] = useState<"shop" | "customer" | null>(null);
  const [person, setPerson] = useState("");
  const [reference, setReference] = useState("");
  const { busy, trouble, save } = useSave(sheet.job);
  const lo = deviationPm(lower, fine()), up = deviationPm(upper, fine());
  const bad = Number.isNaN(lo) || Number.isNaN(up);
  const lacks = bad || (lo === null && up === null) || !authority || person.trim() === "" || reference.trim() === "" || (lo !== null && up !== null && lo > up);
  const spec = on.feature.spec;
  return (
    <Dialog title={words.concession.title(spec.feature, on.verdict.characteristic)} close={close}>
      <p>{words.concession.now} <b class="num">{limitsOf(on.verdict)}</b>. {words.concession.round}</p>
      <div class="pair">
        {on.verdict.lower_pm !== null && on.verdict.characteristic === "size" ? <label class="field"><span>{words.concession.lower(unitWord(fine()))}</span><input value={lower} aria-invalid={Number.isNaN(lo)} onInput={(e) => setLower(e.currentTarget.value)} /></label> : null}
        {on.verdict.upper_pm !== null ? <label class="field"><span>{words.concession.upper(unitWord(fine()))}</span><input value={upper} aria-invalid={Number.isNaN(up)} onInput={(e) => setUpper(e.currentTarget.value)} /></label> : null}
      </div>
      <Choices label={words.concession.authority} value={authority} options={["shop", "customer"] as const} choose={setAuthority} text={(a) => words.concession.authorities[a]} />
      <label class="field"><span>{words.concession.person}</span><input value={person} onInput={(e) => setPerson(e.currentTarget.value)} /></label>
      <label class="field"><span>{words.concession.reference}</span><input value={reference} onInput={(e) => setReference(e.currentTarget.value)} /></label>
      <Trouble words={trouble} />
      <button type="button" class="do main" disabled={busy || lacks} onClick={() => void keep()}>{words.concession.save}</button>
    </Dialog>
  );

  async function keep(): Promise<void> {
    const rounds = (on.feature.reworks ?? []).filter((r) => r.state === "done" && !r.struck).map((r) => r.id);
    const body = {
      component: handle(on.component), feature: spec.feature, characteristic: on.verdict.characteristic, rounds, authority, person: person.trim(), reference: reference.trim(),
      ...(lo !== null ? { lower_pm: lo } : {}), ...(up !== null ? { upper_pm: up } : {}),
    };
    const saved = await save("concession", body, sheet.heads ?? []);
    if (saved?.ok) close();
  }
}
