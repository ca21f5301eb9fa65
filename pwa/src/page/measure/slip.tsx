// "A slip?" is asked before a number is kept, never after, and never as a refusal. The focus lies on changing it: a gauge that types its next
// value and Enter must not answer yes for a person.

import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { Dialog } from "../shell/dialog";
import { words } from "../words";

export function SlipQuestion({ ask, typed, yes, change }: { ask: string; typed: string; yes: () => void; change: () => void }): JSX.Element {
  const first = useRef<HTMLButtonElement>(null);
  useEffect(() => first.current?.focus(), []);
  return (
    <Dialog title={words.slip.title} close={change} alert>
      <p class="slip-value num">{typed}</p>
      <p>{ask}</p>
      <div class="two">
        <button type="button" class="do main" ref={first} onClick={change}>{words.slip.change}</button>
        <button type="button" class="do" onClick={yes}>{words.slip.keep}</button>
      </div>
      <p class="label">{words.slip.note}</p>
    </Dialog>
  );
}
