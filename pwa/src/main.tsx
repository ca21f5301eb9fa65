// Where the page begins: it is drawn first, with what is in memory; disk, session and jobs follow, and the engine after the first paint.

import { render } from "preact";
import { createBackend } from "./backend/browser.ts";
import { App } from "./page/app";

const place = document.getElementById("app");
if (!place) throw new Error("index.html has no element with the id app");
const backend = createBackend();
render(<App backend={backend} />, place);
void backend.start();
