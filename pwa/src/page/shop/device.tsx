// This device: what is saved here and not yet on the server, what was refused, the last-resort file, and a newer version of the page.

import type { JSX } from "preact";
import { useRef, useState } from "preact/hooks";
import { useBackend } from "../backend-context";
import { now } from "../numbers/time-text";
import { download } from "../list/download";
import { knowledge, safety } from "../shell/status";
import { words } from "../words";

export function DevicePanel(): JSX.Element {
  const backend = useBackend();
  const s = backend.sync.value;
  const [said, setSaid] = useState("");
  const [wrong, setWrong] = useState("");
  const file = useRef<HTMLInputElement>(null);
  const known = knowledge(s.lastAnswerMs, now.value);
  return (
    <section class="card stack device">
      <h2>{words.device.title}</h2>
      <dl class="figures">
        <div><dt>{words.device.saved}</dt><dd class="num">{s.savedCount}</dd></div>
        <div><dt>{words.device.unsent}</dt><dd class="num">{s.unsent}{s.photosUnsent > 0 ? ` + ${words.device.photos(s.photosUnsent)}` : ""}</dd></div>
        <div><dt>{words.device.server}</dt><dd class={known.old ? "tone-doubt" : ""}>{s.online ? words.device.online : known.text}</dd></div>
      </dl>
      <p class={`say ${safety(s).state === "server" ? "good" : safety(s).state === "refused" ? "fails" : ""}`}>{safety(s).text}</p>
      {s.persisted ? null : <p class="say doubt">{words.device.notPersisted}</p>}
      {s.engineReady ? null : <p class="say" role="status">{words.device.engine}</p>}
      {s.trouble ? <p class="say doubt" role="alert">{s.trouble}</p> : null}
      {(s.refused ?? []).map((r) => <p key={r.id} class="say fails">{words.device.refused(r.job, r.words)}</p>)}
      <div class="row">
        <button type="button" class="do main" disabled={s.busy} onClick={() => void attempt(() => backend.syncNow())}>{s.busy ? words.device.sending : words.device.send}</button>
        <button type="button" class="do" onClick={() => void attempt(async () => download(await backend.exportEntries(), "runtrue-entries.ndjson"))}>{words.device.export}</button>
        <button type="button" class="do" onClick={() => file.current?.click()}>{words.device.import}</button>
        <input ref={file} type="file" class="unseen" tabIndex={-1} aria-label={words.device.import} onChange={(e) => void take(e.currentTarget)} />
      </div>
      {s.updateWaiting ? <div class="say stack"><p>{words.device.update}</p><button type="button" class="do main" onClick={() => backend.applyUpdate()}>{words.device.updateNow}</button></div> : null}
      {said ? <p role="status">{said}</p> : null}
      {wrong ? <p class="say fails" role="alert">{wrong}</p> : null}
      {backend.session.value ? <button type="button" class="do quiet" onClick={() => void attempt(() => backend.leave())}>{words.device.leave}</button> : null}
    </section>
  );

  async function attempt(act: () => Promise<unknown>): Promise<void> {
    setWrong("");
    try {
      await act();
    } catch (e: unknown) {
      setWrong(e instanceof Error ? e.message : String(e));
    }
  }

  async function take(input: HTMLInputElement): Promise<void> {
    const f = input.files?.[0];
    if (!f) return;
    await attempt(async () => setSaid((await backend.importEntries(f)).words));
    input.value = "";
  }
}
