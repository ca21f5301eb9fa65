// Settling a question that the record cannot answer by itself: was this read before or after the rework?

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ID, Sheet } from "../../contract";
import { useSave } from "../backend-context";
import { Choices, Dialog, Trouble } from "../shell/dialog";
import { words } from "../words";

export type How = keyof typeof words.settle.hows;

export function SettleForm({ sheet, about, what, hows, close }: { sheet: Sheet; about: ID[]; what: string; hows: readonly How[]; close: () => void }): JSX.Element {
  const [how, setHow] = useState<How | null>(hows.length === 1 ? hows[0]! : null);
  const [text, setText] = useState("");
  const { busy, trouble, save } = useSave(sheet.job);
  return (
    <Dialog title={words.settle.title} close={close}>
      <p>{what}</p>
      <Choices label={words.settle.how} value={how} options={hows} choose={setHow} text={(h) => words.settle.hows[h]} />
      <label class="field"><span>{words.settle.text}</span><input value={text} onInput={(e) => setText(e.currentTarget.value)} /></label>
      <Trouble words={trouble} />
      <button type="button" class="do main" disabled={busy || how === null || text.trim() === ""} onClick={() => void keep()}>{words.settle.save}</button>
    </Dialog>
  );

  async function keep(): Promise<void> {
    const saved = await save("settle", { about, how, text: text.trim() }, sheet.heads ?? []);
    if (saved?.ok) close();
  }
}
