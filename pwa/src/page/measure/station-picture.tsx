// The stations to take: end views with the one to take now, a step back and forth, and all of them as a list for repeats.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ReadingLine, Specification, VCharacteristic } from "../../contract";
import { Stations } from "../pictures/stations";
import type { StationSpot } from "../pictures/stations";
import { Dialog } from "../shell/dialog";
import { words } from "../words";
import { stationKey } from "./plan";
import type { Station } from "./plan";

export interface StationPictureProps { spec: Specification; stations: Station[]; taken: ReadonlyMap<string, number>; verdict: VCharacteristic | null; target: Station | null; pick: (s: Station) => void; readings: ReadingLine[] }

export function StationPicture(p: StationPictureProps): JSX.Element | null {
  const [listed, setListed] = useState(false);
  const clashes = new Set((p.verdict?.stations ?? []).filter((s) => s.clash).map((s) => stationKey({ plane: s.plane ?? "", angle_mdeg: s.angle_mdeg })));
  const planes = [...new Set(p.stations.map((s) => s.plane))].map((name) => ({
    name,
    spots: p.stations.filter((s) => s.plane === name).map((s): StationSpot => ({
      plane: s.plane, angle_mdeg: s.angle_mdeg, closing: s.closing,
      state: p.target && stationKey(p.target) === stationKey(s) ? "now" : clashes.has(stationKey(s)) ? "clash" : p.taken.has(stationKey(s)) ? "taken" : "open",
    })),
  }));
  const index = p.target ? p.stations.findIndex((s) => stationKey(s) === stationKey(p.target!)) : -1;
  const single = p.stations.length === 1;
  return (
    <section class="station-picture" aria-label={words.measure.stations}>
      {single ? null : step(-1)}
      <button type="button" class="rings" onClick={() => setListed(true)} disabled={single}>
        <Stations planes={planes} size={88} now={p.target} />
        <span class="unseen">{words.measure.allStations}</span>
      </button>
      {single ? null : step(1)}
      {listed ? (
        <Dialog title={words.measure.stations} close={() => setListed(false)}>
          <ul class="stack station-list">
            {p.stations.map((s) => {
              const here = p.readings.filter((r) => stationKey(r) === stationKey(s));
              const n = p.taken.get(stationKey(s)) ?? 0;
              return (
                <li key={stationKey(s)}>
                  <button type="button" class="do wide pickrow" aria-pressed={p.target !== null && stationKey(p.target) === stationKey(s)} onClick={() => { p.pick(s); setListed(false); }}>
                    <span class="grow">{words.measure.stationName(s.plane, s.angle_mdeg, s.closing)}</span>
                    <span class="label num">{here.length > 0 ? here.map((r) => `${r.typed}\u00a0${words.pad.unit(r.unit)}`).join(" · ") : n > 0 ? words.measure.taken(n) : words.measure.open}</span>
                  </button>
                </li>
              );
            })}
          </ul>
        </Dialog>
      ) : null}
    </section>
  );

  function step(by: 1 | -1): JSX.Element {
    const n = p.stations.length;
    const to = p.stations[index < 0 ? (by > 0 ? 0 : n - 1) : (index + by + n) % n]!;
    return (
      <button type="button" class="do quiet step" onClick={() => p.pick(to)} aria-label={by > 0 ? words.measure.nextStation : words.measure.previousStation}>
        <svg width="22" height="26" viewBox="0 0 22 26" aria-hidden="true"><path d={by > 0 ? "M7 4 16 13 7 22" : "M15 4 6 13l9 9"} fill="none" stroke="currentColor" stroke-width="2.8" /></svg>
      </button>
    );
  }
}
