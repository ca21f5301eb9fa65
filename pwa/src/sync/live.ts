// The channel on which the server tells at once that something is new. It is a convenience: without it the device asks by itself.

import type { Access } from "./access.ts";
import { backOff, type Surroundings } from "./surroundings.ts";
import type { Wire } from "./wire.ts";

export interface News { job: string; n: number }

const silence = 40_000; // ms without a byte after which the channel is taken for dead: the server writes every 15 s

/** Cuts a stream of server-sent events into its messages; comment lines and unknown fields are skipped. Feed it pieces as they come. */
export class EventCutter {
  private rest = "";
  private readonly decoder = new TextDecoder();

  feed(bytes: Uint8Array): { event: string; data: string }[] {
    this.rest += this.decoder.decode(bytes, { stream: true });
    const blocks = this.rest.split(/\r?\n\r?\n/);
    this.rest = blocks.pop() ?? "";
    const events: { event: string; data: string }[] = [];
    for (const block of blocks) {
      let event = "message";
      const data: string[] = [];
      for (const line of block.split(/\r?\n/)) {
        if (line.startsWith("event:")) event = line.slice(6).trim();
        else if (line.startsWith("data:")) data.push(line.slice(5).replace(/^ /, ""));
      }
      if (data.length > 0) events.push({ event, data: data.join("\n") });
    }
    return events;
  }
}

export class Live {
  private stopping: AbortController | null = null;
  private cancelRetry: (() => void) | null = null;
  private failures = 0;

  constructor(
    private readonly wire: Wire,
    private readonly access: Access,
    private readonly around: Surroundings,
    private readonly heard: { /** a byte of our server */ sign(): void; /** the channel stands: whatever happened before must be asked for */ opened(): void; news(news: News): void },
  ) {}

  /** Opens the channel and keeps it open until `stop`. */
  start(): void {
    if (this.stopping) return;
    const stopping = new AbortController();
    this.stopping = stopping;
    void this.listen(stopping.signal).catch(() => undefined).then(() => {
      // However it ended (cut, refused, silent), it is tried again later; what is wrong shows in the ordinary requests.
      if (this.stopping !== stopping) return;
      this.stopping = null;
      this.failures++;
      this.cancelRetry = this.around.after(backOff(this.failures, this.around.random()), () => this.start());
    });
  }

  stop(): void {
    this.cancelRetry?.();
    this.cancelRetry = null;
    const stopping = this.stopping;
    this.stopping = null;
    stopping?.abort();
  }

  private async listen(signal: AbortSignal): Promise<void> {
    const dead = new AbortController();
    signal.addEventListener("abort", () => dead.abort(), { once: true });
    const body = await this.access.with((token) => this.wire.live(token, dead.signal));
    this.failures = 0;
    this.heard.opened();
    const reader = body.getReader();
    const cutter = new EventCutter();
    let cancel = (): void => undefined;
    try {
      for (;;) {
        cancel = this.around.after(silence, () => dead.abort());
        const { done, value } = await reader.read();
        cancel();
        if (done) return;
        this.heard.sign();
        for (const { event, data } of cutter.feed(value)) {
          if (event !== "news") continue;
          const news = JSON.parse(data) as News;
          this.heard.news(news);
        }
      }
    } finally {
      cancel();
      dead.abort();
    }
  }
}
