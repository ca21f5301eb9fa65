// What a new entry has seen: the heads of the sheet as drawn, and what this page itself saved since, which the sheet may not show yet.
// A person has seen their own entry; nothing newer that came in from elsewhere may be added.

import type { ID, Sheet } from "../contract";

interface Own { id: ID; covers: ID[] }
const own = new Map<string, Own[]>();
const present = new WeakMap<Sheet, Set<ID>>();

function idsOf(sheet: Sheet): Set<ID> {
  let ids = present.get(sheet);
  if (!ids) {
    ids = new Set((sheet.history ?? []).map((l) => l.id));
    for (const h of sheet.heads ?? []) ids.add(h);
    present.set(sheet, ids);
  }
  return ids;
}

/** Notes an entry that this page saved, with the heads that it was given. */
export function remember(job: string, id: ID, seen: ID[]): void {
  const list = own.get(job) ?? [];
  list.push({ id, covers: seen });
  own.set(job, list);
}

/** Heads for a new entry made from this drawn sheet. */
export function seenHeads(sheet: Sheet): ID[] {
  const known = idsOf(sheet);
  const pending = (own.get(sheet.job) ?? []).filter((o) => !known.has(o.id));
  own.set(sheet.job, pending);
  const heads = new Set(sheet.heads ?? []);
  for (const o of pending) {
    for (const c of o.covers) heads.delete(c);
    heads.add(o.id);
  }
  return [...heads];
}

export function forgetAll(): void {
  own.clear();
}
