// A keyboard, or a gauge that types, without any fiddling with the focus: keys go to the number wherever the focus lies, unless it lies in a field
// or a dialog. One listener belongs to the screen and not to the keypad, so that a value which a gauge sends while no keypad stands is answered too,
// and so that no key is ever heard twice.

import { useLayoutEffect, useRef } from "preact/hooks";
import { keyOf } from "./state";
import type { Key } from "./state";

export interface Typing { /** the number as of now, not as last drawn */ text: () => string; press: (key: Key, at: null) => void; enter: () => void; /** false while a dialog is open */ listening: boolean }

export function useTyping(p: Typing): void {
  const now = useRef(p);
  now.current = p;
  // Before the screen is painted: a gauge may type the moment the keypad stands there.
  useLayoutEffect(() => {
    function onKey(e: KeyboardEvent): void {
      const q = now.current;
      const el = e.target as HTMLElement | null;
      if (e.defaultPrevented || !q.listening || e.ctrlKey || e.metaKey || e.altKey || el?.closest("input,select,textarea,dialog")) return;
      if (e.key === "Enter") {
        // A gauge that types ends with Enter, wherever a thumb left the focus; with nothing typed the focused control keeps its key.
        if (!/\d/.test(q.text()) && !el?.closest(".pad")) return;
        e.preventDefault();
        if (!e.repeat) q.enter();
        return;
      }
      const key = keyOf(e.key);
      if (!key || (key.do === "clear" && q.text() === "")) return;
      e.preventDefault();
      q.press(key, null);
    }
    window.addEventListener("keydown", onKey);
    return () => window.removeEventListener("keydown", onKey);
  }, []);
}
