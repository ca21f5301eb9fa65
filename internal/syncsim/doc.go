// Package syncsim plays a bad week of a shop against the real server: devices that write, crash, are cloned, put back and emptied, over a network that loses, doubles, delays, cuts and alters what it carries, to a
// server that is killed in the middle of a write and put back to old backups. At the end all links heal and drain, and everything is compared.
//
// # What is real and what is not
//
// Real: package server on a loopback socket, package access, the store on Badger in a folder, its backups, the entries, the fold. Simulated: the devices' databases, which keep the same queues and cursors by the rules that
// the page must keep; their people; the network; and time. The clock moves from one event to the next, nothing ever waits for it, and everything drawn by lot comes from one seed, so that a seed repeats a run to the byte.
// The live channel is left out: it only brings forward a round that comes anyway.
//
// # Deaths of the server
//
// A kill comes inside a write: before it (what was not synced is gone), after it (synced, and nobody was told), or with the pages of the log that it changed partly written. What is left is a copy of the folder
// as it was at that moment, on which the next server opens. Everything that an earlier write had confirmed must be in it.
//
// # What must hold at the end
//
// A holder of an entry is a device whose database has it, or the server's store. A device ceases to hold what it loses when its database is put back, emptied, or tidied of a job; the server ceases to hold what is not in the backup that it is
// put back to. Nothing else ends holding, no crash and no kill. Then, for every entry that anybody ever saved:
//
//  1. If any holder is left when the links heal, every replica has it in the end. In particular what a page showed as "on the server" is missing only if the server was put back to a backup without it, and every device that
//     had it lost it too.
//  2. No replica has an entry that no device wrote and that the server did not write itself.
//  3. All devices and the server have equal sets of every job, closed under parents, and equal bytes of every sheet.
//  4. No device has anything unsent, refused, or waiting, and every cursor continues at the head.
//  5. A device tidies a job only when its cursor is at or below what the server has in a backup and nothing of the job is unsent, after an answer that continued the cursor. In such runs the
//     server is put back to the newest backup that it has told of, as whoever restores must do; in the others to any.
//  6. A decision that arrived after the role it was made in had been withdrawn stands under an objection by the server, even if the server was put back to before the withdrawal in between. So does, until the server is first put
//     back, an entry that came under another person's session.
package syncsim
