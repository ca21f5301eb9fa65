// The end of a feature and the end of a set-up. A set-up that is left without a closing zero stays provisional, and says so.

import type { JSX } from "preact";
import type { SetupBody, Sheet } from "../../contract";
import { components, features } from "../reading-sheet";
import type { Found } from "../reading-sheet";
import { href } from "../route";
import { Dialog } from "../shell/dialog";
import { words } from "../words";
import { suits } from "./in-use";
import { isSweep, readAs, stationsOf, takenAt } from "./plan";

export interface NextFeature { feature: string; name: string; characteristic: string; left: number }

/** What is still to be read under the same kind of set-up, this component first. */
export function nextFeatures(sheet: Sheet, found: Found, read: string, setup: SetupBody): NextFeature[] {
  const list: NextFeature[] = [];
  const sorted = [found.component, ...components(sheet).filter((c) => c !== found.component)];
  for (const c of sorted) {
    for (const f of features(c)) {
      if (f.spec.geometry === "attribute" || f.spec.geometry === "quantity" || !suits(setup, f.spec)) continue;
      const done = new Set<string>();
      for (const ch of f.spec.characteristics ?? []) {
        const r = readAs(f.spec.geometry, ch.name);
        if (done.has(r) || isSweep(r) !== isSweep(read) || (f.spec.feature === found.feature.spec.feature && r === read)) continue;
        done.add(r);
        const stations = stationsOf(f.spec, r).filter((s) => !s.closing);
        const left = stations.length - [...takenAt(f.readings, r).keys()].filter((k) => !k.endsWith("!")).length;
        if (left > 0) list.push({ feature: f.spec.feature, name: f.spec.name, characteristic: ch.name, left });
      }
    }
  }
  return list;
}

export function AllTaken({ sheet, found, read, setup, needsClosing, close, ended, again, anew }: { sheet: Sheet; found: Found; read: string; setup: SetupBody; needsClosing: boolean; close: () => void; /** the zero is closed and stations are still open */ ended: boolean; again: (() => void) | null; anew: (() => void) | null }): JSX.Element {
  const next = nextFeatures(sheet, found, read, setup);
  return (
    <section class="all-taken stack">
      <h2>{ended ? words.measure.ended : words.measure.allTaken}</h2>
      {ended ? <p>{words.measure.endedWhy}</p> : null}
      {next.slice(0, 2).map((n) => (
        <a key={n.feature + n.characteristic} class="do wide pickrow" href={href({ at: "measure", job: sheet.job, feature: n.feature, characteristic: n.characteristic })}>
          <span class="grow"><b>{words.measure.nextIs(n.feature)}</b> {n.name}<span class="label block">{n.characteristic}</span></span><span class="label">{words.measure.left(n.left)}</span>
        </a>
      ))}
      {needsClosing ? <button type="button" class="do main wide" onClick={close}>{words.measure.closeNow}</button> : <a class="do main wide" href={href({ at: "job", job: sheet.job })}>{words.measure.toSpindle}</a>}
      {again ? <button type="button" class="do quiet" onClick={again}>{words.measure.readAgain}</button> : null}
      {anew ? <button type="button" class={ended ? "do wide" : "do quiet"} onClick={anew}>{words.measure.setUpAgain}</button> : null}
    </section>
  );
}

export function LeaveOpen({ now, leave, back }: { now: () => void; leave: () => void; back: () => void }): JSX.Element {
  return (
    <Dialog title={words.measure.leaveTitle} close={back}>
      <p>{words.measure.leaveWhy}</p>
      <div class="two">
        <button type="button" class="do main" onClick={now}>{words.measure.closeNow}</button>
        <button type="button" class="do" onClick={leave}>{words.measure.leaveOpen}</button>
      </div>
    </Dialog>
  );
}
