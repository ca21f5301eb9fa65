// The verdict as it forms: mark and word, the value that decides, how many stations stand, the band, and the engine's sentence.

import type { JSX } from "preact";
import type { FeatureSheet, Sheet } from "../../contract";
import { ValueBand, valueText } from "../pictures/characteristic";
import { Mark } from "../pictures/mark";
import { decimalsFor, lengthText } from "../numbers/length-text";
import { fine } from "../numbers/preference";
import { resolutionOf, verdictOf } from "../reading-sheet";
import { words } from "../words";

export function VerdictStrip({ sheet, feature, characteristic, blind, have, need }: { sheet: Sheet; feature: FeatureSheet; characteristic: string; blind: boolean; have: number; need: number }): JSX.Element {
  const v = verdictOf(feature, characteristic);
  if (blind) return <section class="verdict-strip"><p class="row"><span class="label">{words.measure.blindProgress(have, need)}</span></p></section>;
  const decimals = decimalsFor(resolutionOf(sheet, feature), fine());
  if (!v) return <section class="verdict-strip"><p class="label">{words.measure.nothingYet}</p></section>;
  return (
    <section class="verdict-strip" aria-live="polite" aria-label={words.verdict}>
      <div class="spread">
        <Mark outcome={v.outcome} size={24} />
        <span class="value num">{valueText(sheet, feature, v)}</span>
        <span class="label num">{words.ofStations(v.have, v.need)}</span>
      </div>
      <ValueBand sheet={sheet} feature={feature} v={v} height={matchMedia("(max-width: 699px)").matches ? 72 : 86} />
      <p class="sentence">{v.sentence}</p>
      {v.characteristic === "size" && (v.stations ?? []).length > 0 ? (
        <ol class="station-values" aria-label={words.measure.stations}>{(v.stations ?? []).map((s) => (
          <li key={`${s.plane ?? ""} ${s.angle_mdeg}`}><span>{words.measure.stationName(s.plane ?? "", s.angle_mdeg, false)}{s.n > 1 ? <span class="label"> {words.measure.taken(s.n)}</span> : null}</span><b class="num">{lengthText(s.value_pm, fine(), decimals, true)}</b><Mark outcome={s.outcome} size={16} /></li>
        ))}</ol>
      ) : null}
      {(v.notes ?? []).map((n) => <p class="note label" key={n}>{n}</p>)}
    </section>
  );
}
