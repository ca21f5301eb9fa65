// One spindle: the half-section as the map, and the same as a list for keyboard, screen reader and small thumbs.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ComponentSheet, FeatureSheet, Sheet } from "../../contract";
import { useJob } from "../backend-context";
import { FindingForm } from "../forms/finding";
import { ReworkForm } from "../forms/rework";
import { HalfSection } from "../pictures/half-section";
import { limitsOf, valueText } from "../pictures/characteristic";
import { Mark, Stand } from "../pictures/mark";
import { components, fact, features, handle, verdicts } from "../reading-sheet";
import { href } from "../route";
import { DecideDialog } from "../review/decide-dialog";
import { Dialog } from "../shell/dialog";
import { words } from "../words";

export function SpindleScreen({ job }: { job: string }): JSX.Element {
  const { sheet, trouble } = useJob(job);
  const [acts, setActs] = useState<{ c: ComponentSheet; form: "choose" | "finding" | "rework" | "decide" } | null>(null);
  if (trouble) return <main class="page"><p class="say fails" role="alert">{trouble}</p></main>;
  if (!sheet) return <main class="page"><p role="status">{words.loading}</p></main>;
  const parts = components(sheet);
  return (
    <main class="page spindle stack">
      <h1 class="unseen">{words.block.job} {job}</h1>
      {(sheet.alarms ?? []).map((a) => <p key={a} class="say fails" role="alert"><b>{words.alarm}</b> {a}</p>)}
      {(sheet.holds ?? []).map((h) => <p key={h.words} class="say doubt"><b>{h.words}</b> {words.actOf(h.act, h.who)}</p>)}
      <div class="sheet-frame">
        <HalfSection components={parts} link={(f) => measureHref(sheet, f)} label={words.spindle.drawing(job)} />
        {parts.some((c) => (c.outline ?? []).length > 0) ? null : <p class="say">{words.spindle.noOutline}</p>}
        <TitleBlock sheet={sheet} />
      </div>
      {parts.length === 0 ? <p class="say">{words.spindle.noComponents}</p> : null}
      <ul class="components">
        {[...parts].sort((a, b) => Number(features(a).length === 0) - Number(features(b).length === 0)).map((c) => (
          <li key={handle(c)} class="component">
            <div class="component-head">
              <div class="grow"><h2>{c.name}</h2><p class="label">{[c.place, c.serial ? words.serial(c.serial) : "", c.bearing?.designation ?? ""].filter(Boolean).join(" · ")}</p></div>
              <a class="do quiet" href={href({ at: "cleared", job, component: handle(c) })}><Stand cleared={c.cleared} /></a>
              <button type="button" class="do quiet" aria-label={words.spindle.actsOn(c.name)} onClick={() => setActs({ c, form: "choose" })}>{words.spindle.acts}</button>
            </div>
            {features(c).length === 0 ? <p class="label none">{words.spindle.noFeatures}</p> : <ul>{features(c).map((f) => <FeatureRows key={f.spec.feature} sheet={sheet} f={f} />)}</ul>}
          </li>
        ))}
      </ul>
      {acts?.form === "choose" ? (
        <Dialog title={acts.c.name} close={() => setActs(null)}>
          <button type="button" class="do wide main" onClick={() => setActs({ ...acts, form: "decide" })}>{words.spindle.decide}</button>
          <button type="button" class="do wide" onClick={() => setActs({ ...acts, form: "finding" })}>{words.spindle.addFinding}</button>
          <button type="button" class="do wide" onClick={() => setActs({ ...acts, form: "rework" })} disabled={features(acts.c).length === 0}>{words.spindle.addRework}</button>
          <Findings sheet={sheet} c={acts.c} />
        </Dialog>
      ) : null}
      {acts?.form === "decide" ? <DecideDialog live={sheet} component={handle(acts.c)} close={() => setActs(null)} /> : null}
      {acts?.form === "finding" ? <FindingForm sheet={sheet} subject={handle(acts.c)} name={acts.c.name} places={features(acts.c).map((f) => ({ feature: f.spec.feature, name: f.spec.name }))} close={() => setActs(null)} /> : null}
      {acts?.form === "rework" ? <ReworkForm sheet={sheet} component={acts.c} close={() => setActs(null)} /> : null}
    </main>
  );
}

/** A balloon leads to what is worst there, else to the first characteristic. */
function measureHref(sheet: Sheet, f: FeatureSheet): string {
  const open = verdicts(f).find((v) => v.outcome === f.verdict.outcome) ?? verdicts(f)[0];
  return href({ at: "measure", job: sheet.job, feature: f.spec.feature, characteristic: open?.characteristic ?? f.spec.characteristics[0]?.name ?? "size" });
}

function FeatureRows({ sheet, f }: { sheet: Sheet; f: FeatureSheet }): JSX.Element {
  return (
    <li class="feature">
      {verdicts(f).map((v, i) => (
        <a key={v.characteristic} class="feature-row" href={href({ at: "measure", job: sheet.job, feature: f.spec.feature, characteristic: v.characteristic })}>
          <span class="feature-name">{i === 0 ? <><span class="tagname">{f.spec.feature}</span> <b>{f.spec.name}</b>{f.round > 0 ? <span class="label"> {words.spindle.round(f.round)}</span> : null}</> : <span class="unseen">{f.spec.feature} {f.spec.name}</span>}</span>
          <span class="feature-what">{v.characteristic} <span class="num soft">{limitsOf(v)}</span></span>
          <span class="feature-value num">{v.have > 0 && f.spec.geometry !== "attribute" ? valueText(sheet, f, v) : ""}{v.have < v.need ? <span class="label"> {words.ofStations(v.have, v.need)}</span> : null}</span>
          <span class="feature-mark"><Mark outcome={v.outcome} /></span>
        </a>
      ))}
    </li>
  );
}

function Findings({ sheet, c }: { sheet: Sheet; c: ComponentSheet }): JSX.Element | null {
  const own = new Set([handle(c), ...features(c).map((f) => f.spec.feature)]);
  const list = (sheet.findings ?? []).filter((f) => own.has(f.subject) && !f.struck);
  if (list.length === 0) return null;
  return (
    <section class="stack"><h3>{words.spindle.findings}</h3>
      <ul class="stack">{list.map((f) => <li key={f.id} class={`say ${f.severity === "damage" ? "fails" : ""}`}><b>{words.finding.severities[f.severity as "note" | "damage"] ?? f.severity}</b> {[f.place, ...(f.signs ?? []), f.text].filter(Boolean).join(", ")}</li>)}</ul>
    </section>
  );
}

/** As on any drawing: whose it is, what it is, which state of knowledge it shows. */
function TitleBlock({ sheet }: { sheet: Sheet }): JSX.Element {
  const cells: [string, string][] = [
    [words.block.job, sheet.job], [words.block.customer, fact(sheet, "customer")], [words.block.spindle, [fact(sheet, "maker"), fact(sheet, "model")].filter(Boolean).join(" ")],
    [words.block.serial, fact(sheet, "serial")], [words.block.stage, fact(sheet, "stage")], [words.block.record, words.block.entries(sheet.entries, (sheet.digest ?? "").slice(0, 8))],
  ];
  return <dl class="title-block">{cells.map(([k, v]) => <div key={k}><dt>{k}</dt><dd class="num">{v || "–"}</dd></div>)}</dl>;
}
