// Writes everything on this device into one file, and takes such a file in.

import type { ID } from "../contract.ts";
import type { Disk, NewEntry } from "../disk/disk.ts";
import type { PhotoShelf } from "../disk/photos.ts";
import type { Engine } from "../engine/engine.ts";
import { entryLine, headerLine, photoLine, readFile } from "./entry-file.ts";

const batch = 500;

/** @param unsaved entries that were made and that the disk did not take: they go into the file from memory */
export async function writeEverything(disk: Disk, photos: PhotoShelf, unsaved: readonly NewEntry[], of: { server: string; device: string; written_ms: number }): Promise<Blob> {
  const parts: string[] = [];
  let count = 0;
  const held = new Set<ID>();
  for (let after = 0; ; ) {
    const entries = await disk.readAll(after, batch);
    if (entries.length === 0) break;
    for (const e of entries) {
      held.add(e.id);
      parts.push(entryLine({ id: e.id, job: e.job, entry: e.bytes }));
    }
    count += entries.length;
    after = entries[entries.length - 1]!.seq;
  }
  for (const e of unsaved) {
    if (held.has(e.id)) continue;
    parts.push(entryLine({ id: e.id, job: e.job, entry: e.bytes }));
    count++;
  }
  const pictures: Blob[] = [];
  for (const hash of await photos.hashes()) {
    const photo = await photos.get(hash);
    if (photo) pictures.push(new Blob([photoLine(photo)])); // a Blob each, so that not all of them lie in memory as text
  }
  return new Blob([headerLine({ ...of, entries: count, photos: pictures.length }), ...parts, ...pictures], { type: "application/x-ndjson" });
}

export interface TakenIn { taken: number; jobs: Set<string>; words: string }

/** Takes a file in: what the engine can read and was not here is stored and queued for the server. */
export async function takeIn(file: Blob, disk: Disk, photos: PhotoShelf, engine: Engine): Promise<TakenIn> {
  const jobs = new Set<string>();
  const faults: string[] = [];
  let taken = 0;
  let read = 0;
  let pictures = 0;
  let waiting = new Map<string, NewEntry[]>();

  async function store(): Promise<void> {
    for (const [job, entries] of waiting) {
      const answer = await engine.call<{ refused: { index: number; message: string }[] | null }>("load", { job, entries: entries.map((e) => e.bytes) }, false);
      const refused = new Map((answer.refused ?? []).map((r) => [r.index, r.message]));
      const good = entries.filter((_, index) => !refused.has(index));
      for (const [index, message] of refused) faults.push(`entry ${entries[index]!.id.slice(0, 8)} was not taken in: ${message}`);
      const fresh = await disk.putImported(good);
      taken += fresh;
      if (fresh > 0) jobs.add(job);
    }
    waiting = new Map();
  }

  let pending = 0;
  const parts = readFile(file);
  for (;;) {
    const next = await parts.next();
    if (next.done) {
      await store();
      const { entries, photos: promised } = next.value;
      if (read < entries || pictures < promised) faults.push(`The file is cut or damaged: it should hold ${entries} entries and ${promised} photos, ${read} and ${pictures} could be read.`);
      break;
    }
    const part = next.value;
    if (part.what === "bad") faults.push(part.words);
    else if (part.what === "photo") {
      pictures++;
      await photos.put(part.photo);
    } else {
      read++;
      const { id, job, entry } = part.entry;
      waiting.set(job, [...(waiting.get(job) ?? []), { id, job, bytes: entry }]);
      if (++pending % batch === 0) await store();
    }
  }
  const here = read - taken - faults.filter((f) => f.startsWith("entry ")).length;
  const words = [`${taken} entries were taken in.`, here > 0 ? `${here} were here already.` : "", pictures > 0 ? `${pictures} photos.` : "", ...faults.slice(0, 10), faults.length > 10 ? `… and ${faults.length - 10} more faults.` : ""];
  return { taken, jobs, words: words.filter((w) => w !== "").join(" ") };
}
