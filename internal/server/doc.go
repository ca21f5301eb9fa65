// Package server is the one place where devices meet: it takes in what they have written, hands out what others have, tells them when there is news, and serves the
// page that they run. It also speaks up: an entry that was sent under another name or by somebody whose role had been withdrawn is kept like every
// other, and the server appends an objection to it, an entry of its own.
//
// # Accepting is not agreeing
//
// An entry is taken if its bytes parse strictly, are not too long, and all its parents are here (or come in the same push). Nothing about its meaning is ever a
// reason to refuse it: what somebody typed at the bench must not be lost because a right was missing. What an entry is worth is decided by the fold, the same on every device; the server only adds what no device can know:
// under whose session it came, and what the shop's record said of the author's role when it arrived. See objection.go.
//
// A push is answered after everything it brought is on disk. It may be repeated, cut off, or sent by two tabs at once: ids are hashes, so the same entry is taken once, and its objection is made once, in the
// same write as the entry.
//
// Bodies go and come under their digest (Content-Digest, RFC 9530) where the device sends one: an entry has no id of its own on the wire, and a digit altered on the way would make another entry of it.
//
// # Histories
//
// Each job's arrivals carry a running hash. A device's cursor is (server, n, hash at n); a server restored from an older backup cannot continue it, says so in pull, and takes back from the devices what it
// lost (have, then push). On the wire a hash has 96 digits: 64 of the running hash and 32 of a seal that only this server can make. To devices it is opaque. By the seal the server
// recognises that it did go back in time, and does not object to entries that one device hands back in the name of another: they had been taken from their authors once already. Its own objections that come back are not made
// again. A withdrawal of a role that comes back counts from when it was made: what came in under the role in between is objected to then.
//
// # Damage
//
// Entries are hashed whenever they are read. A damaged one ends a pull before it; the device is asked, once, to offer everything it holds, and an intact copy takes the damaged one's place.
//
// # Inside
//
// routes.go is the table of routes, with what each asks of the caller; adapter.go is the only file that knows the HTTP library: it copies whatever comes from it, because its strings and bodies
// are used again after the handler returns. errors.go is the one table from error codes to HTTP status. jobs.go keeps ids and heads of the jobs in memory. The order of locks is: gates of jobs in the order of their names, then the data
// of one job, then nothing.
package server
