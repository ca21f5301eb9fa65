// The worker in which the engine lives. It loads the engine, answers orders in the order in which they come, and says so when the engine ends.

import { Disk } from "../disk/disk.ts";
import type { Reply, Request } from "../engine/messages.ts";
import { Host, Refusal, type Call } from "./host.ts";

interface GoProgram { importObject: WebAssembly.Imports; run(instance: WebAssembly.Instance): Promise<void> }
interface GoGlobals { Go: new () => GoProgram; runtrueEngine?: { call: Call }; runtrueEngineReady?: () => void }

const scope = globalThis as unknown as DedicatedWorkerGlobalScope & GoGlobals;

function say(reply: Reply): void {
  scope.postMessage(reply);
}

async function loadEngine(): Promise<Call> {
  // The loader comes from the Go release that compiled the engine; it defines globalThis.Go.
  await import(/* @vite-ignore */ new URL("/wasm_exec.js", scope.location.origin).href);
  const go = new scope.Go();
  const response = await fetch("/engine.wasm");
  if (!response.ok) throw new Refusal("no engine", `the engine could not be fetched: the server answered ${response.status}. What was typed before is kept; open the page again when the server answers.`);
  const typed = response.headers.get("Content-Type")?.startsWith("application/wasm") ?? false;
  const { instance } = typed
    ? await WebAssembly.instantiateStreaming(response, go.importObject)
    : await WebAssembly.instantiate(await response.arrayBuffer(), go.importObject);
  return new Promise<Call>((ready, failed) => {
    scope.runtrueEngineReady = () => {
      const engine = scope.runtrueEngine;
      if (engine) ready((method, json) => engine.call(method, json));
      else failed(new Refusal("no engine", "the engine started without its door; this version of the page is broken"));
    };
    go.run(instance).then(
      () => ended("it ended by itself"),
      (cause: unknown) => ended(String(cause)),
    );
    function ended(why: string): void {
      failed(new Refusal("dead", `the engine could not start: ${why}`));
      say({ dead: `the engine stopped: ${why}` });
    }
  });
}

const host = new Host(loadEngine, (server) => new Disk(server));
let last: Promise<unknown> = Promise.resolve();

scope.addEventListener("message", (event: MessageEvent<Request>) => {
  const { n, order } = event.data;
  last = last.then(async () => {
    try {
      say({ n, ok: await host.obey(order) });
    } catch (cause) {
      const code = cause instanceof Refusal ? cause.code : cause instanceof Error ? cause.name : "error";
      say({ n, error: { code, message: cause instanceof Error ? cause.message : String(cause) } });
    }
  });
});
