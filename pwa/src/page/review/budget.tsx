// "Why?": where the uncertainty of the decisive value comes from, biggest first, and what would shrink it.

import type { JSX } from "preact";
import type { Figure, VCharacteristic } from "../../contract";
import { probabilityText } from "../numbers/length-text";
import { words } from "../words";

export function Budget({ v }: { v: VCharacteristic }): JSX.Element | null {
  const lines = v.budget ?? [];
  if (lines.length === 0) return null;
  return (
    <details class="why">
      <summary>{words.review.why}</summary>
      <p class="label">{words.review.ruleIs(v.rule)}{v.p_c !== null ? ` ${words.review.probability(probabilityText(v.p_c))}` : ""}</p>
      <div class="scroll" tabIndex={0} role="region" aria-label={words.review.why}><table>
        <thead><tr><th>{words.review.source}</th><th>{words.review.given}</th><th class="num">u</th><th>{words.review.share}</th></tr></thead>
        <tbody>{lines.map((b) => (
          <tr key={b.source}>
            <td>{b.source}<span class="label block">{b.mend ?? ""}</span></td>
            <td class="num start">{b.value}<span class="label block">{b.distribution}</span></td>
            <td class="num">{b.u_um.toFixed(2)}&nbsp;µm</td>
            <td><svg width="84" height="16" role="img" aria-label={`${Math.round(100 * b.share)} %`}><rect x="0.5" y="3.5" width="50" height="9" fill="none" stroke="var(--rule)" /><rect x="1" y="4" width={Math.max(0, 49 * b.share)} height="8" fill="var(--ink-soft)" /><text x="84" y="12.5" text-anchor="end" class="pic-text num">{Math.round(100 * b.share)}%</text></svg></td>
          </tr>
        ))}</tbody>
      </table></div>
    </details>
  );
}

export function Figures({ figures }: { figures: Figure[] }): JSX.Element | null {
  if (figures.length === 0) return null;
  return <dl class="figures">{figures.map((f) => <div key={f.name}><dt>{f.name}</dt><dd class="num">{number(f)}{f.note ? <span class="label block">{f.note}</span> : null}</dd></div>)}</dl>;
}

function number(f: Figure): string {
  const decimals = f.unit === "°" ? 0 : 2;
  const text = Math.abs(f.value).toFixed(decimals);
  return `${f.value < 0 && Number(text) !== 0 ? "\u2212" : ""}${text}${f.unit === "°" || f.unit === "″" ? "" : "\u00a0"}${f.unit}`;
}
