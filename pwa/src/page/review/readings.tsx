// Who read what, where, when, with which gauge, and whether it counts. Any reading can be struck with a reason; one that stands between two
// rounds can be placed.

import type { JSX } from "preact";
import type { ReadingLine, Sheet } from "../../contract";
import { momentText, now } from "../numbers/time-text";
import { angleText } from "../numbers/length-text";
import { shown } from "../keypad/state";
import { words } from "../words";

export function Readings({ sheet, readings, name, strike, settle }: { sheet: Sheet; readings: ReadingLine[]; name: (id: string) => string; strike: (r: ReadingLine) => void; settle: (r: ReadingLine) => void }): JSX.Element | null {
  if (readings.length === 0) return null;
  const order: Record<ReadingLine["status"], number> = { unplaced: 0, counts: 1, "without effect": 2, struck: 3, "earlier round": 4 };
  const sorted = [...readings].sort((a, b) => order[a.status] - order[b.status] || ((a.plane ?? "") < (b.plane ?? "") ? -1 : (a.plane ?? "") > (b.plane ?? "") ? 1 : a.angle_mdeg - b.angle_mdeg || a.time_ms - b.time_ms));
  return (
    <details class="why" open={readings.some((r) => r.status === "unplaced")}>
      <summary>{words.review.readings(readings.filter((r) => r.status === "counts").length, readings.length)}</summary>
      <ul class="reading-lines">
        {sorted.map((r) => {
          const gauge = (sheet.setups ?? []).find((s) => s.id === r.setup)?.gauge;
          return (
            <li key={r.id} class={r.status === "counts" ? "" : r.status === "unplaced" ? "unplaced" : "struck-line"}>
              <span class="where num">{r.plane ? `${words.pictures.planeName(r.plane)} · ` : ""}{angleText(r.angle_mdeg)}{r.closing ? ` ${words.measure.closing}` : ""}</span>
              <span class="typed num">{shown(r.typed)}&nbsp;{words.pad.unit(r.unit)}</span>
              <span class="by label">{name(r.by)} · {momentText(r.time_ms, now.value)}{r.clocked ? "" : ` (${words.review.unclocked})`} · {gauge?.name || gauge?.id || words.review.noGauge}{r.asked ? <span class="block">{words.review.asked(r.asked)}</span> : null}</span>
              <span class="state label">{r.status === "counts" ? "" : words.review.statuses[r.status]}{r.why ? `: ${r.why}` : ""}</span>
              {r.status === "unplaced" ? <button type="button" class="do" onClick={() => settle(r)}>{words.review.place}</button> : null}
              {r.status === "counts" || r.status === "unplaced" ? <button type="button" class="do quiet" onClick={() => strike(r)} aria-label={words.review.strikeThis(shown(r.typed), words.pad.unit(r.unit))}>{words.review.strike}</button> : null}
            </li>
          );
        })}
      </ul>
    </details>
  );
}
