// Deciding on a whole component, conforming or not, from the drawing or the list: the sheet is frozen when the question is opened.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Sheet } from "../../contract";
import { limitsOf, valueText } from "../pictures/characteristic";
import { Mark } from "../pictures/mark";
import { features, findComponent, newsSince, verdicts } from "../reading-sheet";
import { Dialog } from "../shell/dialog";
import { words } from "../words";
import { AcceptSpecification } from "./accept";
import { DecidePanel } from "./decide";

export function DecideDialog({ live, component, close }: { live: Sheet; component: string; close: () => void }): JSX.Element | null {
  const [frozen, setFrozen] = useState(live);
  const c = findComponent(frozen, component);
  if (!c) return null;
  const news = frozen === live ? { readings: 0, others: 0 } : newsSince(frozen, live);
  const stale = news.readings > 0 || news.others > 0;
  const p = c.proposal;
  return (
    <Dialog title={[c.name, c.place].filter(Boolean).join(", ")} close={close}>
      {stale ? <div class="say clash news" role="alert"><b>{words.review.news(news.readings, news.others)}</b><button type="button" class="do" onClick={() => setFrozen(live)}>{words.review.lookAgain}</button></div> : null}
      {features(c).length === 0 ? <p class="say doubt">{words.spindle.noFeatures}</p> : (
        <div class="scroll" tabIndex={0} role="region" aria-label={words.verdict}><table class="decide-table">
          <tbody>{features(c).flatMap((f) => verdicts(f).map((v) => (
            <tr key={`${f.spec.feature} ${v.characteristic}`}>
              <td><span class="tagname">{f.spec.feature}</span> {v.characteristic}</td>
              <td class="num">{v.have > 0 ? valueText(frozen, f, v) : words.ofStations(v.have, v.need)}<span class="label block">{limitsOf(v)}</span></td>
              <td><Mark outcome={v.outcome} /></td>
            </tr>
          )))}</tbody>
        </table></div>
      )}
      {features(c).map((f) => <AcceptSpecification key={f.spec.feature} sheet={frozen} feature={f} />)}
      <DecidePanel sheet={frozen} component={c} worst={p.feature && p.characteristic ? { feature: p.feature, characteristic: p.characteristic } : null} stale={stale} close={close} />
    </Dialog>
  );
}
