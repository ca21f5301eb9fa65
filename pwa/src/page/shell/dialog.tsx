// A question or a form over the screen: the browser's own dialog, so that focus stays inside and Escape leaves.

import type { ComponentChildren, JSX } from "preact";
import { useEffect, useId, useRef } from "preact/hooks";
import { words } from "../words";

export function Dialog({ title, close, children, alert = false }: { title: string; close: () => void; children: ComponentChildren; alert?: boolean }): JSX.Element {
  const ref = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const d = ref.current;
    if (!d) return;
    const before = document.activeElement as HTMLElement | null;
    if (!d.open) d.showModal();
    return () => {
      if (d.open) d.close();
      if (before?.isConnected) before.focus();
    };
  }, []);
  return (
    <dialog ref={ref} role={alert ? "alertdialog" : undefined} aria-labelledby={id} onCancel={(e) => { e.preventDefault(); close(); }}>
      <div class="inside">
        <div class="dialog-head">
          <h2 id={id}>{title}</h2>
          {alert ? null : <button type="button" class="do quiet close" onClick={close} aria-label={words.close}><svg width="22" height="22" viewBox="0 0 22 22" aria-hidden="true"><path d="M4 4 18 18M18 4 4 18" stroke="currentColor" stroke-width="2.4" /></svg></button>}
        </div>
        {children}
      </div>
    </dialog>
  );
}

/** Large choices of which one is taken: buttons that say whether they are pressed. */
export function Choices<T extends string>({ label, value, options, choose, text = (v) => v }: { label: string; value: T | null; options: readonly T[]; choose: (v: T) => void; text?: (v: T) => string }): JSX.Element {
  return (
    <fieldset class="field">
      <legend>{label}</legend>
      <div class="choices">
        {options.map((o) => <button type="button" key={o} class="do" aria-pressed={o === value} onClick={() => choose(o)}>{text(o)}</button>)}
      </div>
    </fieldset>
  );
}

export function Trouble({ words: text }: { words: string }): JSX.Element | null {
  return text === "" ? null : <p class="say fails" role="alert">{text}</p>;
}
