// A world without a clock of its own: time stands still until a test moves it, and nothing waits.

import type { Surroundings } from "../../src/sync/surroundings.ts";

export class World implements Surroundings {
  wall = Date.UTC(2026, 10, 25, 8);
  ticks = 0;
  timers: { due: number; run: () => void }[] = [];

  constructor(readonly network: (url: string, init: RequestInit) => Promise<Response>, private readonly dice: () => number = () => 0.5) {}

  fetch(url: string, init: RequestInit): Promise<Response> {
    return this.network(url, init);
  }
  now(): number {
    return this.wall;
  }
  monotonic(): number {
    return this.ticks;
  }
  random(): number {
    return this.dice();
  }
  after(ms: number, run: () => void): () => void {
    const timer = { due: this.ticks + ms, run };
    this.timers.push(timer);
    return () => {
      this.timers = this.timers.filter((t) => t !== timer);
    };
  }
  alone<T>(_name: string, _patience: number, work: () => Promise<T>): Promise<T> {
    return work();
  }

  /** Lets time pass on both clocks and runs what became due, in order. */
  pass(ms: number): void {
    this.ticks += ms;
    this.wall += ms;
    for (;;) {
      const due = this.timers.filter((t) => t.due <= this.ticks).sort((a, b) => a.due - b.due)[0];
      if (!due) return;
      this.timers = this.timers.filter((t) => t !== due);
      due.run();
    }
  }
}
