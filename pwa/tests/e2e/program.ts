// The real program as a child process, and the line between a device and it, which can be cut.

import { spawn, type ChildProcess } from "node:child_process";
import { connect, createServer, type AddressInfo, type Server, type Socket } from "node:net";
import { resolve } from "node:path";

const binary = process.env.RUNTRUE ?? resolve(import.meta.dirname, "../../../build/runtrue");

/** One run of `runtrue serve` or `runtrue demo` on a free port. */
export class Program {
  port = 0;
  /** codes that it printed, in their order */ readonly codes: string[] = [];
  private child: ChildProcess | null = null;
  private said = "";

  /** @param args what stands behind `runtrue`, without the address */
  constructor(private readonly args: string[]) {}

  /** Starts it and answers once it serves and has printed at least so many codes; every start takes a port of its own. */
  async start(codes: number): Promise<void> {
    const child = spawn(binary, [...this.args, "--addr", "127.0.0.1:0"], { stdio: ["ignore", "pipe", "pipe"] });
    this.child = child;
    process.once("exit", () => child.kill("SIGKILL")); // a test run that is broken off leaves nothing behind
    this.said = "";
    this.codes.length = 0;
    child.stderr!.on("data", (b: Buffer) => { this.said += b.toString(); });
    await new Promise<void>((serves, failed) => {
      child.on("error", failed);
      child.on("exit", (code, signal) => failed(new Error(`${binary} ${this.args.join(" ")} ended (${code ?? signal}) before it served:\n${this.said}`)));
      child.stdout!.on("data", (b: Buffer) => {
        this.said += b.toString();
        this.codes.splice(0, this.codes.length, ...[...this.said.matchAll(/#enter=(\S+)\n/g)].map((m) => m[1]!));
        const port = /serves on http:\/\/127\.0\.0\.1:(\d+)\n/.exec(this.said)?.[1];
        if (!port || this.codes.length < codes) return;
        this.port = Number(port);
        void this.healthy().then(serves, failed);
      });
    });
  }

  get address(): string { return `http://127.0.0.1:${this.port}`; }

  /** Everything it has written so far. */
  get output(): string { return this.said; }

  private async healthy(): Promise<void> {
    const answer = await fetch(`${this.address}/healthz`);
    if (!answer.ok) throw new Error(`healthz answered ${answer.status}`);
  }

  /** Tells it to stop, or kills it, and waits for its end. */
  async stop(signal: "SIGTERM" | "SIGKILL" = "SIGTERM"): Promise<void> {
    const child = this.child;
    this.child = null;
    if (!child || child.exitCode !== null || child.signalCode !== null) return;
    const ended = new Promise<number | null>((done) => child.once("exit", done));
    child.kill(signal);
    const code = await ended;
    if (signal === "SIGTERM" && code !== 0) throw new Error(`the program ended with ${code}:\n${this.said}`);
  }
}

/** A device's own network: bytes pass between its address, which never changes, and the program, until it is cut. */
export class Line {
  private readonly sockets = new Set<Socket>();
  private server: Server | null = null;
  private up = true;
  private port = 0;

  constructor(private readonly to: () => number) {}

  async open(): Promise<void> {
    const server = createServer((near) => {
      if (!this.up) {
        near.destroy();
        return;
      }
      const far = connect(this.to(), "127.0.0.1");
      for (const [one, other] of [[near, far], [far, near]] as const) {
        this.sockets.add(one);
        one.on("error", () => other.destroy()); // a cut line; both ends go
        one.on("close", () => { this.sockets.delete(one); other.destroy(); });
      }
      near.pipe(far).pipe(near);
    });
    await new Promise<void>((done) => server.listen(0, "127.0.0.1", done));
    this.server = server;
    this.port = (server.address() as AddressInfo).port;
  }

  get address(): string { return `http://127.0.0.1:${this.port}`; }

  cut(): void {
    this.up = false;
    for (const s of this.sockets) s.destroy();
  }

  mend(): void { this.up = true; }

  async close(): Promise<void> {
    this.cut();
    await new Promise<void>((done) => (this.server ? this.server.close(() => done()) : done()));
  }
}
