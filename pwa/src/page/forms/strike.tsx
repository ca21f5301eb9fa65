// Striking: withdrawing a reading (or another entry) with a reason. Nothing is deleted; the strike is one more entry.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ID } from "../../contract";
import { useSave } from "../backend-context";
import { Choices, Dialog, Trouble } from "../shell/dialog";
import { words } from "../words";

export const strikeReasons = ["slip", "dirt", "wrong place", "gauge", "wrong part", "other"] as const;

export function StrikeForm({ job, target, what, seen, close }: { job: string; target: ID; what: string; seen: () => ID[]; close: (done: boolean) => void }): JSX.Element {
  const [reason, setReason] = useState<(typeof strikeReasons)[number] | null>(null);
  const [text, setText] = useState("");
  const { busy, trouble, save } = useSave(job);
  const lacks = reason === null || (reason === "other" && text.trim() === "");
  return (
    <Dialog title={words.strike.title} close={() => close(false)}>
      <p class="num">{what}</p>
      <Choices label={words.strike.reason} value={reason} options={strikeReasons} choose={setReason} text={(r) => words.strike.reasons[r]} />
      <label class="field"><span>{reason === "other" ? words.strike.textNeeded : words.strike.text}</span><input value={text} onInput={(e) => setText(e.currentTarget.value)} /></label>
      <p class="label">{words.strike.note}</p>
      <Trouble words={trouble} />
      <div class="two">
        <button type="button" class="do main" disabled={busy || lacks} onClick={() => void strike()}>{words.strike.doIt}</button>
        <button type="button" class="do" onClick={() => close(false)}>{words.strike.leave}</button>
      </div>
    </Dialog>
  );

  async function strike(): Promise<void> {
    const saved = await save("strike", { target, reason, text: text.trim() }, seen());
    if (saved?.ok) close(true);
  }
}
