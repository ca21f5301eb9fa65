// The engine that the devices run, in Node: fetched from the program under test, so that it is the very same.

import { runInThisContext } from "node:vm";

interface Go { importObject: WebAssembly.Imports; run(instance: WebAssembly.Instance): Promise<void> }
type Door = { call(method: string, json: string): string };

export class Engine {
  private constructor(private readonly door: Door) {}

  static async from(address: string): Promise<Engine> {
    const scope = globalThis as unknown as { Go?: new () => Go; runtrueEngine?: Door; runtrueEngineReady?: () => void };
    if (!scope.Go) runInThisContext(await (await fetch(`${address}/wasm_exec.js`)).text(), { filename: "wasm_exec.js" });
    const go = new scope.Go!();
    const { instance } = await WebAssembly.instantiate(await (await fetch(`${address}/engine.wasm`)).arrayBuffer(), go.importObject);
    const ready = new Promise<Engine>((done) => { scope.runtrueEngineReady = () => done(new Engine(scope.runtrueEngine!)); });
    void go.run(instance); // runs until the process ends
    return ready;
  }

  call<T>(method: string, args: unknown): T {
    const answer = JSON.parse(this.raw(method, args)) as { ok?: T; error?: { code: string; message: string } };
    if (answer.error) throw new Error(`engine, ${method}: ${answer.error.code}: ${answer.error.message}`);
    return answer.ok!;
  }

  /** The answer's own bytes. */
  raw(method: string, args: unknown): string {
    return this.door.call(method, JSON.stringify(args));
  }
}
