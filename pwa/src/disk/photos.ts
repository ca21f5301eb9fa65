// Photos, by the hash of their bytes, and which of them the server does not have yet.

import type { Database } from "./database.ts";
import type { PhotoWaiting, StoredPhoto } from "./schema.ts";

export class PhotoShelf {
  constructor(private readonly db: Database) {}

  /** Stores a photo taken here and queues it. The same bytes again change nothing. */
  put(photo: StoredPhoto): Promise<void> {
    return this.db.write("saving the photo", ["photos", "photoQueue"], async (tx) => {
      if ((await tx.objectStore("photos").getKey(photo.hash)) !== undefined) return;
      await tx.objectStore("photos").put(photo);
      await tx.objectStore("photoQueue").put({ hash: photo.hash, bytes: photo.data.byteLength });
    });
  }

  /** Keeps a photo that the server sent. */
  keep(photo: StoredPhoto): Promise<void> {
    return this.db.write("keeping the photo", ["photos"], async (tx) => {
      await tx.objectStore("photos").put(photo);
    });
  }

  get(hash: string): Promise<StoredPhoto | undefined> {
    return this.db.read("reading the photo", ["photos"], (tx) => tx.objectStore("photos").get(hash));
  }

  hashes(): Promise<string[]> {
    return this.db.read("reading the list of photos", ["photos"], (tx) => tx.objectStore("photos").getAllKeys());
  }

  /** What waits, smallest first. */
  waiting(): Promise<PhotoWaiting[]> {
    return this.db.read("reading which photos wait", ["photoQueue"], async (tx) => {
      const all = await tx.objectStore("photoQueue").getAll();
      return all.sort((a, b) => a.bytes - b.bytes || (a.hash < b.hash ? -1 : 1));
    });
  }

  /** Queues every photo held here: a server restored from an older state may have lost some. Those that it has cost one question each. */
  offerAgain(): Promise<void> {
    return this.db.write("queueing the photos again", ["photos", "photoQueue"], async (tx) => {
      for await (const at of tx.objectStore("photos")) await tx.objectStore("photoQueue").put({ hash: at.value.hash, bytes: at.value.data.byteLength });
    });
  }

  sent(hash: string): Promise<void> {
    return this.db.write("noting that the photo is on the server", ["photoQueue"], async (tx) => {
      await tx.objectStore("photoQueue").delete(hash);
    });
  }
}
