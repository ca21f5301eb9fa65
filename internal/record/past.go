package record

import (
	"cmp"
	"slices"
)

// ancestry answers whether one entry is in the past of another, without walking the graph.
//
// The entries are split into chains: in a chain every entry has the one before it in its past. A device extends its own chain, because what it wrote last is always among the ancestors of what
// it writes next; a cloned device opens a second one. For each entry the last entry of every chain that is in its past is kept, so there are about as many marks per entry as there are devices, and
// a question costs one search among them. How entries fall into chains depends on the order in which they joined; the answers do not.
type ancestry struct {
	chain []int32  // of each entry
	place []int32  // in its chain, from 0
	seen  [][]mark // of each entry, by rising chain, itself included
	tails []int32  // place of the last entry of each chain
	of    map[string][]int32
}

// mark says that of a chain everything up to a place was seen.
type mark struct{ chain, place int32 }

func newAncestry() *ancestry { return &ancestry{of: map[string][]int32{}} }

// join adds the next entry, written on the device and with these parents, which have joined before.
func (a *ancestry) join(device string, parents []int32) {
	var seen []mark
	switch len(parents) {
	case 0:
	case 1:
		seen = slices.Clone(a.seen[parents[0]])
	default:
		for _, p := range parents {
			seen = append(seen, a.seen[p]...)
		}
		slices.SortFunc(seen, func(x, y mark) int { return cmp.Or(cmp.Compare(x.chain, y.chain), cmp.Compare(y.place, x.place)) })
		seen = slices.CompactFunc(seen, func(x, y mark) bool { return x.chain == y.chain })
		seen = slices.Clip(seen)
	}
	chain, place := int32(len(a.tails)), int32(0)
	for _, c := range a.of[device] {
		if i, ok := find(seen, c); ok && seen[i].place == a.tails[c] {
			chain, place = c, seen[i].place+1
			break
		}
	}
	if place == 0 {
		a.tails = append(a.tails, 0)
		a.of[device] = append(a.of[device], chain)
		i, _ := find(seen, chain)
		seen = slices.Insert(seen, i, mark{chain, 0})
	} else {
		a.tails[chain] = place
		i, _ := find(seen, chain)
		seen[i].place = place
	}
	a.chain = append(a.chain, chain)
	a.place = append(a.place, place)
	a.seen = append(a.seen, seen)
}

func find(seen []mark, chain int32) (int, bool) {
	return slices.BinarySearchFunc(seen, chain, func(m mark, c int32) int { return cmp.Compare(m.chain, c) })
}

// saw reports whether entry x is in the past of entry e, e itself included.
func (a *ancestry) saw(e, x int32) bool {
	i, ok := find(a.seen[e], a.chain[x])
	return ok && a.seen[e][i].place >= a.place[x]
}
