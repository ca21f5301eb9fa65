// The screens on the invented shop, for the eye: served by Vite from this folder only, in no build.

import { render } from "preact";
import type { Role } from "../../contract";
import { App } from "../app";
import { fakeBackend } from "./fake";

const place = document.getElementById("app");
if (!place) throw new Error("dev/index.html has no element with the id app");
const q = new URLSearchParams(location.search);
const as = q.get("as") as Role | null;
const backend = fakeBackend({ nowMs: Date.now(), ...(as ? { as } : {}), empty: q.has("empty"), joined: !q.has("new") });
if (q.has("reuse")) { backend.arrive("decision", { subject: "outer-spacer", outcome: "reuse", reason: "within limits" }, "ines"); }
(globalThis as { runtrueFake?: typeof backend }).runtrueFake = backend;
render(<App backend={backend} />, place);
