// One case: what was found, in numbers and as a picture; why it cannot be said more sharply; what would make it good; who read what; the decision.
// Opening "decide" freezes the sheet: everything on the panel is then drawn from that copy, and newer entries are announced instead of shown.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { FeatureSheet, ReadingLine, Sheet } from "../../contract";
import { personName, useBackend } from "../backend-context";
import { ConcessionForm } from "../forms/concession";
import { ReworkForm } from "../forms/rework";
import { SettleForm } from "../forms/settle";
import { StrikeForm } from "../forms/strike";
import { limitsOf, RoundPicture, ValueBand, valueText } from "../pictures/characteristic";
import { lengthText } from "../numbers/length-text";
import { fine } from "../numbers/preference";
import { Mark } from "../pictures/mark";
import { readAs } from "../measure/plan";
import { findFeature, newsSince, verdictOf } from "../reading-sheet";
import type { Case } from "../reading-sheet";
import { words } from "../words";
import { AcceptSpecification } from "./accept";
import { Budget, Figures } from "./budget";
import { DecidePanel } from "./decide";
import { Readings } from "./readings";
import { Steps } from "./steps";

type Form = { what: "strike"; reading: ReadingLine } | { what: "settle"; reading: ReadingLine } | { what: "concession" } | { what: "rework" };

export function CasePanel({ sheet: live, on: liveCase, close }: { sheet: Sheet; on: Case; close: () => void }): JSX.Element {
  const backend = useBackend();
  const [frozen, setFrozen] = useState<Sheet | null>(null);
  const [form, setForm] = useState<Form | null>(null);
  const sheet = frozen ?? live;
  const on = frozen ? again(frozen, liveCase) : liveCase;
  const { component, feature, verdict: v } = on;
  const news = frozen && frozen !== live ? newsSince(frozen, live) : null;
  const may = backend.session.value?.as === "inspector" || backend.session.value?.as === "quality";
  const readings = (feature.readings ?? []).filter((r) => r.characteristic === readAs(feature.spec.geometry, v.characteristic));
  return (
    <section class="case stack" aria-label={`${feature.spec.feature} ${v.characteristic}`}>
      <header class="case-head">
        <button type="button" class="do quiet close-case" onClick={close}>{words.review.back}</button>
        <div class="grow"><h1><span class="tagname">{feature.spec.feature}</span> {feature.spec.name}</h1><p class="label">{[component.name, component.place, v.characteristic, v.limits_from].filter(Boolean).join(" · ")}</p></div>
        <Mark outcome={v.outcome} size={28} />
      </header>
      {news && (news.readings > 0 || news.others > 0) ? <div class="say clash news" role="alert"><b>{words.review.news(news.readings, news.others)}</b><button type="button" class="do" onClick={() => setFrozen(live)}>{words.review.lookAgain}</button></div> : null}
      <p class="verdict-line"><span class="value num">{valueText(sheet, feature, v)}</span> <span class="num soft">{words.limits} {limitsOf(v)}</span></p>
      <ValueBand sheet={sheet} feature={feature} v={v} height={150} />
      <RoundPicture sheet={sheet} feature={feature} v={v} />
      <p class="sentence">{v.sentence}</p>
      {v.doubtful ? <p class="say doubt">{v.doubtful}</p> : null}
      {(v.notes ?? []).map((n) => <p key={n} class="label">{n}</p>)}
      {v.mend ? <MendLine v={v} /> : null}
      {v.settle ? <p class="say doubt"><b>{words.review.settle}</b> {v.settle}</p> : null}
      <Figures figures={v.figures ?? []} />
      <Budget v={v} />
      <Steps key={`${sheet.digest} ${feature.spec.feature} ${v.characteristic}`} sheet={sheet} feature={feature.spec.feature} characteristic={v.characteristic} still={frozen !== null && frozen.digest !== live.digest} />
      <AcceptSpecification sheet={sheet} feature={feature} />
      {(feature.concessions ?? []).map((c) => <p key={c.id} class={`say ${c.covers ? "good" : ""}`}>{words.review.concession(c.characteristic, c.words, c.covers, c.why ?? "")}</p>)}
      <Readings sheet={sheet} readings={readings} name={(id) => personName(backend.shop.value, id)} strike={(reading) => setForm({ what: "strike", reading })} settle={(reading) => setForm({ what: "settle", reading })} />
      {(feature.reworks ?? []).length > 0 ? <Rounds feature={feature} /> : null}
      {frozen ? <DecidePanel sheet={frozen} component={component} worst={{ feature: feature.spec.feature, characteristic: v.characteristic }} stale={news !== null && (news.readings > 0 || news.others > 0)} close={() => setFrozen(null)} />
        : (
          <div class="case-acts">
            <button type="button" class="do main" onClick={() => setFrozen(live)}>{words.review.decide}</button>
            <button type="button" class="do" onClick={() => setForm({ what: "rework" })}>{words.review.rework}</button>
            {v.outcome === "fails" || v.outcome === "cannot be told" ? <button type="button" class="do" onClick={() => setForm({ what: "concession" })}>{words.review.concede}</button> : null}
            {may ? null : <p class="label">{words.review.mayNot}</p>}
          </div>
        )}
      {form?.what === "strike" ? <StrikeForm job={sheet.job} target={form.reading.id} what={words.review.readingBy(form.reading.typed, words.pad.unit(form.reading.unit), personName(backend.shop.value, form.reading.by))} seen={() => sheet.heads ?? []} close={() => setForm(null)} /> : null}
      {form?.what === "settle" ? <SettleForm sheet={sheet} about={[form.reading.id]} what={words.settle.before(form.reading.typed, words.pad.unit(form.reading.unit), personName(backend.shop.value, form.reading.by))} hows={["place before", "place after"]} close={() => setForm(null)} /> : null}
      {form?.what === "concession" ? <ConcessionForm sheet={sheet} on={on} close={() => setForm(null)} /> : null}
      {form?.what === "rework" ? <ReworkForm sheet={sheet} component={component} feature={feature.spec.feature} close={() => setForm(null)} /> : null}
    </section>
  );
}

/** The same case in the frozen sheet. */
function again(sheet: Sheet, on: Case): Case {
  const found = findFeature(sheet, on.feature.spec.feature);
  const verdict = found ? verdictOf(found.feature, on.verdict.characteristic) : null;
  return found && verdict ? { ...found, verdict } : on;
}

function MendLine({ v }: { v: Case["verdict"] }): JSX.Element {
  const m = v.mend!;
  return (
    <div class={`say ${m.allowed ? "" : "fails"} mend`}>
      <svg width="34" height="34" viewBox="0 0 34 34" aria-hidden="true"><path d={m.direction === "metal off" ? "M3 22h28M17 3v12m-5-5 5 5 5-5" : "M3 22h28M17 15V3m-5 5 5-5 5 5"} fill="none" stroke="currentColor" stroke-width="2.6" /><path d="M3 26h28v5H3z" fill="currentColor" opacity="0.35" /></svg>
      <p><b>{words.review.mend(m.direction, m.from_pm === m.to_pm ? lengthText(m.from_pm, fine(), 2) : words.review.fromTo(lengthText(m.from_pm, fine(), 2), lengthText(m.to_pm, fine(), 2)))}</b>{m.from_pm === m.to_pm ? "." : `, ${words.review.aim(lengthText(m.aim_pm, fine(), 2))}`} <span class="block">{m.allowed ? words.review.mendAllowed : words.review.mendForbidden} {m.why}</span></p>
    </div>
  );
}

function Rounds({ feature }: { feature: FeatureSheet }): JSX.Element {
  return (
    <section><h3>{words.review.rounds}</h3>
      <ul>{(feature.reworks ?? []).map((r) => <li key={r.id} class={r.struck ? "struck" : ""}>{r.state}: {r.operation}{r.struck ? ` (${words.review.struck})` : ""}</li>)}</ul>
    </section>
  );
}
