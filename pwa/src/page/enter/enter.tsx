// Joining: a code that an admin made, and a name for this device.

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { useBackend } from "../backend-context";
import { go } from "../route";
import { Trouble } from "../shell/dialog";
import { words } from "../words";

export function EnterScreen(): JSX.Element {
  const backend = useBackend();
  const invited = backend.invitation?.value ?? "";
  const [code, setCode] = useState(invited);
  const [name, setName] = useState("");
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState("");
  const session = backend.session.value;
  const may = backend.mayCapture?.value;
  useEffect(() => { if (invited) setCode(invited); }, [invited]);
  return (
    <main class="page enter">
      <svg viewBox="0 0 360 110" class="enter-picture" aria-hidden="true">
        <path d="M6 55H354" stroke="var(--ink)" stroke-dasharray="20 4 3 4" />
        <path d="M40 55V38h40V28h60v-8h120v10h50v12h20v13" fill="none" stroke="var(--ink)" stroke-width="2" />
        <path d="M40 55v17h40v10h60v8h120V80h50V68h20V55" fill="none" stroke="var(--rule)" stroke-width="1.4" />
        <path d="M80 28V82M140 20V90M260 20V90M310 30V80" stroke="var(--rule)" />
      </svg>
      <form class="stack card" onSubmit={(e) => { e.preventDefault(); void join(); }}>
        <h1>{words.enter.title}</h1>
        <p>{session ? words.enter.again(session.person.name) : words.enter.first}</p>
        {may && !may.ok ? <p class="say doubt">{may.words}</p> : null}
        <label class="field"><span>{words.enter.code}</span><input class="code" value={code} autocomplete="one-time-code" autocapitalize="characters" spellcheck={false} onInput={(e) => setCode(e.currentTarget.value)} /></label>
        <label class="field"><span>{words.enter.device}</span><input value={name} placeholder={words.enter.deviceHint} onInput={(e) => setName(e.currentTarget.value)} /></label>
        <Trouble words={trouble} />
        <button class="do main wide" disabled={busy || code.trim() === "" || name.trim() === ""}>{busy ? words.enter.joining : words.enter.join}</button>
        <p class="label">{words.enter.note}</p>
      </form>
    </main>
  );

  async function join(): Promise<void> {
    setBusy(true);
    setTrouble("");
    try {
      const answer = await backend.enrol(code.trim(), name.trim());
      if (answer.ok) go({ at: "jobs" });
      else setTrouble(answer.words);
    } catch (e: unknown) {
      setTrouble(e instanceof Error ? e.message : String(e));
    }
    setBusy(false);
  }
}
