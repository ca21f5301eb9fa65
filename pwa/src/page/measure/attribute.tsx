// A point that is answered by yes or no: two large answers, nothing else on the screen.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ReadingBody, Sheet } from "../../contract";
import { useBackend, useSave } from "../backend-context";
import { fact, verdictOf } from "../reading-sheet";
import type { Found } from "../reading-sheet";
import { Mark } from "../pictures/mark";
import { seenHeads } from "../seen";
import { Trouble } from "../shell/dialog";
import { words } from "../words";
import { purposeFor, stationsOf, stationKey } from "./plan";
import type { Station } from "./plan";

export function AttributePanel({ sheet, found, characteristic, ask }: { sheet: Sheet; found: Found; characteristic: string; ask: string }): JSX.Element {
  const backend = useBackend();
  const { busy, trouble, save } = useSave(sheet.job);
  const stations = stationsOf(found.feature.spec, characteristic);
  const [at, setAt] = useState<Station>(stations[0]!);
  const [kept, setKept] = useState("");
  const v = verdictOf(found.feature, characteristic);
  const purpose = purposeFor(backend.session.value?.as ?? "technician", fact(sheet, "stage"));
  return (
    <section class="attribute stack">
      <p class="question">{ask || words.measure.isItGood(found.feature.spec.name)}</p>
      {stations.length > 1 ? <div class="choices" role="group" aria-label={words.measure.station}>{stations.map((s) => <button type="button" key={stationKey(s)} class="do" aria-pressed={stationKey(s) === stationKey(at)} onClick={() => setAt(s)}>{words.measure.stationName(s.plane, s.angle_mdeg, false)}</button>)}</div> : null}
      <div class="yes-no">
        <button type="button" class="do" disabled={busy} onClick={() => void answer(true)}><svg width="34" height="34" viewBox="0 0 24 24" aria-hidden="true" class="tone-good"><circle cx="12" cy="12" r="9.5" fill="currentColor" /></svg>{words.measure.yes}</button>
        <button type="button" class="do" disabled={busy} onClick={() => void answer(false)}><svg width="34" height="34" viewBox="0 0 24 24" aria-hidden="true" class="tone-fails"><path d="M4.5 4.5 19.5 19.5M19.5 4.5 4.5 19.5" stroke="currentColor" stroke-width="4.6" /></svg>{words.measure.no}</button>
      </div>
      <p role="status" class="kept">{kept}</p>
      <Trouble words={trouble} />
      {v && !purpose.blind ? <p><Mark outcome={v.outcome} /> {v.sentence}</p> : null}
    </section>
  );

  async function answer(yes: boolean): Promise<void> {
    const body: ReadingBody = {
      setup: "", feature: found.feature.spec.feature, characteristic, angle_mdeg: at.angle_mdeg, typed: yes ? "yes" : "no", unit: "", means: "yes or no", yes, purpose: purpose.purpose,
      ...(at.plane ? { plane: at.plane } : {}), ...(purpose.blind ? { blind: true } : {}),
    };
    const saved = await save("reading", body, seenHeads(sheet));
    if (saved?.ok) setKept(words.measure.kept(yes ? words.measure.yes : words.measure.no, words.measure.stationName(at.plane, at.angle_mdeg, false)));
  }
}
