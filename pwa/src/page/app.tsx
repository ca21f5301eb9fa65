// The page: which screen stands, under the line that says what is safe, over the five places people go to.

import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import type { Backend } from "../contract";
import { BackendContext } from "./backend-context";
import { ClearedScreen } from "./cleared/cleared";
import { EnterScreen } from "./enter/enter";
import { JobsScreen } from "./jobs/jobs";
import { ListScreen } from "./list/list";
import { MeasureScreen } from "./measure/measure";
import { startClock } from "./numbers/time-text";
import { ReviewScreen } from "./review/review";
import { parseRoute } from "./route";
import type { Route } from "./route";
import { Nav } from "./shell/nav";
import { StatusLine } from "./shell/status";
import { ShopScreen } from "./shop/shop";
import { SpindleScreen } from "./spindle/spindle";
import { words } from "./words";
import "./style/tokens.css";
import "./style/base.css";
import "./style/shell.css";
import "./style/pictures.css";
import "./jobs/jobs.css";
import "./spindle/spindle.css";
import "./measure/measure.css";
import "./keypad/keypad.css";
import "./review/review.css";
import "./list/list.css";
import "./cleared/cleared.css";

export function App({ backend }: { backend: Backend }): JSX.Element {
  const [route, setRoute] = useState<Route>(() => parseRoute(location.hash));
  useEffect(() => {
    const follow = (): void => {
      setRoute(parseRoute(location.hash));
      window.scrollTo(0, 0);
    };
    window.addEventListener("hashchange", follow);
    const stop = startClock();
    return () => { window.removeEventListener("hashchange", follow); stop(); };
  }, []);
  return (
    <BackendContext.Provider value={backend}>
      <Screens backend={backend} route={route} />
    </BackendContext.Provider>
  );
}

function Screens({ backend, route }: { backend: Backend; route: Route }): JSX.Element {
  const sheet = backend.sheet.value;
  const job = "job" in route ? route.job : sheet?.job ?? null;
  const session = backend.session.value;
  const entering = route.at === "enter" || (session === null && backend.jobs.value.length === 0 && route.at !== "shop");
  const title = entering ? words.enter.title : titleOf(route);
  useEffect(() => { document.title = `${title} · runtrue`; }, [title]);
  // A reader with a keyboard or a screen reader goes on at the new screen, not at the link that was left behind.
  const first = useRef(true);
  useEffect(() => {
    const main = document.querySelector("main");
    main?.setAttribute("tabindex", "-1");
    if (!first.current) main?.focus({ preventScroll: true });
    first.current = false;
  }, [route]);
  return (
    <div class={`shell at-${entering ? "enter" : route.at}`}>
      <StatusLine back={session === null && entering ? null : backOf(route)} title={title} skip={words.skip} />
      <div class="screen" key={entering ? "enter" : route.at}>{entering ? <EnterScreen /> : screen(route)}</div>
      {entering && session === null ? null : <Nav route={route} job={job} />}
    </div>
  );
}

function screen(r: Route): JSX.Element {
  switch (r.at) {
    case "jobs": return <JobsScreen />;
    case "job": return <SpindleScreen job={r.job} />;
    case "measure": return <MeasureScreen job={r.job} feature={r.feature} characteristic={r.characteristic} />;
    case "list": return <ListScreen job={r.job} />;
    case "review": return <ReviewScreen />;
    case "cleared": return <ClearedScreen job={r.job} component={r.component ?? null} />;
    case "enter": return <EnterScreen />;
    case "shop": return <ShopScreen />;
  }
}

function titleOf(r: Route): string {
  switch (r.at) {
    case "jobs": return words.nav.jobs;
    case "job": return r.job;
    case "measure": return `${r.job} · ${r.feature}`;
    case "list": return `${r.job} · ${words.nav.list}`;
    case "review": return words.nav.review;
    case "cleared": return r.job;
    case "enter": return words.enter.title;
    case "shop": return words.nav.shop;
  }
}

function backOf(r: Route): Route | null {
  switch (r.at) {
    case "jobs": return null;
    case "measure": case "list": return { at: "job", job: r.job };
    case "cleared": return r.component ? { at: "cleared", job: r.job } : { at: "job", job: r.job };
    default: return { at: "jobs" };
  }
}
