// The list of jobs in the order in which a shop walks: by stage, within a stage by the promised day.

import type { JobLine, Role } from "../../contract";

export const stages = ["received", "as-received run", "teardown", "cleaned", "inspection", "scope and approval", "rework and parts", "assembly", "run-in and test run", "final check", "release and dispatch"];

export interface StageGroup { stage: string; jobs: JobLine[] }

export function byStage(jobs: JobLine[]): StageGroup[] {
  const groups = new Map<string, JobLine[]>();
  for (const j of jobs) {
    const stage = j.stage || "received";
    groups.set(stage, [...(groups.get(stage) ?? []), j]);
  }
  const rank = (s: string): number => { const i = stages.indexOf(s); return i < 0 ? stages.length : i; };
  return [...groups.entries()]
    .sort((a, b) => rank(a[0]) - rank(b[0]) || (a[0] < b[0] ? -1 : 1))
    .map(([stage, list]) => ({ stage, jobs: [...list].sort((a, b) => (a.promised || "9") < (b.promised || "9") ? -1 : (a.promised || "9") > (b.promised || "9") ? 1 : a.job < b.job ? -1 : 1) }));
}

/** Every word typed must stand somewhere in the job's line. */
export function search(jobs: JobLine[], typed: string): JobLine[] {
  const want = typed.trim().toLowerCase().split(/\s+/).filter((w) => w !== "");
  return jobs.filter((j) => {
    const line = [j.job, j.customer, j.maker, j.model, j.serial, j.stage].join(" ").toLowerCase();
    return want.every((w) => line.includes(w));
  });
}

/** The promise is a day, "2026-12-01"; late from the day after. Anything else is shown as it is and never late. */
export function late(promised: string, today: Date): boolean {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(promised)) return false;
  const pad = (n: number): string => String(n).padStart(2, "0");
  return promised < `${today.getFullYear()}-${pad(today.getMonth() + 1)}-${pad(today.getDate())}`;
}

export function waitsFor(j: JobLine): { role: Role; n: number }[] {
  return Object.entries(j.waits_for ?? {}).filter(([, n]) => n > 0).map(([role, n]) => ({ role: role as Role, n })).sort((a, b) => b.n - a.n || (a.role < b.role ? -1 : 1));
}
