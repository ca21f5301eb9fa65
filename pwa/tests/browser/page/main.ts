// The backend by itself, for tests that drive it in a real browser.

import { createBackend } from "../../../src/backend/browser.ts";

const backend = createBackend();
Object.assign(window, { backend });
void backend.start();
