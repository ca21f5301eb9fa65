// Pictures are drawn in true pixels, so that text and touch targets keep their size: they need to know how wide they stand.

import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { RefObject } from "preact";

export function useWidth<E extends HTMLElement>(first: number): [RefObject<E | null>, number] {
  const ref = useRef<E>(null);
  const [width, setWidth] = useState(first);
  useLayoutEffect(() => {
    const el = ref.current;
    if (!el) return;
    const measure = (): void => { if (el.clientWidth > 0) setWidth(el.clientWidth); };
    measure();
    const watch = new ResizeObserver(measure);
    watch.observe(el);
    return () => watch.disconnect();
  }, []);
  return [ref, width];
}
