// A ring or face unrolled: readings against the angle, with the wave of a tilt laid through them.

import type { JSX } from "preact";
import { angleText } from "../numbers/length-text";
import { words } from "../words";
import { firstWave } from "./round-geometry";
import { useWidth } from "./width";

export function Wedge({ points, text, title, height = 150 }: { points: { angle_mdeg: number; value: number }[]; text: (v: number) => string; title: string; height?: number }): JSX.Element {
  const [ref, width] = useWidth<HTMLDivElement>(320);
  const wave = firstWave(points);
  const values = points.map((p) => p.value);
  const low = Math.min(...values, wave ? wave.mean - wave.amplitude : Infinity);
  const high = Math.max(...values, wave ? wave.mean + wave.amplitude : -Infinity);
  const span = high - low || 1, left = 8, right = width - 8, top = 12, foot = height - 26;
  const x = (a: number): number => left + (a / 360_000) * (right - left);
  const y = (v: number): number => foot - 8 - ((v - low) / span) * (foot - top - 16);
  let curve = "";
  if (wave) {
    for (let a = 0; a <= 360_000; a += 7_500) {
      const v = wave.mean + wave.amplitude * Math.cos(((a - wave.at_mdeg) / 180_000) * Math.PI);
      curve += `${a === 0 ? "M" : "L"}${x(a).toFixed(1)} ${y(v).toFixed(1)}`;
    }
  }
  return (
    <div ref={ref} class="picture">
      <svg width={width} height={height} role="img" aria-label={`${title}: ${points.map((p) => `${angleText(p.angle_mdeg)} ${text(p.value)}`).join(", ")}`}>
        <path d={`M${left} ${foot}H${right}`} stroke="var(--rule)" />
        {[0, 90, 180, 270, 360].map((d) => (
          <g key={d}>
            <path d={`M${x(d * 1000)} ${top}V${foot + 4}`} stroke="var(--rule-soft)" />
            <text x={x(d * 1000)} y={height - 8} text-anchor={d === 0 ? "start" : d === 360 ? "end" : "middle"} class="pic-text num soft">{d}°</text>
          </g>
        ))}
        {curve ? <path d={curve} fill="none" stroke="var(--act)" stroke-width="1.8" stroke-dasharray="8 4" /> : null}
        {points.map((p) => <circle key={p.angle_mdeg} cx={x(p.angle_mdeg)} cy={y(p.value)} r="4" fill="var(--ink)" />)}
        {wave ? <text x={Math.min(right - 4, Math.max(left + 44, x(wave.at_mdeg)))} y={top + 1} text-anchor="middle" class="pic-text soft">{words.pictures.highestAt(angleText(Math.round(wave.at_mdeg / 1000) * 1000))}</text> : null}
      </svg>
    </div>
  );
}
