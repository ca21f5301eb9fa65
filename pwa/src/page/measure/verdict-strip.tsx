// The verdict as it forms: mark and word, the value that decides, how many stations stand, the band, and the engine's sentence.

import type { JSX } from "preact";
import type { FeatureSheet, Sheet } from "../../contract";
import { ValueBand, valueText } from "../pictures/characteristic";
import { Mark } from "../pictures/mark";
import { verdictOf } from "../reading-sheet";
import { words } from "../words";

export function VerdictStrip({ sheet, feature, characteristic, blind, have, need }: { sheet: Sheet; feature: FeatureSheet; characteristic: string; blind: boolean; have: number; need: number }): JSX.Element {
  const v = verdictOf(feature, characteristic);
  if (blind) return <section class="verdict-strip"><p class="row"><span class="label">{words.measure.blindProgress(have, need)}</span></p></section>;
  if (!v) return <section class="verdict-strip"><p class="label">{words.measure.nothingYet}</p></section>;
  return (
    <section class="verdict-strip" aria-live="polite" aria-label={words.verdict}>
      <div class="spread">
        <Mark outcome={v.outcome} size={24} />
        <span class="value num">{valueText(sheet, feature, v)}</span>
        <span class="label num">{words.ofStations(v.have, v.need)}</span>
      </div>
      <ValueBand sheet={sheet} feature={feature} v={v} height={86} />
      <p class="sentence">{v.sentence}</p>
      {(v.notes ?? []).map((n) => <p class="note label" key={n}>{n}</p>)}
    </section>
  );
}
