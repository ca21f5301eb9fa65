// What is in the shop, by stage; what waits for whom; what is late.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { JobLine } from "../../contract";
import { useBackend } from "../backend-context";
import { now } from "../numbers/time-text";
import { MarkShape, StandShape } from "../pictures/mark";
import { href } from "../route";
import { words } from "../words";
import { byStage, late, search, waitsFor } from "./order";

export function JobsScreen(): JSX.Element {
  const backend = useBackend();
  const [typed, setTyped] = useState("");
  const [mine, setMine] = useState(false);
  const jobs = backend.jobs.value;
  const as = backend.session.value?.as;
  const found = search(jobs, typed).filter((j) => !mine || as === undefined || (j.waits_for?.[as] ?? 0) > 0);
  const waiting = as ? jobs.filter((j) => (j.waits_for?.[as] ?? 0) > 0).length : 0;
  return (
    <main class="page jobs stack">
      <div class="spread">
        <h1>{words.jobs.title}</h1>
        <p class="label num">{words.jobs.count(jobs.length)}</p>
      </div>
      {jobs.length > 0 ? (
        <div class="jobs-bar">
          <label class="grow"><span class="unseen">{words.jobs.search}</span><input class="search" type="search" enterKeyHint="search" value={typed} placeholder={words.jobs.searchHint} onInput={(e) => setTyped(e.currentTarget.value)} /></label>
          {as ? <button type="button" class="do" aria-pressed={mine} onClick={() => setMine(!mine)}>{words.jobs.waitsForMe(words.role[as], waiting)}</button> : null}
        </div>
      ) : null}
      {jobs.length === 0 ? <Empty /> : found.length === 0 ? (
        <div class="say stack"><p>{words.jobs.noneFound(typed)}</p><button type="button" class="do" onClick={() => { setTyped(""); setMine(false); }}>{words.jobs.showAll}</button></div>
      ) : byStage(found).map((g) => (
        <section key={g.stage} class="stage">
          <h2 class="stage-name"><span>{g.stage}</span><span class="label num">{g.jobs.length}</span></h2>
          <ul class="job-lines">{g.jobs.map((j) => <JobCard key={j.job} j={j} />)}</ul>
        </section>
      ))}
    </main>
  );
}

function JobCard({ j }: { j: JobLine }): JSX.Element {
  const isLate = late(j.promised, new Date(now.value));
  return (
    <li>
      <a class="job-card" href={href({ at: "job", job: j.job })}>
        <span class="job-id"><b>{j.job}</b>{isLate ? <span class="late">{words.jobs.late}</span> : null}</span>
        <span class="job-what"><b>{[j.maker, j.model].filter(Boolean).join(" ") || words.jobs.unknownSpindle}</b><span class="label block">{[j.customer, j.serial ? words.serial(j.serial) : ""].filter(Boolean).join(" · ")}</span></span>
        <span class="job-promise"><span class="label block">{words.jobs.promised}</span><span class="num">{j.promised || "–"}</span></span>
        <span class="job-parts" role="img" aria-label={words.jobs.parts(j.cleared, j.held, j.out)}>
          {count("tone-good", <StandShape cleared={true} />, j.cleared, words.cleared)}
          {count("tone-part", <StandShape cleared={false} />, j.held, words.held)}
          {count(j.out > 0 ? "tone-fails" : "soft", <MarkShape outcome="fails" />, j.out, words.jobs.out)}
        </span>
        <span class="job-waits">{waitsFor(j).length === 0 ? <span class="label">{words.jobs.waitsForNobody}</span> : [<span key="" class="label">{words.jobs.waitsForWhom}</span>, ...waitsFor(j).map((w) => <span key={w.role} class="chip">{words.role[w.role]} <b class="num">{w.n}</b></span>)]}</span>
      </a>
    </li>
  );
}

function count(tone: string, shape: JSX.Element, n: number, word: string): JSX.Element {
  return <span class="part-count"><svg width="16" height="16" viewBox="0 0 24 24" aria-hidden="true" class={tone}>{shape}</svg><b class="num">{n}</b><span class="label">{word}</span></span>;
}

function Empty(): JSX.Element {
  const backend = useBackend();
  const sync = backend.sync.value;
  return (
    <section class="empty stack">
      <svg viewBox="0 0 320 90" class="empty-picture" aria-hidden="true"><path d="M4 45H316" stroke="var(--rule)" stroke-dasharray="20 4 3 4" /><path d="M30 33h60V20h90v12h80v26h-80v12H90V57H30z" fill="none" stroke="var(--rule)" stroke-width="1.5" stroke-dasharray="6 5" /></svg>
      <h2>{words.jobs.emptyTitle}</h2>
      <p>{sync.lastAnswerMs === null ? words.jobs.emptyNever : words.jobs.emptyAsked}</p>
      <button type="button" class="do main" disabled={sync.busy} onClick={() => void backend.syncNow()}>{sync.busy ? words.jobs.asking : words.jobs.ask}</button>
      {sync.trouble ? <p class="say doubt" role="alert">{sync.trouble}</p> : null}
    </section>
  );
}
