// Out of tolerance: every characteristic that does not conform, worst first, and where the other jobs stand; one case at a time, decided here.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Sheet } from "../../contract";
import { useBackend } from "../backend-context";
import { valueText, limitsOf } from "../pictures/characteristic";
import { Mark } from "../pictures/mark";
import { openCases } from "../reading-sheet";
import type { Case } from "../reading-sheet";
import { words } from "../words";
import { CasePanel } from "./case-panel";

function keyOf(c: Case): string { return `${c.feature.spec.feature} ${c.verdict.characteristic}`; }

export function ReviewScreen(): JSX.Element {
  const backend = useBackend();
  const sheet = backend.sheet.value;
  const [opening, setOpening] = useState("");
  const [trouble, setTrouble] = useState("");
  const [chosen, setChosen] = useState<string | null>(null);
  const others = backend.jobs.value.filter((j) => j.job !== sheet?.job && j.out > 0).sort((a, b) => b.out - a.out || (a.job < b.job ? -1 : 1));
  const cases = sheet ? openCases(sheet) : [];
  const open = cases.find((c) => keyOf(c) === chosen) ?? null;
  return (
    <main class={`page review ${open ? "case-open" : ""}`}>
      <section class="case-list stack">
        <h1>{words.review.title}</h1>
        {trouble ? <p class="say fails" role="alert">{trouble}</p> : null}
        {sheet ? <h2 class="stage-name"><span>{words.review.job(sheet.job)}</span><span class="label num">{cases.length}</span></h2> : <p>{words.review.openOne}</p>}
        {sheet && cases.length === 0 ? <p class="say good">{words.review.nothingOut}</p> : null}
        {sheet ? <ul class="cases">{cases.map((c) => row(sheet, c))}</ul> : null}
        <h2 class="stage-name"><span>{words.review.others}</span></h2>
        {others.length === 0 ? <p class="label">{words.review.noOthers}</p> : null}
        <ul class="stack">{others.map((j) => (
          <li key={j.job}><button type="button" class="do wide pickrow" disabled={opening !== ""} onClick={() => void openJob(j.job)}><span class="grow"><b>{j.job}</b> {[j.maker, j.model].filter(Boolean).join(" ")}</span><span class="label">{opening === j.job ? words.loading : words.review.out(j.out)}</span></button></li>
        ))}</ul>
      </section>
      {sheet && open ? <CasePanel key={`${sheet.job} ${keyOf(open)}`} sheet={sheet} on={open} close={() => setChosen(null)} /> : <section class="case-none"><p class="label">{words.review.choose}</p></section>}
    </main>
  );

  function row(s: Sheet, c: Case): JSX.Element {
    return (
      <li key={keyOf(c)}>
        <button type="button" class="case-row" aria-expanded={keyOf(c) === chosen} onClick={() => setChosen(keyOf(c))}>
          <span class="case-mark"><Mark outcome={c.verdict.outcome} /></span>
          <span class="case-name"><span class="tagname">{c.feature.spec.feature}</span> <b>{c.feature.spec.name}</b><span class="label block">{c.component.name} · {c.verdict.characteristic}</span></span>
          <span class="case-value num">{c.verdict.have > 0 ? valueText(s, c.feature, c.verdict) : words.ofStations(c.verdict.have, c.verdict.need)}<span class="label block">{limitsOf(c.verdict)}</span></span>
        </button>
      </li>
    );
  }

  async function openJob(job: string): Promise<void> {
    setOpening(job);
    setTrouble("");
    setChosen(null);
    try {
      await backend.open(job);
    } catch (e: unknown) {
      setTrouble(e instanceof Error ? e.message : String(e));
    }
    setOpening("");
  }
}
