// Why something could not be stored or read, in the words that the person sees.

export type StorageFault =
  /** the browser gives no more room */ | "full"
  /** the storage failed, also after it was opened again */ | "lost"
  /** this must not be stored: an entry would stand on one that is not here */ | "refused";

export class StorageTrouble extends Error {
  override readonly name = "StorageTrouble";
  constructor(readonly fault: StorageFault, words: string, options?: ErrorOptions) {
    super(words, options);
  }
}

/** Puts a failure of IndexedDB into words. `what` says what was being done, as "saving the reading". */
export function storageTrouble(what: string, writing: boolean, cause: unknown): StorageTrouble {
  if (cause instanceof StorageTrouble) return cause;
  const known = cause instanceof Error || cause instanceof DOMException;
  const detail = known ? `${cause.name}: ${cause.message}` : String(cause);
  if (known && cause.name === "QuotaExceededError") {
    return new StorageTrouble("full", `${what}: this device has no room left. It is NOT saved. Free some room (photos, other apps), then try again; everything saved before is kept.`, { cause });
  }
  const kept = writing ? "It is NOT saved. Try again; if it fails again, export everything from this device before closing the page." : "Nothing was changed by this. Close the page and open it again.";
  return new StorageTrouble("lost", `${what}: this device's storage failed twice (${detail}). ${kept}`, { cause });
}
