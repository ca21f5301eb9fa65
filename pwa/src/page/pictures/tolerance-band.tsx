// The tolerance band: the zone as clear paper between two limit lines, hatching where no value may lie, guard strips inside the limits,
// every station with its expanded uncertainty, the value that decides with its mark.

import type { JSX } from "preact";
import { useId } from "preact/hooks";
import type { Outcome } from "../../contract";
import { layBand, rowOf } from "./band-geometry";
import { MarkShape, toneOf } from "./mark";
import { useWidth } from "./width";

export interface BandValue { value: number; U: number; outcome: Outcome; clash?: boolean }
export interface BandProps {
  lower: number | null; upper: number | null; points: BandValue[]; worst: BandValue | null;
  /** limit and value as text, with sign, without unit */ text: (v: number, limit: boolean) => string;
  /** the whole picture in one sentence, for a screen reader */ says: string;
  height?: number;
  /** guard inside each limit, in the unit of the values */ guard?: number;
}

export function ToleranceBand(p: BandProps): JSX.Element {
  const [ref, width] = useWidth<HTMLDivElement>(320);
  const id = useId().replace(/[^A-Za-z0-9]/g, "");
  const height = p.height ?? 132;
  const all = p.worst ? [...p.points, p.worst] : p.points;
  const band = layBand(p.lower, p.upper, all, width);
  const top = 8, foot = 24, floor = height - foot;
  const rows = Math.max(1, Math.min(p.points.length, Math.floor((floor - top - 34) / 8)));
  const step = p.points.length > 1 ? Math.min(12, (floor - top - 34) / rows) : 0;
  const open = p.lower === null && p.upper === null;
  const zx = p.lower === null ? 0 : band.x(band.zoneFrom), zw = (p.upper === null ? width : band.x(band.zoneTo)) - zx;
  const guard = p.guard && p.guard > 0 && zw > 0 ? Math.min(zw / 2, band.x(band.zoneFrom + p.guard) - band.x(band.zoneFrom)) : 0;
  const worstY = floor - 17;
  return (
    <div ref={ref} class="picture">
      <svg width={width} height={height} role="img" aria-label={p.says}>
        <defs>
          <pattern id={`h${id}`} width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
            <path d="M0 0V7" stroke="var(--hatch)" stroke-width="1" />
          </pattern>
        </defs>
        <rect x="0.5" y={top} width={width - 1} height={floor - top} fill={`url(#h${id})`} opacity="0.6" />
        <rect x={zx} y={top} width={open ? width : zw} height={floor - top} fill="var(--paper-raised)" />
        {guard > 0 && p.lower !== null ? <rect x={zx} y={top} width={guard} height={floor - top} fill="var(--doubt-wash)" /> : null}
        {guard > 0 && p.upper !== null ? <rect x={zx + zw - guard} y={top} width={guard} height={floor - top} fill="var(--doubt-wash)" /> : null}
        {p.lower !== null && p.upper !== null ? (
          <path d={`M${zx + zw / 2} ${top}V${floor}`} stroke="var(--rule)" stroke-width="1" stroke-dasharray="14 3 2 3" />
        ) : null}
        <rect x="0.5" y={top} width={width - 1} height={floor - top} fill="none" stroke="var(--rule)" />
        {limitLine(p.lower, "start", zx)}
        {limitLine(p.upper, "end", zx + zw)}
        {p.points.map((s, i) => {
          const y = top + 12 + step * rowOf(i, p.points.length, rows);
          const x = band.x(s.value), a = band.x(s.value - s.U), b = band.x(s.value + s.U);
          return (
            <g key={i} stroke="var(--ink)" stroke-width="1.3" class={s.clash ? "tone-clash" : ""}>
              <path d={`M${a} ${y}H${b}M${a} ${y - 3}V${y + 3}M${b} ${y - 3}V${y + 3}`} opacity="0.65" />
              <circle cx={x} cy={y} r="3" fill={s.clash ? "var(--clash)" : "var(--ink)"} stroke="none" />
            </g>
          );
        })}
        {p.worst ? worstMark(p.worst) : null}
      </svg>
    </div>
  );

  function limitLine(v: number | null, side: "start" | "end", x: number): JSX.Element | null {
    if (v === null) return null;
    const near = side === "start" ? Math.max(2, Math.min(x, width - 4)) : Math.min(width - 2, Math.max(x, 4));
    return (
      <g>
        <path d={`M${x} ${top - 6}V${floor + 5}`} stroke="var(--ink)" stroke-width="2.2" />
        <text x={near} y={height - 4} text-anchor={near < 28 ? "start" : near > width - 28 ? "end" : "middle"} class="pic-text num">{p.text(v, true)}</text>
      </g>
    );
  }

  function worstMark(s: BandValue): JSX.Element {
    const x = band.x(s.value), off = band.off(s.value);
    const a = band.x(s.value - s.U), b = band.x(s.value + s.U);
    return (
      <g class={`tone-${toneOf[s.outcome]}`}>
        <path d={`M${a} ${worstY}H${b}M${a} ${worstY - 8}V${worstY + 8}M${b} ${worstY - 8}V${worstY + 8}`} stroke="currentColor" stroke-width="2" />
        {off !== 0 ? <path d={off < 0 ? `M13 ${worstY - 14}L3 ${worstY}L13 ${worstY + 14}` : `M${width - 13} ${worstY - 14}L${width - 3} ${worstY}L${width - 13} ${worstY + 14}`} fill="none" stroke="currentColor" stroke-width="2.5" /> : null}
        <g transform={`translate(${x - 9} ${worstY - 9}) scale(0.75)`}><MarkShape outcome={s.outcome} /></g>
      </g>
    );
  }
}
