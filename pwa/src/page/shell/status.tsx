// The top line of every screen: where one is, what is safe where, how old the knowledge of other people's work is, and who works here.

import type { JSX } from "preact";
import type { SyncState } from "../../contract";
import { useBackend } from "../backend-context";
import { ageText, now, OLD_KNOWLEDGE_MS } from "../numbers/time-text";
import { href } from "../route";
import type { Route } from "../route";
import { words } from "../words";

/** What may honestly be said of the record: nothing is called "on the server" that the server has not answered for. */
export function safety(s: SyncState): { text: string; state: "server" | "here" | "refused" } {
  if ((s.refused ?? []).length > 0) return { text: words.status.refused(s.refused.length), state: "refused" };
  if (s.unsent > 0) return { text: words.status.waiting(s.unsent), state: "here" };
  if (s.photosUnsent > 0) return { text: words.status.photosWaiting(s.photosUnsent), state: "here" };
  if (s.lastAnswerMs === null) return { text: words.status.onlyHere, state: "here" };
  return { text: words.status.onServer, state: "server" };
}

export function knowledge(lastAnswerMs: number | null, nowMs: number): { text: string; old: boolean } {
  if (lastAnswerMs === null) return { text: words.status.neverHeard, old: true };
  const age = nowMs - lastAnswerMs;
  return age > OLD_KNOWLEDGE_MS ? { text: words.status.oldKnowledge(ageText(age)), old: true } : { text: words.status.heard(ageText(Math.max(0, age))), old: false };
}

export function StatusLine({ back, title, skip }: { back: Route | null; title: string; skip: string }): JSX.Element {
  const backend = useBackend();
  const sync = backend.sync.value, session = backend.session.value;
  const safe = safety(sync), known = knowledge(sync.lastAnswerMs, now.value);
  return (
    <header class="status">
      <button type="button" class="skip" onClick={() => document.querySelector("main")?.focus()}>{skip}</button>
      {back ? (
        <a class="back" href={href(back)} aria-label={words.back}>
          <svg width="22" height="22" viewBox="0 0 22 22" aria-hidden="true"><path d="M14 3 6 11l8 8" fill="none" stroke="currentColor" stroke-width="2.6" /></svg>
        </a>
      ) : null}
      <span class="where">{title}</span>
      <a class="safe" href={href({ at: "shop" })}>
        <svg width="18" height="18" viewBox="0 0 18 18" aria-hidden="true" class={safe.state === "server" ? "tone-good" : safe.state === "refused" ? "tone-fails" : "tone-part"}>
          {safe.state === "server" ? <path d="M2 2.5h14v5.5H2zM2 10h14v5.5H2zM5 5.2h3M5 12.7h3" fill="none" stroke="currentColor" stroke-width="1.9" />
            : safe.state === "refused" ? <path d="M2 2h14v14H2zM9 5v5M9 12v2" fill="none" stroke="currentColor" stroke-width="2.1" />
              : <path d="M3 11v5h12v-5M9 12V2.5M5 6.2 9 2.2l4 4" fill="none" stroke="currentColor" stroke-width="2.1" />}
        </svg>
        <span class="safe-lines">
          <span>{safe.text}</span>
          <span class={known.old ? "tone-doubt old" : "soft"}>{known.text}</span>
        </span>
      </a>
      {session ? <a class="who" href={href({ at: "shop" })} ><b>{session.person.name.split(" ")[0]}</b><span class="soft">{words.role[session.as]}</span><span class="unseen">{words.status.changeInShop}</span></a> : null}
    </header>
  );
}
