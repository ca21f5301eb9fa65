// The decisions of the service worker, apart from the browser's events so that they can be tested anywhere.

export const cachePrefix = "runtrue-page-";

/** How long a page may take to say that nothing is unsaved, in milliseconds. */
export const patience = 3000;

// Headers that describe how the bytes came, not what they are; policies and the content's type stay with the file.
const ofTheTransfer = ["Content-Encoding", "Content-Length", "Transfer-Encoding", "Connection", "Keep-Alive", "Vary", "ETag", "Date", "Age", "Set-Cookie"];

export interface VersionFile { url: string; sha256: string }

/** SHA-256 of the bytes as 64 hex digits. */
export async function sha256Hex(bytes: ArrayBuffer): Promise<string> {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(digest, (b) => b.toString(16).padStart(2, "0")).join("");
}

/**
 * Which cached file answers a request for this path; null: the network does.
 * Lists, exports and all else under /api always come from the server, and so does /healthz.
 */
export function pageFor(pathname: string, navigation: boolean, urls: ReadonlySet<string>): string | null {
  if (pathname === "/api" || pathname.startsWith("/api/") || pathname === "/healthz") return null;
  if (pathname !== "/" && urls.has(pathname)) return pathname;
  if (pathname === "/" || pathname === "/index.html" || navigation) return urls.has("/") ? "/" : null;
  return null;
}

/**
 * Fetches all files of a version. Answers only if each has the bytes that the build had; otherwise throws, naming the file.
 * The responses are made anew, so that nothing of the transfer (redirects, encodings) is kept.
 */
export async function wholeVersion(
  files: readonly VersionFile[],
  get: (url: string) => Promise<Response>,
  digest: (bytes: ArrayBuffer) => Promise<string>,
): Promise<{ url: string; response: Response }[]> {
  return Promise.all(files.map(async ({ url, sha256 }) => {
    const response = await get(url);
    if (!response.ok) throw new Error(`${url}: the server answered ${response.status}; this version is not installed`);
    const bytes = await response.arrayBuffer();
    const found = await digest(bytes);
    if (found !== sha256) throw new Error(`${url}: has SHA-256 ${found}, the build wrote ${sha256}; this version is not installed`);
    const headers = new Headers(response.headers);
    for (const name of ofTheTransfer) headers.delete(name);
    return { url, response: new Response(bytes, { status: 200, headers }) };
  }));
}

/** Asks every page over a port of its own; true only if each answers `true` in time. No page open is a yes. */
export async function answersReady(ask: ((port: MessagePort) => void)[], wait: (ms: number) => Promise<void>): Promise<boolean> {
  const answers = ask.map((send) => new Promise<boolean>((done) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = (event) => {
      done(event.data === true);
      port1.close();
    };
    void wait(patience).then(() => {
      done(false);
      port1.close();
    });
    send(port2);
  }));
  return (await Promise.all(answers)).every(Boolean);
}
