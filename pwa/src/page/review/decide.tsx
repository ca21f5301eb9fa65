// Deciding on a component, on exactly the sheet that is shown: the entry's parents are the heads of the frozen copy.

import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import type { ComponentSheet, Sheet } from "../../contract";
import { useBackend, useSave } from "../backend-context";
import { features, handle } from "../reading-sheet";
import { Mark } from "../pictures/mark";
import { Choices, Trouble } from "../shell/dialog";
import { words } from "../words";

const outcomes = ["reuse", "fit new", "rework", "replace", "hold", "return as is"] as const;

export function DecidePanel({ sheet, component: c, worst, stale, close }: { sheet: Sheet; component: ComponentSheet; worst: { feature: string; characteristic: string } | null; stale: boolean; close: () => void }): JSX.Element {
  const backend = useBackend();
  const [outcome, setOutcome] = useState<(typeof outcomes)[number] | null>(null);
  const [reason, setReason] = useState("");
  const { busy, trouble, save } = useSave(sheet.job);
  const head = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    head.current?.focus({ preventScroll: true });
    head.current?.scrollIntoView({ block: "start" });
  }, []);
  const as = backend.session.value?.as;
  const may = as === "inspector" || as === "quality";
  const against = features(c).filter((f) => f.verdict.outcome !== "conforms");
  const clears = outcome === "reuse" || outcome === "fit new";
  return (
    <section class="decide stack" aria-label={words.decide.title(c.name)}>
      <h2 ref={head} tabIndex={-1}>{words.decide.title(c.name)}</h2>
      <p>{words.decide.proposal} <b>{c.proposal.proposal}</b>. {c.proposal.reason}</p>
      {against.length > 0 ? <ul class="row">{against.map((f) => <li key={f.spec.feature} class="chip"><span class="tagname">{f.spec.feature}</span> <Mark outcome={f.verdict.outcome} size={16} /></li>)}</ul> : null}
      <Choices label={words.decide.outcome} value={outcome} options={outcomes} choose={setOutcome} text={(o) => words.decide.outcomes[o]} />
      {clears && against.length > 0 ? <p class="say doubt">{words.decide.clearsNot(against.map((f) => f.spec.feature).join(", "))}</p> : null}
      <label class="field"><span>{words.decide.reason}</span><textarea value={reason} onInput={(e) => setReason(e.currentTarget.value)} /></label>
      <p class="label">{words.decide.seen(sheet.entries)} {words.decide.advice}</p>
      {may ? null : <p class="say doubt">{words.decide.mayNot(as ? words.role[as] : "")}</p>}
      <Trouble words={trouble} />
      <div class="two">
        <button type="button" class="do main" disabled={busy || !outcome || reason.trim() === ""} onClick={() => void decide()}>{stale ? words.decide.saveOnThis : words.decide.save}</button>
        <button type="button" class="do" onClick={close}>{words.decide.leave}</button>
      </div>
    </section>
  );

  async function decide(): Promise<void> {
    const body = { subject: handle(c), outcome, reason: reason.trim(), ...(worst ? { worst } : {}), engine: sheet.engine };
    const saved = await save("decision", body, sheet.heads ?? []);
    if (saved?.ok) close();
  }
}
