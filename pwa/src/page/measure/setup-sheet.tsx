// The set-up: what every reading under it will rest on. One page from top to bottom: gauge, how it is read, master, temperatures; and at once
// whether this gauge can decide this characteristic at all, before gloves go on.

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Gauge, SetupBody, SetupLine, Sheet } from "../../contract";
import { useBackend, useSave } from "../backend-context";
import { lengthText, decimalsFor } from "../numbers/length-text";
import { fine } from "../numbers/preference";
import { momentText, now } from "../numbers/time-text";
import type { Found } from "../reading-sheet";
import { Choices, Trouble } from "../shell/dialog";
import { seenHeads } from "../seen";
import { words } from "../words";
import { dueText, GaugePick, MasterPick } from "./gauge-pick";
import { bodyOf, kindOf, openSetups, suits, takeUp, temperature } from "./in-use";

export function SetupSheet({ sheet, found, characteristic }: { sheet: Sheet; found: Found; characteristic: string }): JSX.Element {
  const backend = useBackend();
  const shop = backend.shop.value;
  const kind = kindOf(found.feature.spec.geometry, characteristic);
  const sweep = kind === "sweep", quantity = kind === "quantity";
  const [gauge, setGauge] = useState<Gauge | null>(null);
  const [mode, setMode] = useState<SetupBody["mode"]>(sweep ? "indicator" : quantity ? "absolute" : "master");
  const [master, setMaster] = useState<SetupBody["master"]>(undefined);
  const [measured, setMeasured] = useState<boolean | null>(null);
  const [part, setPart] = useState("");
  const [other, setOther] = useState("");
  const [soaked, setSoaked] = useState<boolean | null>(null);
  const [support, setSupport] = useState<string | null>(null);
  const [zeroRef, setZeroRef] = useState("");
  const [sense, setSense] = useState<string | null>(null);
  const { busy, trouble, save } = useSave(sheet.job);
  const open = openSetups(sheet, backend.session.value, kind, found.feature.spec);

  const tp = measured ? temperature(part) : null, tm = measured ? temperature(other) : null;
  const body: SetupBody | null = gauge && {
    gauge, mode, soaked: soaked ?? false,
    ...(mode === "master" && master ? { master } : {}),
    ...(tp !== null && !Number.isNaN(tp) ? { t_part_mdegc: tp } : {}),
    ...(tm !== null && !Number.isNaN(tm) ? { t_master_mdegc: tm } : {}),
    ...(sweep && support ? { support } : {}), ...(sweep && zeroRef.trim() ? { zero_ref: zeroRef.trim() } : {}), ...(sweep && sense ? { sense } : {}),
  };
  const lacks = missing();
  const able = useCapable(sheet.job, found.feature.spec.feature, characteristic, quantity || (mode === "master" && !master) || !body ? null : { ...body, soaked: soaked ?? true }); // until it is answered: at best

  return (
    <div class="setup stack">
      {open.length > 0 ? (
        <section class="stack">
          <h2>{words.setup.goOn}</h2>
          {open.slice(0, 3).map((s) => (
            <button type="button" key={s.id} class="do wide continue" onClick={() => resume(s)}>
              <span><b>{s.gauge.name || s.gauge.id}</b>{s.master ? ` · ${s.master.name || s.master.id}` : ""}<span class="label block">{words.setup.since(momentText(s.time_ms, now.value), s.readings)}</span></span>
            </button>
          ))}
          <hr class="centre" />
        </section>
      ) : null}
      <h2>{words.setup.title}</h2>
      <GaugePick gauges={shop?.gauges ?? []} want={{ kind, geometry: found.feature.spec.geometry, nominal_pm: found.feature.spec.nominal_pm ?? 0 }} chosen={gauge} choose={setGauge} />
      {sweep || quantity ? null : <Choices label={words.setup.how} value={mode} options={["master", "absolute"] as const} choose={setMode} text={(m) => words.setup.mode[m]} />}
      {mode === "master" ? <MasterPick masters={shop?.masters ?? []} nominal_pm={found.feature.spec.nominal_pm ?? null} chosen={master ?? null} choose={setMaster} /> : null}
      {mode === "master" && body && master && !suits(body, found.feature.spec) ? <p class="say doubt" role="status">{words.setup.farMaster}</p> : null}
      {sweep ? (
        <>
          <Choices label={words.setup.support} value={support} options={words.setup.supports} choose={setSupport} />
          <label class="field"><span>{words.setup.zeroRef}</span><input value={zeroRef} placeholder={words.setup.zeroRefHint} onInput={(e) => setZeroRef(e.currentTarget.value)} /></label>
          <Choices label={words.setup.sense} value={sense} options={words.setup.senses} choose={setSense} />
        </>
      ) : null}
      {sweep || quantity ? null : (
        <>
          <Choices label={words.setup.temperatures} value={measured === null ? null : measured ? "yes" : "no"} options={["yes", "no"] as const} choose={(v) => setMeasured(v === "yes")} text={(v) => (v === "yes" ? words.setup.measured : words.setup.notMeasured)} />
          {measured ? (
            <div class="pair">
              <label class="field"><span>{words.setup.partTemperature}</span><input inputMode="decimal" value={part} onInput={(e) => setPart(e.currentTarget.value)} aria-invalid={Number.isNaN(tp)} /></label>
              <label class="field"><span>{mode === "master" ? words.setup.masterTemperature : words.setup.gaugeTemperature}</span><input inputMode="decimal" value={other} onInput={(e) => setOther(e.currentTarget.value)} aria-invalid={Number.isNaN(tm)} /></label>
            </div>
          ) : null}
          <Choices label={words.setup.soaked} value={soaked === null ? null : soaked ? "yes" : "no"} options={["yes", "no"] as const} choose={(v) => setSoaked(v === "yes")} text={(v) => (v === "yes" ? words.setup.soakedYes : words.setup.soakedNo)} />
        </>
      )}
      <Trouble words={trouble} />
      <div class="setup-foot">
        {able ? <p class={`say ${able.can ? "good" : "fails"}`} role="status"><b>{able.can ? words.setup.can : words.setup.cannot}</b> {able.words}</p> : null}
        {lacks ? <p class="label" role="status">{lacks}</p> : null}
        <button type="button" class="do main wide" disabled={busy || lacks !== ""} onClick={() => void begin()}>{sweep || quantity ? words.setup.begin : words.setup.beginZero}</button>
      </div>
    </div>
  );

  function missing(): string {
    if (!gauge) return words.setup.pickGauge;
    if (mode === "master" && !master) return words.setup.pickMaster;
    if (sweep && !support) return words.setup.pickSupport;
    if (sweep && !sense) return words.setup.pickSense;
    if (!sweep && !quantity) {
      if (measured === null) return words.setup.pickTemperatures;
      if (measured && (tp === null || tm === null || Number.isNaN(tp) || Number.isNaN(tm))) return words.setup.badTemperature;
      if (soaked === null) return words.setup.pickSoaked;
    }
    return "";
  }

  function resume(s: SetupLine): void {
    takeUp(sheet.job, kind, { id: s.id, body: bodyOf(s), feature: found.feature.spec.feature, before: s.zero_before_pm !== null, after: false });
  }

  async function begin(): Promise<void> {
    if (!body) return;
    const answer = await save("setup", body, seenHeads(sheet));
    if (answer?.ok) takeUp(sheet.job, kind, { id: answer.id, body, feature: found.feature.spec.feature, before: false, after: false });
  }
}

/** What the engine says of a set-up before it is used; null while nothing is chosen or asked. */
function useCapable(job: string, feature: string, characteristic: string, setup: SetupBody | null): { can: boolean; words: string } | null {
  const backend = useBackend();
  const [answer, setAnswer] = useState<{ can: boolean; words: string } | null>(null);
  const asked = setup ? JSON.stringify(setup) : "";
  useEffect(() => {
    let old = false;
    setAnswer(null);
    if (!setup) return;
    backend.capable({ job, feature, characteristic, setup })
      .then((a) => { if (!old) setAnswer(a); })
      .catch((e: unknown) => { if (!old) setAnswer({ can: false, words: words.setup.notAsked(e instanceof Error ? e.message : String(e)) }); });
    return () => { old = true; };
  }, [asked, job, feature, characteristic]);
  return answer;
}

/** The gauge in hand, on one line above the stations. */
export function GaugeStrip({ body, change }: { body: SetupBody; change: () => void }): JSX.Element {
  const g = body.gauge, due = dueText(g, now.value);
  return (
    <div class="gauge-strip">
      <span class="grow">
        <b>{g.name || g.id}</b>{body.master ? <span> · {body.master.name || body.master.id}</span> : null}
        <span class="label block"><span class={due.overdue ? "tone-fails" : ""}>{due.text}</span>{g.resolution_pm > 0 ? ` · ${words.setup.step(lengthText(g.resolution_pm, fine(), Math.max(1, decimalsFor(g.resolution_pm, fine()))))}` : ""}{temperatureText(body)}</span>
      </span>
      <button type="button" class="do quiet" onClick={change}>{words.setup.change}</button>
    </div>
  );
}

function temperatureText(body: SetupBody): string {
  if (body.mode === "indicator") return body.support ? ` · ${body.support}` : "";
  if (body.t_part_mdegc === undefined) return ` · ${words.setup.noTemperature}`;
  return ` · ${words.setup.partAt((body.t_part_mdegc / 1000).toFixed(1))}`;
}
