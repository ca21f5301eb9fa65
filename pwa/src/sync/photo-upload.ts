// Sends photos, smallest first, each from where the last try was cut.

import type { PhotoShelf } from "../disk/photos.ts";
import type { Access } from "./access.ts";
import { ServerSays, Unreachable, type Wire } from "./wire.ts";

const piece = 262_144; // bytes in a request: a cut costs no more than this

export class PhotoUpload {
  constructor(private readonly photos: PhotoShelf, private readonly wire: Wire, private readonly access: Access) {}

  /** Sends all that wait. Answers in words what the server would not take; those stay in the queue. */
  async all(): Promise<string[]> {
    const troubles: string[] = [];
    for (const { hash } of await this.photos.waiting()) {
      try {
        await this.one(hash);
        await this.photos.sent(hash);
      } catch (cause) {
        if (!(cause instanceof ServerSays) || cause.status === 401) throw cause;
        troubles.push(`photo ${hash.slice(0, 8)} is kept here, the server did not take it: ${cause.message}`);
      }
    }
    return troubles;
  }

  private async one(hash: string): Promise<void> {
    const photo = await this.photos.get(hash);
    if (!photo) throw new Error(`photo ${hash} waits for the server but is not stored`);
    let { size, complete } = await this.access.with((token) => this.wire.photoState(token, hash));
    while (!complete) {
      if (size > photo.data.byteLength) throw new Unreachable(`the server says it has ${size} bytes of photo ${hash.slice(0, 8)}, which has ${photo.data.byteLength}`);
      const from = size;
      const bytes = photo.data.slice(from, from + piece);
      const next = await this.access.with((token) => this.wire.putPhoto(token, hash, from, bytes));
      if (!next.complete && next.size <= from) throw new Unreachable(`the server took nothing of photo ${hash.slice(0, 8)} at ${from} bytes`);
      ({ size, complete } = next);
    }
  }
}
