// Package badgerstore keeps a store on disk with Badger, in one folder that belongs to one process.
//
// # Group commit
//
// Badger syncs once a transaction, so many writers with a transaction each wait for many syncs. Here one goroutine, the writer, takes up
// every Put and PutMeta that waits, as many as fit one transaction, gives the arrivals their numbers, commits once, which syncs, and then
// answers all. The next ones gather meanwhile. Callers hand over through a channel without a buffer: whoever waits holds his own entries,
// the store holds those of one group (about 2 MiB) and no more, and a context that ends before the hand-over leaves no trace.
//
// A Put too large for one transaction is written alone and in several: first its entries, under numbers above the job's head where nobody
// looks; last, in one transaction, the index rows of all its ids and the new heads. The head makes the entries visible, so the Put is all
// or nothing even if the process dies in between. What an unfinished one left above the head is overwritten by the next arrivals.
//
// # On disk
//
// One row for each arrival (job, number → what Arrival holds and the bytes), one for each id (→ job, number), one head for each job,
// the side tables, and one row that counts heads and side-table rows. The count is there because Badger's iterators pass over a block that
// fails its checksum without a word: a missing head must not look like a job nobody wrote to. The file IDENTITY beside Badger's own says which
// store this is, so that a Badger folder that lost everything is not taken for a new one.
//
// All values are smaller than the threshold at which Badger would put them into its value log, whose sync error it only logs. They go to the
// write-ahead log, whose sync error is returned.
//
// # What is done about Badger's ways
//
//   - After a write that failed half-way the log holds half a transaction, and on the next opening Badger ignores all that follows it.
//     So a failed write ends all writing (ErrFailed) until the folder is opened again, which cuts the log there.
//   - A kill leaves written but unsynced rows in the system's cache. Opened again, they would be answered as "already here" though a power
//     cut could still take them. So Open syncs the log files before Badger reads them: what is read is on disk.
//   - A new log file's folder entry is not synced by Badger; the writer does so before it answers the first group in a new log.
//   - Its files are written through memory maps, where a full disk kills the process. The writer asks for the free room before each group
//     and answers ErrFull while a reserve is left, 256 MiB by default; Badger's merging in the background needs an estimated half of that at
//     this size. Open wants half of it free, since Badger begins by writing. If some other program eats the reserve, the process may
//     still die; what was acknowledged is on disk all the same.
//   - A log file that was begun and has no length yet keeps Badger from opening the folder. Open removes such files.
//
// Damage inside the write-ahead log of the last few thousand entries is found by Badger on opening, but taken for the end of the log: the
// entries after it are gone. The running hash then shows every device that this store does not continue what it knew, and they give
// back what they have.
//
// # Memory
//
// Badger's defaults take nearly 400 MB, too much for the small machine under the bench. Two tables of 16 MiB in memory, 16 MiB of block
// cache and value log files of 64 MiB (unused, see above) take a little over 200 MB and are no slower at a shop's rate. Heads and side tables are
// held in memory besides: about 200 bytes a job.
package badgerstore
