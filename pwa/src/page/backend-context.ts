// How the screens reach the backend, and the one way in which they write.

import { createContext } from "preact";
import { useContext, useEffect, useRef, useState } from "preact/hooks";
import type { Backend, ID, Saved, Sheet, Shop } from "../contract";
import { remember } from "./seen";

export const BackendContext = createContext<Backend | null>(null);

export function useBackend(): Backend {
  const b = useContext(BackendContext);
  if (b === null) throw new Error("a screen was drawn outside App: BackendContext has no backend");
  return b;
}

/** The open job's sheet, asking for it where another job is open. Trouble is what went wrong in words. */
export function useJob(job: string): { sheet: Sheet | null; trouble: string } {
  const backend = useBackend();
  const [trouble, setTrouble] = useState("");
  const current = backend.sheet.value;
  const held = current?.job === job;
  useEffect(() => {
    let gone = false;
    setTrouble("");
    if (backend.sheet.value?.job !== job) {
      backend.open(job).catch((e: unknown) => { if (!gone) setTrouble(e instanceof Error ? e.message : String(e)); });
    }
    return () => { gone = true; };
  }, [backend, job]);
  return { sheet: held ? current : null, trouble };
}

/** Saves an entry; while one is on its way a second press is ignored. `seen` are the heads of the sheet that was drawn. */
export function useSave(job: string): { busy: boolean; trouble: string; save: (kind: string, body: unknown, seen: ID[]) => Promise<Saved | null>; clear: () => void } {
  const backend = useBackend();
  const running = useRef(false);
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState("");
  async function save(kind: string, body: unknown, seen: ID[]): Promise<Saved | null> {
    if (running.current) return null;
    running.current = true;
    setBusy(true);
    setTrouble("");
    let answer: Saved;
    try {
      answer = await backend.save(job, kind, body, seen);
    } catch (e: unknown) {
      answer = { ok: false, words: e instanceof Error ? e.message : String(e) };
    }
    running.current = false;
    setBusy(false);
    if (answer.ok) remember(job, answer.id, seen);
    else setTrouble(answer.words);
    return answer;
  }
  return { busy, trouble, save, clear: () => setTrouble("") };
}

export function personName(shop: Shop | null, id: string): string {
  return shop?.people.find((p) => p.id === id)?.name ?? id;
}
