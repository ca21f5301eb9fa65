// A sweep as it went round: the trace strongly magnified between the circles of its least and greatest reading.

import type { JSX } from "preact";
import { angleText } from "../numbers/length-text";
import { words } from "../words";
import { layTrace, onCircle } from "./round-geometry";

export interface PolarProps { points: { angle_mdeg: number; value: number }[]; text: (v: number) => string; /** 0° is … */ zero: string; size?: number; title: string; tone: string }

export function Polar({ points, text, zero, size = 264, title, tone }: PolarProps): JSX.Element {
  const c = size / 2, outer = c - 30, inner = outer * 0.62;
  const t = layTrace(points, c, c, inner, outer);
  const says = `${title}: ${t.spots.map((s) => `${angleText(s.angle_mdeg)} ${text(s.value)}`).join(", ")}`;
  return (
    <svg width={size} height={size + 14} viewBox={`0 0 ${size} ${size + 14}`} role="img" aria-label={says} class="picture">
      <path d={`M${c} ${c - t.lowRadius}V${c - outer - 6}M${c} ${c + t.lowRadius}V${c + outer + 6}M${c - t.lowRadius} ${c}H${c - outer - 6}M${c + t.lowRadius} ${c}H${c + outer + 6}`} stroke="var(--rule)" stroke-width="1" stroke-dasharray="14 3 2 3" />
      <circle cx={c} cy={c} r={t.lowRadius} fill="none" stroke="var(--rule)" />
      <circle cx={c} cy={c} r={t.highRadius} fill="none" stroke="var(--rule)" />
      <path d={t.path} class={tone} fill="none" stroke="currentColor" stroke-width="2.2" stroke-linejoin="round" />
      {t.spots.map((s) => (
        <g key={s.angle_mdeg}>
          <circle cx={s.x} cy={s.y} r={s.value === t.high ? 5 : 3.2} class={tone} fill="currentColor" />
          {points.length <= 12 ? label(s.angle_mdeg) : null}
        </g>
      ))}
      <text x={c} y={c - 5} text-anchor="middle" class="pic-text num strong">{text(t.high - t.low)}</text>
      <text x={c} y={c + 11} text-anchor="middle" class="pic-text soft">{words.pictures.highMinusLow}</text>
      {zero ? <text x={c} y={size + 9} text-anchor="middle" class="pic-text soft">{words.pictures.zeroAt(zero)}</text> : null}
    </svg>
  );

  function label(angle: number): JSX.Element {
    const at = onCircle(c, c, outer + 15, angle);
    return <text x={at.x} y={at.y + 4} text-anchor="middle" class="pic-text num soft">{angleText(angle)}</text>;
  }
}
