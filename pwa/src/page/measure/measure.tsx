// Measuring one characteristic of one feature: set-up first, then station after station.

import type { JSX } from "preact";
import { useBackend, useJob } from "../backend-context";
import { HalfSection } from "../pictures/half-section";
import { limitsOf } from "../pictures/characteristic";
import { lengthText } from "../numbers/length-text";
import { coarse } from "../numbers/preference";
import { components, findFeature, specOf, verdictOf } from "../reading-sheet";
import type { Found } from "../reading-sheet";
import { href } from "../route";
import { words } from "../words";
import { AttributePanel } from "./attribute";
import { kindOf, setupInUse, suits } from "./in-use";
import { readAs } from "./plan";
import { SetupSheet } from "./setup-sheet";
import { WorkPanel } from "./work-panel";

export function MeasureScreen({ job, feature, characteristic }: { job: string; feature: string; characteristic: string }): JSX.Element {
  const backend = useBackend();
  const { sheet, trouble } = useJob(job);
  if (trouble) return <main class="page"><p class="say fails" role="alert">{trouble}</p></main>;
  if (!sheet) return <main class="page"><p role="status">{words.loading}</p></main>;
  const found = findFeature(sheet, feature);
  const spec = found ? specOf(found.feature, characteristic) : null;
  if (!found || !spec) {
    return <main class="page stack"><p class="say doubt">{words.measure.noSuch(feature, characteristic)}</p><a class="do" href={href({ at: "job", job })}>{words.measure.toSpindle}</a></main>;
  }
  const may = backend.mayCapture?.value;
  const attribute = found.feature.spec.geometry === "attribute";
  const read = readAs(found.feature.spec.geometry, characteristic);
  const held = attribute ? null : setupInUse(job, kindOf(found.feature.spec.geometry, read));
  const line = held ? (sheet.setups ?? []).find((s) => s.id === held.id) : undefined;
  const closed = held !== null && (held.after || (line?.zero_after_pm ?? null) !== null);
  // A closed set-up has had its last zero check: what is read on another feature needs a set-up of its own.
  const inUse = held && !line?.struck && (held.feature === feature || (!closed && suits(held.body, found.feature.spec))) ? held : null;
  return (
    <main class={`page measure ${inUse ? "working" : ""}`}>
      <Head found={found} characteristic={characteristic} />
      {may && !may.ok ? <p class="say fails" role="alert">{may.words}</p> : null}
      {attribute ? <AttributePanel sheet={sheet} found={found} characteristic={characteristic} ask={spec.ask ?? ""} />
        : inUse ? <WorkPanel key={`${feature} ${read} ${inUse.id}`} sheet={sheet} found={found} characteristic={characteristic} read={read} inUse={inUse} />
          : <SetupSheet key={read} sheet={sheet} found={found} characteristic={characteristic} />}
    </main>
  );

  function Head({ found, characteristic }: { found: Found; characteristic: string }): JSX.Element {
    const f = found.feature, v = verdictOf(f, characteristic);
    return (
      <header class="measure-head">
        <div class="grow">
          <h1><span class="tagname">{f.spec.feature}</span> {f.spec.name}</h1>
          <p class="limits">
            {characteristic} {v ? <b class="num">{limitsOf(v)}</b> : null}
            {f.spec.nominal_pm && characteristic === "size" ? <span class="num soft"> {lengthText(f.spec.nominal_pm, coarse(), coarse() === "mm" ? 3 : 5)} {spec?.class ?? ""}</span> : null}
          </p>
        </div>
        <div class="mini"><HalfSection components={components(sheet!)} highlight={f.spec.feature} maxHeight={340} whole={false} label={words.measure.whereIs(f.spec.name)} /></div>
      </header>
    );
  }
}
