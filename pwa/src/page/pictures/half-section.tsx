// The spindle in half-section: upper half cut, lower half seen from outside, every feature with a leader to a balloon that carries its verdict.
// Generated from the components' outlines to one scale; a job without outlines gets no picture, and the list beside it says everything.

import type { JSX } from "preact";
import { useId } from "preact/hooks";
import type { ComponentSheet, FeatureSheet } from "../../contract";
import { lengthText } from "../numbers/length-text";
import { coarse } from "../numbers/preference";
import { words } from "../words";
import { MarkShape, toneOf } from "./mark";
import { bearingPicture, extentOf, featureTrait, largestOutside, layPaper, placeBalloons, sectionPath, viewPath } from "./section-geometry";
import type { Paper, Trait } from "./section-geometry";
import { useWidth } from "./width";

const TARGET = 56;

export interface HalfSectionProps {
  components: ComponentSheet[];
  /** thick line on this feature, the rest calm */ highlight?: string;
  /** with balloons: where one leads */ link?: (f: FeatureSheet) => string;
  maxHeight?: number;
  /** the lower half too */ whole?: boolean;
  label: string;
}

export function HalfSection(p: HalfSectionProps): JSX.Element | null {
  const [ref, room] = useWidth<HTMLDivElement>(336);
  const id = useId().replace(/[^A-Za-z0-9]/g, "");
  const extent = extentOf(p.components);
  if (!extent) return null;
  const features = p.link ? p.components.flatMap((c) => (c.features ?? []).map((f) => ({ c, f }))) : [];
  const width = Math.max(room, (features.length + 1) * (TARGET / 2) + 8);
  const twoRows = features.length * TARGET > width - 16;
  const rows = features.length === 0 ? 0 : twoRows ? 2 : 1;
  const above = rows === 0 ? 6 : rows * TARGET + 30;
  const whole = p.whole ?? true;
  const paper = layPaper(extent, width, p.maxHeight ?? Math.min(470, Math.max(300, 0.34 * width)), p.link ? 18 : 4, above);
  const half = extent.r * paper.k;
  const foot = whole ? half + 46 : 10;
  const height = above + half + foot;
  const traits = features.map(({ c, f }) => featureTrait(f.spec, c, paper));
  const shown = features.map((x, i) => ({ ...x, t: traits[i] ?? null })).filter((x): x is { c: ComponentSheet; f: FeatureSheet; t: Trait } => x.t !== null);
  const slots = placeBalloons(shown.map((s) => s.t.x), width, TARGET);
  const painted = [...p.components].filter((c) => (c.outline ?? []).length > 0).sort((a, b) => largestOutside(a.outline!) - largestOutside(b.outline!));
  const marked = p.highlight ? p.components.flatMap((c) => (c.features ?? []).filter((f) => f.spec.feature === p.highlight).map((f) => featureTrait(f.spec, c, paper)))[0] : undefined;
  return (
    <div ref={ref} class="picture drawing" tabIndex={width > room ? 0 : undefined} role={width > room ? "region" : undefined} aria-label={width > room ? p.label : undefined}>
      <svg width={width} height={height} viewBox={`0 0 ${width} ${height}`} role={p.link ? "group" : "img"} aria-label={p.label}>
        <defs>
          {([["a", 45, 7], ["b", 135, 7], ["c", 45, 4.5], ["d", 135, 4.5]] as const).map(([n, turn, gap]) => (
            <pattern key={n} id={`${n}${id}`} width={gap} height={gap} patternUnits="userSpaceOnUse" patternTransform={`rotate(${turn})`}>
              <path d={`M0 0V${gap}`} stroke="var(--hatch)" stroke-width="1" />
            </pattern>
          ))}
        </defs>
        {whole ? painted.map((c) => <path key={`v${c.id}${c.name}`} d={viewPath(c.outline!, paper)} fill="var(--paper-raised)" stroke="var(--ink)" stroke-width="1" stroke-linejoin="round" />) : null}
        {painted.map((c, i) => <Section key={`s${c.id}${c.name}`} c={c} index={i} paper={paper} id={id} />)}
        <path d={`M${Math.max(0, paper.left - 14)} ${paper.axis}H${Math.min(width, width - paper.left + 14)}`} stroke="var(--ink)" stroke-width="1" stroke-dasharray="20 4 3 4" />
        {marked ? <path d={marked.path} stroke="var(--act)" stroke-width="5" stroke-linecap="round" fill="none" /> : null}
        {marked && marked.path === "" ? <circle cx={marked.x} cy={marked.y} r="6" fill="none" stroke="var(--act)" stroke-width="3" /> : null}
        {whole ? dimension(paper) : null}
        {shown.map((s, i) => leader(s, slots[i]!))}
        {shown.map((s, i) => balloon(s, slots[i]!))}
      </svg>
    </div>
  );

  function y(row: number): number { return row * TARGET + TARGET / 2; }

  function leader(s: { f: FeatureSheet; t: Trait }, slot: { x: number; row: 0 | 1 }): JSX.Element {
    const elbow = rows * TARGET + 8;
    return (
      <g key={`l${s.f.spec.feature}`} class={`tone-${toneOf[s.f.verdict.outcome]}`}>
        <path d={s.t.path} stroke="currentColor" stroke-width={width < 500 ? 2.4 : 3.4} stroke-linecap="round" fill="none" />
        <path d={`M${slot.x} ${y(slot.row) + TARGET / 2 - 5}V${elbow}L${s.t.x} ${s.t.y}`} stroke="var(--ink-soft)" stroke-width="1" fill="none" />
        <circle cx={s.t.x} cy={s.t.y} r="2.6" fill="var(--ink)" />
      </g>
    );
  }

  function balloon(s: { c: ComponentSheet; f: FeatureSheet }, slot: { x: number; row: 0 | 1 }): JSX.Element {
    const cx = slot.x, cy = y(slot.row), o = s.f.verdict.outcome;
    return (
      <a key={`b${s.f.spec.feature}`} href={p.link!(s.f)} class="balloon" aria-label={words.spindle.balloon(s.f.spec.feature, s.f.spec.name, words.outcome[o])}>
        <rect x={cx - TARGET / 2} y={cy - TARGET / 2} width={TARGET} height={TARGET} fill="transparent" />
        <rect class="plate" x={cx - TARGET / 2 + 2.5} y={cy - TARGET / 2 + 2.5} width={TARGET - 5} height={TARGET - 7} rx="3" />
        <g class={`tone-${toneOf[o]}`} transform={`translate(${cx - 10.5} ${cy - 23.5}) scale(0.875)`}><MarkShape outcome={o} /></g>
        <text x={cx} y={cy + 14} text-anchor="middle" class="pic-text strong">{s.f.spec.feature}</text>
      </a>
    );
  }

  function dimension(paper: Paper): JSX.Element {
    const e = extent!, x0 = paper.x(e.z0), x1 = paper.x(e.z1), yy = above + 2 * half + 20, mid = (x0 + x1) / 2;
    const text = lengthText(e.z1 - e.z0, coarse(), coarse() === "mm" ? 0 : 2);
    return (
      <g stroke="var(--rule)" fill="none">
        <path d={`M${x0} ${paper.axis + 4}V${yy + 5}M${x1} ${paper.axis + 4}V${yy + 5}`} stroke-dasharray="2 3" />
        <path d={`M${x0} ${yy}H${mid - 44}M${mid + 44} ${yy}H${x1}`} />
        <path d={`M${x0 + 9} ${yy - 3}L${x0} ${yy}L${x0 + 9} ${yy + 3}ZM${x1 - 9} ${yy - 3}L${x1} ${yy}L${x1 - 9} ${yy + 3}Z`} fill="var(--rule)" />
        <text x={mid} y={yy + 4} text-anchor="middle" class="pic-text num soft" stroke="none">{text}</text>
        <text x={x0} y={yy + 18} text-anchor="start" class="pic-text soft" stroke="none">{words.spindle.nose}</text>
        <text x={x1} y={yy + 18} text-anchor="end" class="pic-text soft" stroke="none">{words.spindle.rear}</text>
      </g>
    );
  }
}

function Section({ c, index, paper, id }: { c: ComponentSheet; index: number; paper: Paper; id: string }): JSX.Element {
  const stroke = { stroke: "var(--ink)", "stroke-width": 1.4, "stroke-linejoin": "round" as const };
  if (c.type === "bearing") {
    const b = bearingPicture(c.outline ?? [], c.bearing, paper);
    if (b) {
      return (
        <g>
          <path d={b.outer} fill="var(--paper-raised)" /><path d={b.inner} fill="var(--paper-raised)" />
          <path d={b.outer} fill={`url(#c${id})`} {...stroke} />
          <path d={b.inner} fill={`url(#d${id})`} {...stroke} />
          {b.line ? <path d={`M${b.line.x1} ${b.line.y1}L${b.line.x2} ${b.line.y2}`} stroke="var(--act)" stroke-width="1.1" stroke-dasharray="7 2 2 2" /> : null}
          {b.ball ? <circle cx={b.ball.x} cy={b.ball.y} r={b.ball.r} fill="var(--paper-raised)" {...stroke} /> : null}
          {b.ball && b.line ? <path d={`M${(b.line.x1 + b.ball.x) / 2} ${(b.line.y1 + b.ball.y) / 2}L${(b.line.x2 + b.ball.x) / 2} ${(b.line.y2 + b.ball.y) / 2}`} stroke="var(--act)" stroke-width="1.1" /> : null}
          {b.roller ? <rect x={b.roller.x} y={b.roller.y} width={b.roller.w} height={b.roller.h} fill="var(--paper-raised)" {...stroke} /> : null}
        </g>
      );
    }
  }
  const d = sectionPath(c.outline ?? [], paper);
  const hatch = c.type === "shaft" ? "a" : c.type === "housing" ? "b" : index % 2 === 0 ? "c" : "d";
  return (
    <g>
      <path d={d} fill="var(--paper-raised)" />
      <path d={d} fill={`url(#${hatch}${id})`} {...stroke} />
    </g>
  );
}
