// Reuse or replace: one line a component. Base of the firm price, printed and exported.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ComponentSheet, Sheet } from "../../contract";
import { useBackend, useJob } from "../backend-context";
import { valueText } from "../pictures/characteristic";
import { Mark, Stand } from "../pictures/mark";
import { components, fact, findFeature, handle, verdictOf } from "../reading-sheet";
import { DecideDialog } from "../review/decide-dialog";
import { href } from "../route";
import { words } from "../words";
import { download } from "./download";

export function ListScreen({ job }: { job: string }): JSX.Element {
  const backend = useBackend();
  const { sheet, trouble } = useJob(job);
  const [busy, setBusy] = useState("");
  const [wrong, setWrong] = useState("");
  const [deciding, setDeciding] = useState<string | null>(null);
  if (trouble) return <main class="page"><p class="say fails" role="alert">{trouble}</p></main>;
  if (!sheet) return <main class="page"><p role="status">{words.loading}</p></main>;
  const parts = components(sheet), count = tally(parts);
  return (
    <main class="page list stack">
      <div class="spread">
        <div><h1>{words.list.title}</h1><p class="label">{[job, fact(sheet, "customer"), fact(sheet, "maker"), fact(sheet, "model"), fact(sheet, "serial")].filter(Boolean).join(" · ")}</p></div>
        <div class="row no-print">
          <button type="button" class="do" disabled={busy !== ""} onClick={() => void file("html")}>{words.list.print}</button>
          <button type="button" class="do" disabled={busy !== ""} onClick={() => void file("csv")}>CSV</button>
          <button type="button" class="do" disabled={busy !== ""} onClick={() => void file("json")}>JSON</button>
          <button type="button" class="do" disabled={busy !== ""} onClick={() => void file("job")}>{words.list.jobFile}</button>
        </div>
      </div>
      {wrong ? <p class="say fails" role="alert">{wrong}</p> : null}
      <dl class="tally">{count.decided ? <div><dt>{words.list.decidedSo}</dt><dd>{count.decided}</dd></div> : null}{count.proposed ? <div><dt>{words.list.proposedSo}</dt><dd>{count.proposed}</dd></div> : null}</dl>
      {parts.length === 0 ? <p class="say">{words.spindle.noComponents}</p> : (
        <table class="lines">
          <thead><tr><th>{words.list.component}</th><th>{words.list.proposal}</th><th>{words.list.decision}</th><th>{words.list.why}</th><th>{words.list.worst}</th><th class="no-print"><span class="unseen">{words.list.acts}</span></th></tr></thead>
          <tbody>{parts.map((c) => <Line key={handle(c)} sheet={sheet} c={c} decide={() => setDeciding(handle(c))} />)}</tbody>
        </table>
      )}
      <p class="label">{words.list.advice} {words.block.entries(sheet.entries, (sheet.digest ?? "").slice(0, 8))}</p>
      {deciding ? <DecideDialog live={sheet} component={deciding} close={() => setDeciding(null)} /> : null}
    </main>
  );

  async function file(format: "html" | "csv" | "json" | "job"): Promise<void> {
    setBusy(format);
    setWrong("");
    try {
      const blob = await backend.export(job, format);
      download(blob, `${job}-list.${format === "job" ? "job.json" : format}`, format === "html");
    } catch (e: unknown) {
      setWrong(words.list.notMade(e instanceof Error ? e.message : String(e)));
    }
    setBusy("");
  }
}

/** What a firm price needs to know: how many parts are decided which way, and what is proposed for those that nobody has decided on. */
export function tally(parts: ComponentSheet[]): { decided: string; proposed: string } {
  const counted = (list: string[]): string => {
    const counts = new Map<string, number>();
    for (const word of list) counts.set(word, (counts.get(word) ?? 0) + 1);
    return [...counts.entries()].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1)).map(([word, n]) => `${n} ${word}`).join(" · ");
  };
  return { decided: counted(parts.filter((c) => c.decision).map((c) => c.decision)), proposed: counted(parts.filter((c) => !c.decision).map((c) => words.action[c.proposal.proposal])) };
}

function Line({ sheet, c, decide }: { sheet: Sheet; c: ComponentSheet; decide: () => void }): JSX.Element {
  const found = c.proposal.feature ? findFeature(sheet, c.proposal.feature) : null;
  const v = found && c.proposal.characteristic ? verdictOf(found.feature, c.proposal.characteristic) : null;
  // Decided once, and something came that the decision has not seen: not the same as nobody having looked.
  const last = (c.decisions ?? []).filter((d) => !d.stands).sort((a, b) => b.time_ms - a.time_ms)[0];
  return (
    <tr>
      <td data-label={words.list.component}><b>{c.name}</b><span class="label block">{[c.place, c.serial ? words.serial(c.serial) : "", words.origin[c.origin] ?? c.origin].filter(Boolean).join(" · ")}</span></td>
      <td data-label={words.list.proposal}><b>{words.action[c.proposal.proposal]}</b></td>
      <td data-label={words.list.decision}>{c.decision ? <b>{c.decision}</b> : <span class="soft">{last ? words.list.overtaken(last.outcome) : words.list.undecided}</span>} <a class="stand-link" href={href({ at: "cleared", job: sheet.job, component: handle(c) })}><Stand cleared={c.cleared} size={16} /></a></td>
      <td data-label={words.list.why}>{c.proposal.reason}</td>
      <td data-label={words.list.worst}>{found && v ? <a class="worst" href={href({ at: "measure", job: sheet.job, feature: found.feature.spec.feature, characteristic: v.characteristic })}><span class="tagname">{found.feature.spec.feature}</span> <Mark outcome={v.outcome} size={16} /> <span class="num">{v.have > 0 && found.feature.spec.geometry !== "attribute" ? valueText(sheet, found.feature, v) : ""}</span></a> : <span class="soft">–</span>}</td>
      <td class="no-print act"><button type="button" class="do quiet" onClick={decide} aria-label={words.list.decideOn(c.name)}>{words.review.decide}</button></td>
    </tr>
  );
}
