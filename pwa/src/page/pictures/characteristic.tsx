// One characteristic as a picture: its value in the tolerance, and for what goes round a part the trace or the wedge.

import type { JSX } from "preact";
import type { FeatureSheet, Sheet, VCharacteristic } from "../../contract";
import { isSweep, readAs } from "../measure/plan";
import { decimalsFor, digits, lengthText, limitDigits, limitsText, quantityNumber, quantityText } from "../numbers/length-text";
import { fine } from "../numbers/preference";
import { resolutionOf, verdictOf } from "../reading-sheet";
import { words } from "../words";
import { toneOf } from "./mark";
import { Polar } from "./polar";
import { ToleranceBand } from "./tolerance-band";
import { Wedge } from "./wedge";

/** The decisive value as text, "+4.0 ± 1.0 µm"; a dash while nothing is known. Geometrical characteristics have no sign. */
export function valueText(sheet: Sheet, f: FeatureSheet, v: VCharacteristic): string {
  if (v.quantity) return quantityText(v.quantity);
  if (v.value_pm === null) return "–";
  const unit = fine(), d = decimalsFor(resolutionOf(sheet, f), unit);
  const value = digits(v.value_pm, unit, d, signed(v));
  return v.U_pm === null ? lengthText(v.value_pm, unit, d, signed(v)) : `${value} ± ${lengthText(v.U_pm, unit, d)}`;
}

export function limitsOf(v: VCharacteristic): string {
  if (v.lower || v.upper) {
    if (v.lower && v.upper) return `${quantityText(v.lower)} … ${quantityText(v.upper)}`;
    return v.lower ? `≥ ${quantityText(v.lower)}` : `≤ ${quantityText(v.upper!)}`;
  }
  if (!signed(v) && v.lower_pm === 0) return limitsText(null, v.upper_pm, fine());
  return limitsText(v.lower_pm, v.upper_pm, fine());
}

/** Deviations carry a sign; run-outs, roundness and the like cannot be negative. A taper can: bigger towards the nose is plus. */
export function signed(v: VCharacteristic): boolean {
  return v.characteristic === "size" || v.characteristic === "taper" || (v.lower_pm !== null && v.lower_pm < 0);
}

export function ValueBand({ sheet, feature, v, height }: { sheet: Sheet; feature: FeatureSheet; v: VCharacteristic; height?: number }): JSX.Element | null {
  const unit = fine(), d = decimalsFor(resolutionOf(sheet, feature), unit);
  const says = `${v.characteristic}: ${valueText(sheet, feature, v)}, ${words.limits} ${limitsOf(v)}, ${words.outcome[v.outcome]}`;
  const h = height === undefined ? {} : { height };
  if (v.quantity || v.lower || v.upper) {
    const value = v.quantity ? { value: quantityNumber(v.quantity), U: 0, outcome: v.outcome } : null;
    const lower = v.lower ? quantityNumber(v.lower) : null, upper = v.upper ? quantityNumber(v.upper) : null;
    return <ToleranceBand lower={lower} upper={upper} points={[]} worst={value} text={(n) => String(Number(n.toPrecision(6)))} says={says} {...h} />;
  }
  if (v.lower_pm === null && v.upper_pm === null) return null;
  const local = v.characteristic === "size" ? (v.stations ?? []).map((s) => ({ value: s.value_pm, U: 2 * s.u_pm, outcome: s.outcome, clash: s.clash ?? false })) : [];
  const worst = v.value_pm === null ? null : { value: v.value_pm, U: v.U_pm ?? 0, outcome: v.outcome };
  const lower = !signed(v) && v.lower_pm === 0 ? null : v.lower_pm;
  const guarded = v.rule === "" || v.rule.startsWith("guarded");
  return (
    <ToleranceBand lower={lower} upper={v.upper_pm} points={local} worst={worst} says={says} {...h}
      guard={guarded && v.U_pm !== null ? (1.645 / 2) * v.U_pm : 0}
      text={(n, limit) => (limit ? limitDigits(n, unit, signed(v)) : digits(n, unit, d, signed(v)))} />
  );
}

/** The trace or wedge, one a plane, where the characteristic goes round; nothing otherwise. */
export function RoundPicture({ sheet, feature, v }: { sheet: Sheet; feature: FeatureSheet; v: VCharacteristic }): JSX.Element | null {
  // Wedge, roundness and the like rest on the readings of another characteristic, and the stations may stand there.
  const stations = v.stations?.length ? v.stations : verdictOf(feature, readAs(feature.spec.geometry, v.characteristic))?.stations ?? [];
  const unit = fine(), d = decimalsFor(resolutionOf(sheet, feature), unit);
  const wedge = v.characteristic === "parallelism" || v.characteristic === "axial run-out" || v.characteristic === "perpendicularity";
  if (stations.length < 3 || (!wedge && !isSweep(v.characteristic))) return null;
  const text = (n: number): string => lengthText(n, unit, d, n < 0);
  const planes = [...new Set(stations.map((s) => s.plane ?? ""))];
  const setup = (sheet.setups ?? []).find((s) => (feature.readings ?? []).some((r) => r.setup === s.id && r.status === "counts" && r.means === "indicator"));
  return (
    <div class="rounds">
      {planes.map((plane) => {
        const points = stations.filter((s) => (s.plane ?? "") === plane).map((s) => ({ angle_mdeg: s.angle_mdeg, value: s.value_pm }));
        const title = plane ? `${v.characteristic}, ${words.pictures.planeName(plane)}` : v.characteristic;
        return wedge ? <Wedge key={plane} points={points} text={text} title={title} />
          : <Polar key={plane} points={points} text={text} title={title} tone={`tone-${toneOf[v.outcome]}`} zero={setup?.zero_ref ?? ""} />;
      })}
    </div>
  );
}
