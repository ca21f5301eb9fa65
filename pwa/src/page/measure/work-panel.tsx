// The working part of measuring: the zero, the stations, the keypad, the verdict as it forms. A value goes typed → understood → (asked) → kept
// on the device → next station; nothing advances before the device has it.

import type { JSX } from "preact";
import { useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { useSignal } from "@preact/signals";
import type { ID, ReadingBody, Sheet, Understood } from "../../contract";
import { useBackend, useSave } from "../backend-context";
import { StrikeForm } from "../forms/strike";
import { Keypad } from "../keypad/keypad";
import { useTyping } from "../keypad/typing";
import { defaultUnit, openPad, press, ready, shown } from "../keypad/state";
import type { Key, Pad } from "../keypad/state";
import { decimalsFor, lengthText } from "../numbers/length-text";
import { scale } from "../numbers/preference";
import { fact, specOf, verdictOf } from "../reading-sheet";
import type { Found } from "../reading-sheet";
import { seenHeads } from "../seen";
import { Trouble } from "../shell/dialog";
import { words } from "../words";
import { AllTaken, LeaveOpen } from "./closing";
import { kindOf, noteZero, takeUp } from "./in-use";
import type { InUse } from "./in-use";
import { meansFor, nextStation, purposeFor, stationKey, stationsOf, takenAt } from "./plan";
import type { Station } from "./plan";
import { GaugeStrip } from "./setup-sheet";
import { SlipQuestion } from "./slip";
import { StationPicture } from "./station-picture";
import { VerdictStrip } from "./verdict-strip";

/** What the next number is for. */
type Target = { what: "zero"; which: "before" | "after" } | { what: "station"; at: Station } | { what: "done" };
interface Kept { id: ID; key: string; text: string }
/** A number as it was entered. */
interface Entered { typed: string; unit: string; means: ReadingBody["means"] }

export interface WorkProps { sheet: Sheet; found: Found; characteristic: string; read: string; inUse: InUse }

export function WorkPanel({ sheet, found, characteristic, read, inUse }: WorkProps): JSX.Element {
  const backend = useBackend();
  const session = backend.session.value;
  const spec = found.feature.spec, quantity = spec.geometry === "quantity", kind = kindOf(spec.geometry, read);
  const { purpose, blind } = purposeFor(session?.as ?? "technician", fact(sheet, "stage"));
  const stations = useMemo(() => stationsOf(spec, read), [spec, read]);
  const means = meansFor(inUse.body.mode, spec.geometry);
  const pad = useSignal<Pad>(openPad(quantity ? quantityUnit() : defaultUnit(means[0]!, scale.value), means[0]!));
  const [mine, setMine] = useState<Kept[]>([]);
  const [picked, setPicked] = useState<Target | null>(null);
  const [after, setAfter] = useState<Station | null>(null);
  const [question, setQuestion] = useState<{ ask: string; n: Entered; u: Understood; target: Target } | null>(null);
  const [wrong, setWrong] = useState("");
  const [undo, setUndo] = useState<Kept | null>(null);
  /** "gauge": another set-up is wanted; else the address that a link leads to */
  const [leaving, setLeaving] = useState<string | null>(null);
  // Entered and not yet kept. A gauge may type its next value while the last one is being written: each waits its turn and goes to the station
  // that is next when its turn comes.
  const queue = useSignal<Entered[]>([]);
  const working = useRef(false);
  const { trouble, save } = useSave(sheet.job);

  const line = (sheet.setups ?? []).find((s) => s.id === inUse.id);
  const zeroed = inUse.before || (line ? line.zero_before_pm !== null : false);
  const closed = inUse.after || (line ? line.zero_after_pm !== null : false);
  const taken = new Map(takenAt(found.feature.readings, read, blind ? { purpose, person: session?.person.id ?? "" } : undefined));
  const known = new Set((found.feature.readings ?? []).map((r) => r.id));
  for (const k of mine) if (!known.has(k.id)) taken.set(k.key, (taken.get(k.key) ?? 0) + 1);
  // After its closing zero nothing more is read under a set-up: no check would stand behind it.
  const openStation = nextStation(stations, taken, null) !== null;
  const target: Target = closed ? { what: "done" } : picked ?? following();
  const hidden = blind && nextStation(stations.filter((s) => !s.closing), taken, null) !== null;
  const last = mine[mine.length - 1] ?? null;
  const capture = backend.mayCapture?.value.ok ?? true;

  useLayoutEffect(() => {
    const n = queue.value[0];
    if (!n || working.current || question || undo || leaving !== null) return;
    working.current = true;
    void take(n, target).then((kept) => {
      working.current = false;
      if (kept) queue.value = queue.value.slice(1);
    });
  });
  useTyping({ text: () => pad.value.text, press: touch, enter, listening: question === null && undo === null && leaving === null });
  // Who comes back to stations that are still open, after a rework or another day, begins with the set-up.
  useEffect(() => { if (closed && openStation) takeUp(sheet.job, kind, null); }, []);
  useEffect(() => { window.scrollTo(0, 0); }, []); // the set-up sheet was longer, and its button at the end
  const unkept = ready(pad.value) || queue.value.length > 0 || question !== null;
  useEffect(() => { backend.typing?.(unkept); }, [unkept]);
  useEffect(() => () => backend.typing?.(false), []);
  // Leaving with readings on an open set-up: the closing zero is asked for first. Another feature under the same set-up is no leaving.
  const open = needsClosing() && zeroed && mine.some((k) => !k.key.startsWith("zero"));
  useEffect(() => {
    if (!open) return;
    const stop = (e: MouseEvent): void => {
      const to = (e.target as Element | null)?.closest?.("a[href^='#/']")?.getAttribute("href");
      if (!to || to.includes("/measure/")) return;
      e.preventDefault();
      setLeaving(to);
    };
    document.addEventListener("click", stop, true);
    return () => document.removeEventListener("click", stop, true);
  }, [open]);

  return (
    <>
      <GaugeStrip body={inUse.body} change={() => (inUse.body.mode === "indicator" || closed || !zeroed || quantity ? takeUp(sheet.job, kind, null) : setLeaving("gauge"))} />
      <StationPicture spec={spec} stations={stations} taken={taken} verdict={hidden ? null : verdictOf(found.feature, read) ?? verdictOf(found.feature, characteristic)}
        target={target.what === "station" ? target.at : null} pick={(at) => setPicked({ what: "station", at })} readings={hidden ? [] : (found.feature.readings ?? []).filter((r) => r.characteristic === read && r.status === "counts")} />
      <VerdictStrip sheet={sheet} feature={found.feature} characteristic={characteristic} blind={hidden} have={taken.size} need={stations.filter((s) => !s.closing).length} />
      <div class="last-kept">
        <p role="status" class="grow">{last ? <><span class="label">{words.measure.savedHere}</span> <b class="num">{last.text}</b></> : blind ? <span class="label">{words.measure.blind}</span> : null}</p>
        {last ? <button type="button" class="do quiet" onClick={() => setUndo(last)}>{words.measure.undo}</button> : null}
      </div>
      <Trouble words={[wrong.trim(), trouble].filter(Boolean).join(" ")} />
      {target.what === "done"
        ? <AllTaken sheet={sheet} found={found} read={read} setup={inUse.body} needsClosing={needsClosing()} close={() => setPicked({ what: "zero", which: "after" })} ended={closed && openStation}
            again={closed ? null : () => setPicked({ what: "station", at: stations[0]! })} anew={closed ? () => takeUp(sheet.job, kind, null) : null} />
        : (
          <>
            {target.what === "station" && target.at.closing ? <p class="say"><span class="grow">{words.measure.closingWhy}</span> <button type="button" class="do quiet" onClick={() => skipClosing(target.at)}>{words.measure.skip}</button></p> : null}
            {target.what === "zero" ? <p class="say">{target.which === "before" ? words.measure.zeroBeforeWhy : words.measure.zeroAfterWhy}</p> : null}
            <Keypad pad={pad.value} press={touch} enter={enter} busy={!capture} asks={asks(target)} means={target.what === "zero" ? ["from master"] : means}
              {...(quantity ? { quantity: pad.value.unit } : {})} />
          </>
        )}
      {question ? <SlipQuestion ask={question.ask} typed={text(question.n)} yes={() => { setQuestion(null); void keepAsked(question); }} change={() => { setWrong(giveBack(question.n)); setQuestion(null); }} /> : null}
      {undo ? <StrikeForm job={sheet.job} target={undo.id} what={undo.text} seen={() => seenHeads(sheet)} close={(done) => { if (done) setMine((m) => m.filter((k) => k.id !== undo.id)); setUndo(null); }} /> : null}
      {leaving !== null ? <LeaveOpen now={() => { setLeaving(null); setPicked({ what: "zero", which: "after" }); }} leave={leave} back={() => setLeaving(null)} /> : null}
    </>
  );

  function leave(): void {
    const to = leaving;
    setLeaving(null);
    if (to === "gauge") takeUp(sheet.job, kind, null);
    else if (to !== null) location.hash = to;
  }

  function quantityUnit(): string {
    const c = specOf(found.feature, characteristic);
    return c?.lower?.unit ?? c?.upper?.unit ?? "";
  }

  function needsClosing(): boolean {
    return inUse.body.mode !== "indicator" && !quantity && !closed;
  }

  function following(): Target {
    if (inUse.body.mode !== "indicator" && !quantity && !zeroed) return { what: "zero", which: "before" };
    const at = nextStation(stations, taken, after);
    return at ? { what: "station", at } : { what: "done" };
  }

  function asks(t: Target): string {
    if (t.what === "zero") return t.which === "before" ? words.measure.zeroBefore : words.measure.zeroAfter;
    if (t.what === "done") return "";
    const again = taken.get(stationKey(t.at)) ?? 0;
    return words.measure.stationName(t.at.plane, t.at.angle_mdeg, t.at.closing) + (again > 0 ? ` · ${words.measure.repeat(again + 1)}` : "");
  }

  function skipClosing(at: Station): void {
    const rest = stations.slice(stations.findIndex((s) => stationKey(s) === stationKey(at)) + 1).find((s) => !taken.has(stationKey(s)));
    setPicked(rest ? { what: "station", at: rest } : { what: "done" });
  }

  function text(n: Entered): string {
    return `${shown(n.typed)}\u00a0${words.pad.unit(n.unit)}`;
  }

  /** What the engine took it for, in the unit typed, with the digits of the gauge (or those typed, where there were more). */
  function readBack(n: Entered, u: Understood): string {
    const unit = (["µm", "mm", "in", "tenth"] as const).find((x) => x === n.unit);
    if (u.value_pm === undefined || !unit || /[a-zµ"]/.test(n.typed)) return u.shown ?? text(n);
    const typed = n.typed.split(".")[1]?.length ?? 0;
    return lengthText(u.value_pm, unit, Math.max(typed, decimalsFor(inUse.body.gauge.resolution_pm, unit)), n.means !== "size");
  }

  /** The next character of a fast gauge or thumb comes before the screen is drawn again: it builds on the number as of now. */
  function touch(key: Key, at: number | null): void {
    pad.value = press(pad.value, key, at);
    if (wrong) setWrong("");
  }

  function enter(): void {
    if (!ready(pad.value) || !capture) return;
    const { text: typed, unit, means: what } = pad.value;
    setWrong("");
    queue.value = [...queue.value, { typed, unit, means: target.what === "zero" ? "from master" : what }];
    pad.value = { ...pad.value, text: "", restored: false, choosing: null };
  }

  /** What was not kept stands on the keypad again; where something else does by now, and for all that waited behind it, the words to say so. */
  function giveBack(n: Entered): string {
    const lost = queue.value.filter((q) => q !== n);
    queue.value = [];
    if (pad.value.text === "") pad.value = { ...pad.value, text: n.typed, unit: n.unit, restored: true };
    else lost.unshift(n);
    return lost.length > 0 ? words.measure.alsoNotKept(lost.map(text).join(", ")) : "";
  }

  /** True once the number is on the device. False: it was not kept, nor is anything that waits behind it, and the person is told. */
  async function take(n: Entered, t: Target): Promise<boolean> {
    if (t.what === "done") {
      setWrong(`${closed ? words.measure.afterClosing(text(n)) : words.measure.noStation(text(n))} ${giveBack(n)}`);
      return false;
    }
    try {
      const u = await backend.understand({
        job: sheet.job, feature: t.what === "zero" ? "master" : spec.feature, characteristic: t.what === "zero" ? "zero" : read,
        setup: inUse.id, text: n.typed, unit: n.unit, means: n.means,
      });
      if (u.ok && !u.ask) {
        if (await keep(n, u, t, undefined)) return true;
        setWrong(giveBack(n));
      } else if (u.ok) {
        // Nothing may be kept past an open question: what waits behind it is named in words, not put on the next station.
        const lost = queue.value.filter((q) => q !== n);
        queue.value = [];
        if (lost.length > 0) setWrong(words.measure.alsoNotKept(lost.map(text).join(", ")));
        setQuestion({ ask: u.ask!, n, u, target: t });
      } else setWrong(`${u.words} ${giveBack(n)}`);
    } catch (e: unknown) {
      setWrong(`${words.measure.notUnderstood(e instanceof Error ? e.message : String(e))} ${giveBack(n)}`);
    }
    return false;
  }

  async function keepAsked(q: { ask: string; n: Entered; u: Understood; target: Target }): Promise<void> {
    working.current = true;
    if (!(await keep(q.n, q.u, q.target, q.ask))) setWrong(giveBack(q.n));
    working.current = false;
    queue.value = [...queue.value]; // what was entered meanwhile has its turn
  }

  async function keep(n: Entered, u: Understood, t: Target, asked: string | undefined): Promise<boolean> {
    if (t.what === "done") return false;
    const body: ReadingBody = {
      setup: inUse.id, typed: n.typed, unit: n.unit, purpose,
      ...(t.what === "zero"
        ? { feature: "master", characteristic: "zero", plane: t.which, angle_mdeg: 0, means: "from master" as const }
        : { feature: spec.feature, characteristic: read, angle_mdeg: t.at.angle_mdeg, means: n.means, ...(t.at.plane ? { plane: t.at.plane } : {}), ...(t.at.closing ? { closing: true } : {}), ...repeatOf(t.at) }),
      ...(u.quantity ? { quantity: u.quantity } : u.value_pm !== undefined ? { value_pm: u.value_pm } : {}),
      ...(blind && t.what === "station" ? { blind: true } : {}), ...(asked ? { asked } : {}),
    };
    const saved = await save("reading", body, seenHeads(sheet));
    if (!saved?.ok) return false;
    const where = t.what === "zero" ? asks(t) : words.measure.stationName(t.at.plane, t.at.angle_mdeg, t.at.closing);
    setMine((m) => [...m, { id: saved.id, key: t.what === "zero" ? `zero ${t.which}` : stationKey(t.at), text: `${readBack(n, u)}, ${where}` }]);
    setPicked(null);
    if (t.what === "zero") noteZero(sheet.job, t.which);
    else setAfter(t.at);
    return true;
  }

  function repeatOf(at: Station): { repeat?: number } {
    const n = taken.get(stationKey(at)) ?? 0;
    return n > 0 ? { repeat: n } : {};
  }
}
