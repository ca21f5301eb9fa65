// The answer for one part: CLEARED or HELD across the whole screen, every reason with the act that lifts it and who may do that, on what evidence,
// how fresh. Nothing on this screen clears: it reads what the engine folded from the record.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ComponentSheet, Sheet } from "../../contract";
import { personName, useBackend, useSave } from "../backend-context";
import { ageText, momentText, now, OLD_KNOWLEDGE_MS } from "../numbers/time-text";
import { StandShape } from "../pictures/mark";
import { features, handle, verdicts } from "../reading-sheet";
import { href } from "../route";
import { seenHeads } from "../seen";
import { Dialog, Trouble } from "../shell/dialog";
import { knowledge } from "../shell/status";
import { words } from "../words";
import { HoldAct } from "./hold-act";

/** Held by nothing but the age of this device's knowledge: may be fitted, and the step says on how old a knowledge. */
export function onlyOld(c: ComponentSheet): boolean {
  const holds = c.holds ?? [];
  return !c.cleared && holds.length > 0 && holds.every((h) => h.code === "old knowledge");
}

export function Answer({ sheet, c }: { sheet: Sheet; c: ComponentSheet }): JSX.Element {
  const backend = useBackend();
  const sync = backend.sync.value;
  const known = knowledge(sync.lastAnswerMs, now.value);
  const [asking, setAsking] = useState(false);
  const [place, setPlace] = useState(c.place);
  const [fitted, setFitted] = useState(false);
  const { busy, trouble, save } = useSave(sheet.job);
  const decisions = (c.decisions ?? []).filter((d) => d.stands);
  const readings = features(c).reduce((n, f) => n + (f.readings ?? []).filter((r) => r.status === "counts").length, 0);
  const required = features(c).flatMap(verdicts).filter((v) => v.required);
  const mayFit = (c.cleared || onlyOld(c)) && !c.fitted && !fitted;
  return (
    <main class={`answer ${c.cleared ? "is-cleared" : "is-held"}`}>
      <div class="answer-word" role="status">
        <svg viewBox="0 0 24 24" aria-hidden="true"><StandShape cleared={c.cleared} /></svg>
        <h1>{c.cleared ? words.clear.CLEARED : words.clear.HELD}</h1>
      </div>
      <div class="answer-part"><b>{c.name}</b><span>{[c.place, c.serial ? words.serial(c.serial) : ""].filter(Boolean).join(" · ")}</span></div>
      <section class="answer-body stack">
        {c.cleared ? <p class="answer-why">{c.cleared_by}</p> : null}
        {(c.holds ?? []).length > 0 ? (
          <ol class="holds" aria-label={words.clear.reasons}>{(c.holds ?? []).map((h, i) => (
            <li key={i}><b>{h.words}</b><span>{words.actOf(h.act, h.who)}</span><HoldAct sheet={sheet} c={c} h={h} as={backend.session.value?.as} /></li>
          ))}</ol>
        ) : null}
        <dl class="evidence">
          <div><dt>{words.clear.fresh}</dt><dd class={known.old ? "tone-doubt" : ""}>{known.text}{sync.unsent > 0 ? <span class="block">{words.clear.unsentToo(sync.unsent)}</span> : null}</dd></div>
          <div><dt>{words.clear.evidence}</dt><dd>{words.clear.readings(readings, required.filter((v) => v.outcome === "conforms").length, required.length)} <span class="num soft">{(c.evidence ?? "").slice(0, 8)}</span></dd></div>
          {decisions.map((d) => <div key={d.id}><dt>{words.clear.decided}</dt><dd>{d.outcome}, {personName(backend.shop.value, d.by)}, {momentText(d.time_ms, now.value)}: {d.reason}</dd></div>)}
        </dl>
        {c.fitted || fitted ? <p class="say good" role="status">{words.clear.isFitted}</p> : null}
        {mayFit ? <button type="button" class="do main wide" onClick={() => setAsking(true)}>{c.cleared ? words.clear.fit : words.clear.fitOld}</button> : null}
        <a class="do wide" href={href({ at: "cleared", job: sheet.job })}>{words.clear.next}</a>
      </section>
      {asking ? (
        <Dialog title={words.clear.fitTitle(c.name)} close={() => setAsking(false)}>
          <label class="field"><span>{words.clear.place}</span><input value={place} onInput={(e) => setPlace(e.currentTarget.value)} /></label>
          {known.old ? <p class="say doubt">{words.clear.oldWarn(sync.lastAnswerMs === null ? null : ageText(now.value - sync.lastAnswerMs))}</p> : null}
          <p class="label">{words.clear.caution}</p>
          <Trouble words={trouble} />
          <button type="button" class="do main" disabled={busy || place.trim() === ""} onClick={() => void fit()}>{words.clear.fitNow}</button>
        </Dialog>
      ) : null}
    </main>
  );

  async function fit(): Promise<void> {
    const age = sync.lastAnswerMs === null ? 0 : Math.max(0, now.value - sync.lastAnswerMs);
    const body = {
      what: "fitted", component: handle(c), place: place.trim(), relied_on: { decisions: decisions.map((d) => d.id), digest: c.evidence ?? "" },
      ...(age > OLD_KNOWLEDGE_MS ? { knowledge_age_ms: Math.round(age) } : {}),
    };
    const saved = await save("step", body, seenHeads(sheet));
    if (saved?.ok) {
      setFitted(true);
      setAsking(false);
    }
  }
}
