// Where round the part readings are taken: one end view a plane, a spot a station, the one to take now ringed and pointed at.

import type { JSX } from "preact";
import { angleText } from "../numbers/length-text";
import { words } from "../words";
import { onCircle } from "./round-geometry";

export interface StationSpot { plane: string; angle_mdeg: number; state: "taken" | "now" | "open" | "clash"; closing?: boolean }

export function Stations({ planes, size = 112, now }: { planes: { name: string; spots: StationSpot[] }[]; size?: number; now: { plane: string; angle_mdeg: number } | null }): JSX.Element {
  const says = planes.map((p) => words.pictures.plane(p.name, p.spots.filter((s) => s.state === "taken" || s.state === "clash").length, p.spots.length)).join("; ");
  return (
    <div class="stations" role="img" aria-label={says}>
      {planes.map((p) => <Ring key={p.name} plane={p} size={size} active={now?.plane === p.name ? now.angle_mdeg : null} />)}
    </div>
  );
}

function Ring({ plane, size, active }: { plane: { name: string; spots: StationSpot[] }; size: number; active: number | null }): JSX.Element {
  const c = size / 2, r = c - 20;
  const arrow = active === null ? null : { tip: onCircle(c, c, r - 9, active), tail: onCircle(c, c, 7, active) };
  return (
    <figure class={active === null ? "ring" : "ring now"}>
      <svg width={size} height={size} aria-hidden="true">
        <circle cx={c} cy={c} r={r} fill="var(--paper-raised)" stroke="var(--ink)" stroke-width="1.5" />
        <path d={`M${c} ${c - r - 5}V${c + r + 5}M${c - r - 5} ${c}H${c + r + 5}`} stroke="var(--rule)" stroke-dasharray="9 3 2 3" />
        {arrow ? <path d={`M${arrow.tail.x} ${arrow.tail.y}L${arrow.tip.x} ${arrow.tip.y}`} stroke="var(--act)" stroke-width="3" /> : null}
        {plane.spots.filter((s) => !s.closing).map((s) => {
          const at = onCircle(c, c, r, s.angle_mdeg);
          const here = active === s.angle_mdeg;
          return (
            <g key={s.angle_mdeg}>
              {here ? <circle cx={at.x} cy={at.y} r="10.5" fill="var(--paper)" stroke="var(--act)" stroke-width="3" /> : null}
              {s.state === "clash" ? <path d={`M${at.x - 5} ${at.y - 5}l10 10m0 -10l-10 10`} stroke="var(--clash)" stroke-width="3" />
                : <circle cx={at.x} cy={at.y} r={here ? 5 : 6} fill={s.state === "taken" ? "var(--ink)" : "var(--paper)"} stroke={here ? "var(--act)" : "var(--ink)"} stroke-width="1.6" />}
            </g>
          );
        })}
        {active !== null ? angleLabel(active) : null}
      </svg>
      {plane.name ? <figcaption class="label">{words.pictures.planeName(plane.name)}</figcaption> : null}
    </figure>
  );

  function angleLabel(angle: number): JSX.Element {
    const inside = onCircle(c, c, r * 0.42, (angle + 180_000) % 360_000);
    return <text x={inside.x} y={inside.y + 5} text-anchor="middle" class="pic-text num strong">{angleText(angle)}</text>;
  }
}
