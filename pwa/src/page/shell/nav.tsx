// The five places people go to, at the thumb's reach on a phone and at the side of a desk.

import type { JSX } from "preact";
import { href } from "../route";
import type { Route } from "../route";
import { words } from "../words";

const shapes: Record<string, string> = {
  jobs: "M3 4h18v5H3zM3 12h18v5H3zM3 20h11",
  job: "M2 12h20M4 7h4v10H4zM8 4.5h7v15H8zM15 8h5v8h-5z",
  review: "M3 20V9m6 11V4m6 16v-7m6 7V7M1.5 12.5h21",
  list: "M8 5h13M8 12h13M8 19h13M3 5h1.5M3 12h1.5M3 19h1.5",
  cleared: "M12 2.5a9.5 9.5 0 1 0 .01 0ZM12 7a5 5 0 1 0 .01 0Z",
  shop: "M3 21V9l9-6 9 6v12zM9 21v-7h6v7",
};

export function Nav({ route, job }: { route: Route; job: string | null }): JSX.Element {
  const items: { key: string; to: Route | null; text: string }[] = [
    { key: "jobs", to: { at: "jobs" }, text: words.nav.jobs },
    { key: "job", to: job ? { at: "job", job } : null, text: words.nav.spindle },
    { key: "review", to: { at: "review" }, text: words.nav.review },
    { key: "list", to: job ? { at: "list", job } : null, text: words.nav.list },
    { key: "cleared", to: job ? { at: "cleared", job } : null, text: words.nav.cleared },
    { key: "shop", to: { at: "shop" }, text: words.nav.shop },
  ];
  const here = route.at === "measure" ? "job" : route.at;
  return (
    <nav class="nav" aria-label={words.nav.name}>
      {items.map((i) => {
        const inside = (
          <>
            <svg width="24" height="24" viewBox="0 0 24 24" aria-hidden="true"><path d={shapes[i.key]} fill="none" stroke="currentColor" stroke-width="2" /></svg>
            <span>{i.text}</span>
          </>
        );
        return i.to ? <a key={i.key} href={href(i.to)} aria-current={here === i.key ? "page" : undefined} class={`to-${i.key}`}>{inside}</a>
          : <span key={i.key} class={`off to-${i.key}`} aria-disabled="true" title={words.nav.openJobFirst}>{inside}</span>;
      })}
    </nav>
  );
}
