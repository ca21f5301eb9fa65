// Package store says what the server asks of durable storage, and nothing about how it is done.
//
// An entry is opaque here: bytes, the SHA-256 of these bytes as its id, and the name of the job whose stream it belongs to. The store gives
// every entry a place in its job's stream, the arrival: numbers count from 1 without gaps, and each carries a running hash over the ids of
// all arrivals of the job up to and including itself,
//
//	Hash(0) = 32 zero bytes
//	Hash(n) = SHA-256( Hash(n-1) ‖ ID(n) )
//
// so that a device which remembers (server id, n, hash) can tell at any later time whether this server continues the history it knows, or
// is an older or another one. Jobs are independent of each other: nothing is promised about the order of arrivals in two jobs, and no call
// looks at two of them together, except that one Put is all or nothing whatever jobs its entries name.
//
// # What each call promises
//
//   - Put returns without error only when all its entries are on disk, past any cache of the operating system. It is idempotent by id: an
//     entry that is already here is answered with its earlier arrival and Repeat set. A Put is all or nothing, and keeps the order of its
//     entries. A context that ends while the Put waits for its turn means that nothing was written; once taken up, Put no longer looks at
//     the context and answers what happened. After ErrFailed the outcome of that one Put is unknown; repeating it later is always safe.
//   - Since, At, Get, Have and Jobs show only what is durable. They see a Put whole or not at all within one job.
//   - Since and Get hash every entry they hand out. One that does not hash to its id is an EntryError of kind ErrCorrupt; what could be read
//     is returned beside the error. Putting the undamaged bytes again mends the entry in its old place.
//   - PutMeta writes rows of the small side tables (people, devices, codes, tokens), durable on return and all or nothing like Put. The
//     rows are kept in memory, so they must stay few: thousands, not millions.
//   - Close waits for the Put that is being written and for running reads. Every later call answers ErrClosed.
//
// Bytes handed in are not kept after the call returns, and bytes handed out belong to the caller. All calls may be made from many
// goroutines at once.
//
// # Withheld entries
//
// The server may have to take in an entry whose bytes it cannot pass on (they do not parse). Its children must still be accepted, so the
// id gets its arrival and the bytes are left out: Withheld is set on every answer that names it, and Have says yes. If the bytes come
// later in a Put without Withheld, they take the stub's place under the same number; the running hash covers ids only and does not change.
//
// # Errors
//
// ErrClosed: after Close. ErrFull: no room on the disk; nothing of this call was written, everything acknowledged earlier is intact, and
// the call succeeds once there is room. ErrFailed: the engine broke in the middle of a write (the cause is wrapped; it may be ErrFull);
// the store refuses everything but Close until it is opened again, because writing after a torn write could hide what follows it.
// ErrHash: the bytes do not hash to the id. ErrOtherJob: the same id under another job's name; impossible for honest callers since the
// name is part of the hashed bytes, but answered all the same. ErrCorrupt: what is on disk is not what was written. ErrTooLarge and
// ErrName: beyond the limits below, or not a name. ErrBackup: the stream is not a whole backup. ErrInUse: another process has it open.
// ErrFormat: written by another version of the program.
//
// # What a store of another make has to do
//
// Implement Store, and run package storetest against it. Number arrivals in the same transaction that writes the entry, with one row per
// job locked by it; a database's own sequence is not good enough, since its values become visible out of order.
package store
