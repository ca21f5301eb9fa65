// Cleared? For the assembler: pick the part, and the whole screen answers.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { useBackend, useJob } from "../backend-context";
import { Stand } from "../pictures/mark";
import { components, findComponent, findPart, handle } from "../reading-sheet";
import { go, href } from "../route";
import { words } from "../words";
import { Answer } from "./answer";

export function ClearedScreen({ job, component }: { job: string; component: string | null }): JSX.Element {
  const backend = useBackend();
  const { sheet, trouble } = useJob(job);
  const [typed, setTyped] = useState("");
  const [none, setNone] = useState("");
  if (trouble) return <main class="page"><p class="say fails" role="alert">{trouble}</p></main>;
  if (!sheet) return <main class="page"><p role="status">{words.loading}</p></main>;
  if (component) {
    const c = findComponent(sheet, component);
    if (c) return <Answer key={handle(c)} sheet={sheet} c={c} />;
    return <main class="page stack"><p class="say doubt">{words.clear.noSuch(component, job)}</p><a class="do" href={href({ at: "cleared", job })}>{words.clear.pick}</a></main>;
  }
  const found = typed.trim() === "" ? components(sheet) : findPart(sheet, typed);
  const elsewhere = backend.jobs.value.find((j) => j.job !== job && j.serial !== "" && j.serial.toLowerCase() === typed.trim().toLowerCase());
  return (
    <main class="page clear-pick stack">
      <h1>{words.clear.title}</h1>
      <form onSubmit={(e) => { e.preventDefault(); enter(); }}>
        <label class="field"><span>{words.clear.typeTag}</span><input type="search" enterKeyHint="go" autocapitalize="off" autocomplete="off" value={typed} onInput={(e) => { setTyped(e.currentTarget.value); setNone(""); }} /></label>
      </form>
      {none ? <p class="say doubt" role="alert">{none}</p> : null}
      {elsewhere ? <p class="say clash">{words.clear.elsewhere(elsewhere.job)}</p> : null}
      <ul class="stack">{found.map((c) => (
        <li key={handle(c)}><a class="do wide pickrow" href={href({ at: "cleared", job, component: handle(c) })}>
          <span class="grow"><b>{c.name}</b><span class="label block">{[c.place, c.serial ? words.serial(c.serial) : ""].filter(Boolean).join(" · ")}</span></span><Stand cleared={c.cleared} />
        </a></li>
      ))}</ul>
    </main>
  );

  /** A scanner types the tag and Enter: one match opens at once. */
  function enter(): void {
    const match = sheet ? findPart(sheet, typed) : [];
    if (match.length === 1) go({ at: "cleared", job, component: handle(match[0]!) });
    else if (match.length === 0) setNone(words.clear.noneFits(typed.trim(), job));
  }
}
