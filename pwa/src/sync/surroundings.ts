// What sending and fetching need of the world: handed in, so that tests own the clock, the dice and the network.

export interface Surroundings {
  fetch(url: string, init: RequestInit): Promise<Response>;
  /** This device's clock, in milliseconds since 1970 UTC. It may be wrong by years. */
  now(): number;
  /** Milliseconds since some start, never set back. */
  monotonic(): number;
  /** From 0 to below 1. */
  random(): number;
  /** Runs something later; the answer cancels it. */
  after(ms: number, run: () => void): () => void;
  /**
   * Runs the work while no other tab runs work of the same name, but waits no longer than `patience` milliseconds for its turn:
   * a frozen tab keeps its lock for ever. The lock saves needless requests; nothing is wrong without it.
   */
  alone<T>(name: string, patience: number, work: () => Promise<T>): Promise<T>;
}

/** The browser's. */
export function browserSurroundings(): Surroundings {
  return {
    fetch: (url, init) => fetch(url, init),
    now: () => Date.now(),
    monotonic: () => performance.now(),
    random: () => Math.random(),
    after(ms, run) {
      const timer = setTimeout(run, ms);
      return () => clearTimeout(timer);
    },
    async alone(name, patience, work) {
      const locks = navigator.locks;
      if (!locks) return work();
      const giveUp = new AbortController();
      const timer = setTimeout(() => giveUp.abort(), patience);
      let begun = false;
      try {
        return await locks.request(name, { signal: giveUp.signal }, () => {
          begun = true;
          clearTimeout(timer);
          return work();
        });
      } catch (cause) {
        if (begun || !giveUp.signal.aborted) throw cause;
        return work();
      } finally {
        clearTimeout(timer);
      }
    },
  };
}

/** Pause before try number `failures` + 1, in milliseconds: doubling from 1 s to at most 60 s, spread over half of it so that devices which fell together do not come back together. */
export function backOff(failures: number, random: number): number {
  const full = Math.min(60_000, 1000 * 2 ** Math.min(failures - 1, 10));
  return full / 2 + (full / 2) * random;
}
