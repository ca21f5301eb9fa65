// Times for people: local clock, plain ages. The clock itself is one signal, so that every age on the screen grows together.

import { signal } from "@preact/signals";

export const now = signal(0);

/** Starts the page's clock; returns a function that stops it. */
export function startClock(read: () => number = Date.now, everyMs = 15_000): () => void {
  now.value = read();
  const t = setInterval(() => { now.value = read(); }, everyMs);
  return () => clearInterval(t);
}

const clock = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit" });
const day = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short" });
const date = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric" });

export function clockText(ms: number): string { return clock.format(ms); }
export function dateText(ms: number): string { return date.format(ms); }

/** "09:12" today, "24 Nov, 09:12" on another day. */
export function momentText(ms: number, today: number): string {
  return new Date(ms).toDateString() === new Date(today).toDateString() ? clock.format(ms) : `${day.format(ms)}, ${clock.format(ms)}`;
}

/** How long ago, coarse: "just now", "3 min", "2 h 10 min", "4 days". Negative ages (a clock was set back) read as now. */
export function ageText(ms: number): string {
  const min = Math.floor(ms / 60_000);
  if (min < 1) return "just now";
  if (min < 60) return `${min} min`;
  const h = Math.floor(min / 60);
  if (h < 24) return min % 60 === 0 || h >= 10 ? `${h} h` : `${h} h ${min % 60} min`;
  const d = Math.floor(h / 24);
  return d === 1 ? "1 day" : `${d} days`;
}

/** Beyond this age what the device knows of other people's work is old. */
export const OLD_KNOWLEDGE_MS = 4 * 3_600_000;
