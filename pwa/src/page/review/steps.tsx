// How a verdict came about, as one would work it out on paper: made by the engine when somebody opens it, since few do and it is long.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Explanation, ExplanationStep, Sheet } from "../../contract";
import { useBackend } from "../backend-context";
import { words } from "../words";

/** @param still the screen shows an older state than the engine holds: the steps would be of another state than the figures beside them */
export function Steps({ sheet, feature, characteristic, still }: { sheet: Sheet; feature: string; characteristic: string; still: boolean }): JSX.Element {
  const backend = useBackend();
  const [found, setFound] = useState<Explanation | null>(null);
  const [trouble, setTrouble] = useState("");
  return (
    <details class="why steps" onToggle={(e) => { if (e.currentTarget.open && !found && !still) load(); }}>
      <summary>{words.review.steps}</summary>
      {still ? <p class="say doubt">{words.review.stepsLater}</p>
        : trouble ? <p class="say fails" role="alert">{trouble}</p>
          : found ? found.steps.map((s) => <Step key={s.key} step={s} />) : <p role="status">{words.review.stepsLoading}</p>}
    </details>
  );

  function load(): void {
    setTrouble("");
    backend.explain({ job: sheet.job, feature, characteristic }).then(setFound, (e: unknown) => setTrouble(words.review.stepsTrouble(e instanceof Error ? e.message : String(e))));
  }
}

function Step({ step }: { step: ExplanationStep }): JSX.Element {
  return (
    <section class="step">
      <h3>{step.title}</h3>
      {step.formula ? <p class="num">{step.formula}</p> : null}
      {step.source ? <p class="label">{step.source}</p> : null}
      {(step.words ?? []).map((w) => <p key={w}>{w}</p>)}
      {(step.rows ?? []).length > 0 ? (
        <div class="scroll" tabIndex={0} role="region" aria-label={step.title}><table>
          {step.head ? <thead><tr>{step.head.map((h) => <th key={h}>{h}</th>)}</tr></thead> : null}
          <tbody>{step.rows!.map((r, i) => <tr key={i}>{r.cells.map((c, n) => <td key={n} class="num start">{c}</td>)}</tr>)}</tbody>
        </table></div>
      ) : null}
    </section>
  );
}
