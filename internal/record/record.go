// Package record is the record that a spindle carries through the shop: an append-only set of entries, its merge, and its fold.
//
// # The set
//
// One job is one record. An entry is never changed or deleted; what people see is folded from the set. Merging two replicas is set union, so it commutes,
// associates and may be repeated; all the thought is in the fold. The shop itself (people, grants, gauges, masters, settings) is one more record of the same machinery, the job named [ShopJob].
//
// An entry's id is the SHA-256 of its bytes as its author's engine wrote them. The bytes are kept and passed on as they are and never encoded again; only this package writes and
// reads them, strictly: exact-case keys, no key twice, no unknown key in a known version, whole numbers only, UTF-8 in NFC, at most [MaxEntry] bytes. What was written by a newer program is kept, passed on and holds the job (see [Entry.Unread]).
//
// # Ancestry
//
// Parents are what the person saw: the heads of the state that was on the screen when the entry was made. Past(e) is e and all its ancestors; two entries are concurrent when neither is in the other's past. No clock
// decides anything: display order is by depth in that graph, ties by id, so it is the same everywhere.
//
// # The fold
//
// [Fold] is a pure function of the set. Accepting an entry is one thing, its effect another: an entry by somebody whose role does not allow it, or on a target that is not in its past, is kept and has no effect,
// with the reason in words. Struck entries stay visible. Whether a part may be assembled is not decided here but in package hold, from the [State] and the verdicts.
//
// # Adding a kind
//
// One new file with the body's type, its Check and its rule of effect, and one line in the table of kinds.
package record

// ShopJob is the name of the record that holds people, gauges and settings.
const ShopJob = "shop"

// Version is the entry version that this program writes. All versions up to it are read for ever.
const Version = 1

// Engine names the rules of this fold and of the verdicts; it is pinned into decisions. It changes when the same set could be folded or judged differently.
const Engine = "1"

// Limits of one entry.
const (
	// MaxEntry is the greatest length of an entry in bytes.
	MaxEntry = 64 << 10
	// MaxParents is the greatest number of parents; above it [Draft] needs gather entries first.
	MaxParents = 256
)
