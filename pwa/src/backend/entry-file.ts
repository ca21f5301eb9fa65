// Everything on a device as one file, and back: the last resort when no server answers.
//
// One JSON text a line. The first says what the file is and how much follows, so that a cut file is known as one:
//   {"runtrue":"entries","version":1,"server":…,"device":…,"written_ms":…,"entries":n,"photos":m}
// then a line an entry, with the bytes as their author's engine wrote them:
//   {"id":…,"job":…,"entry":"…"}
// and a line a photo: {"photo":hash,"type":…,"w":…,"h":…,"base64":…}.

import type { ID } from "../contract.ts";
import type { StoredPhoto } from "../disk/schema.ts";
import { idOf } from "../sync/pull.ts";

export const fileVersion = 1;

export interface Header { runtrue: "entries"; version: number; server: string; device: string; written_ms: number; entries: number; photos: number }
export interface FileEntry { id: ID; job: string; entry: string }
interface FilePhoto { photo: string; type: string; w: number; h: number; base64: string }

export function headerLine(header: Omit<Header, "runtrue" | "version">): string {
  return JSON.stringify({ runtrue: "entries", version: fileVersion, ...header }) + "\n";
}
export function entryLine(e: FileEntry): string {
  return JSON.stringify({ id: e.id, job: e.job, entry: e.entry }) + "\n";
}
export function photoLine(photo: StoredPhoto): string {
  return JSON.stringify({ photo: photo.hash, type: photo.type, w: photo.w, h: photo.h, base64: toBase64(photo.data) }) + "\n";
}

export type FilePart = { what: "entry"; entry: FileEntry } | { what: "photo"; photo: StoredPhoto } | { what: "bad"; line: number; words: string };

/** Something else than such a file, or of a later version. */
export class NotOurFile extends Error {
  override readonly name = "NotOurFile";
}

/** Reads a file piece by piece. Every entry and photo is checked against its hash; a line that is wrong is told and the rest goes on. */
export async function* readFile(file: Blob): AsyncGenerator<FilePart, Header> {
  let header: Header | null = null;
  let line = 0;
  for await (const text of lines(file)) {
    line++;
    if (header === null) {
      header = readHeader(text);
      continue;
    }
    if (text.trim() === "") continue;
    yield await readPart(text, line);
  }
  if (header === null) throw new NotOurFile("The file is empty.");
  return header;
}

function readHeader(text: string): Header {
  let header: Partial<Header>;
  try {
    header = JSON.parse(text) as Partial<Header>;
  } catch (cause) {
    throw new NotOurFile("This is not a file of entries: its first line cannot be read. Nothing was taken in.", { cause });
  }
  if (header?.runtrue !== "entries" || typeof header.entries !== "number") throw new NotOurFile("This is not a file of entries. Nothing was taken in.");
  if (header.version !== fileVersion) throw new NotOurFile(`The file is of version ${header.version}, this program reads version ${fileVersion}. Nothing was taken in; update the page, then try again.`);
  return header as Header;
}

async function readPart(text: string, line: number): Promise<FilePart> {
  let part: Partial<FileEntry & FilePhoto>;
  try {
    part = JSON.parse(text) as Partial<FileEntry & FilePhoto>;
  } catch {
    return { what: "bad", line, words: `line ${line} is cut or damaged` };
  }
  if (typeof part.entry === "string" && typeof part.id === "string" && typeof part.job === "string") {
    if ((await idOf(part.entry)) !== part.id) return { what: "bad", line, words: `line ${line}: entry ${part.id.slice(0, 8)} was altered` };
    return { what: "entry", entry: { id: part.id, job: part.job, entry: part.entry } };
  }
  if (typeof part.photo === "string" && typeof part.base64 === "string") {
    let data: ArrayBuffer;
    try {
      data = fromBase64(part.base64);
    } catch {
      return { what: "bad", line, words: `line ${line}: photo ${part.photo.slice(0, 8)} is damaged` };
    }
    if ((await hashOf(data)) !== part.photo) return { what: "bad", line, words: `line ${line}: photo ${part.photo.slice(0, 8)} was altered` };
    return { what: "photo", photo: { hash: part.photo, type: part.type ?? "application/octet-stream", data, w: part.w ?? 0, h: part.h ?? 0 } };
  }
  return { what: "bad", line, words: `line ${line} is neither an entry nor a photo` };
}

async function* lines(file: Blob): AsyncGenerator<string> {
  const reader = file.stream().getReader();
  const decoder = new TextDecoder("utf-8", { fatal: false, ignoreBOM: false });
  let rest = "";
  for (;;) {
    const { done, value } = await reader.read();
    rest += done ? decoder.decode() : decoder.decode(value, { stream: true });
    const parts = rest.split("\n");
    rest = parts.pop() ?? "";
    yield* parts;
    if (done) break;
  }
  if (rest !== "") yield rest;
}

/** SHA-256 as 64 hex digits. */
export async function hashOf(data: ArrayBuffer): Promise<string> {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", data));
  return Array.from(digest, (b) => b.toString(16).padStart(2, "0")).join("");
}

function toBase64(data: ArrayBuffer): string {
  const bytes = new Uint8Array(data);
  let text = "";
  // In pieces, as a call takes a limited number of arguments.
  for (let at = 0; at < bytes.length; at += 32_768) text += String.fromCharCode(...bytes.subarray(at, at + 32_768));
  return btoa(text);
}

function fromBase64(text: string): ArrayBuffer {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let k = 0; k < raw.length; k++) bytes[k] = raw.charCodeAt(k);
  return bytes.buffer;
}
