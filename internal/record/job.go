package record

import (
	"fmt"
	"slices"
)

// Job is one replica's set of entries of one record, closed under parents: an entry whose parents are not all here waits in quarantine and does not take part in the fold. The zero value is not usable; see [NewJob].
type Job struct {
	Name string

	entries  []*Entry // in order of joining
	depth    []int32  // 1 + the greatest depth of the parents
	children []int32  // number of children
	past     *ancestry
	index    map[ID]int32
	waiting  map[ID]*Entry
	wanted   map[ID][]ID // a missing parent → the quarantined entries that wait for it
}

// NewJob returns an empty record of that name.
func NewJob(name string) *Job {
	return &Job{Name: name, past: newAncestry(), index: map[ID]int32{}, waiting: map[ID]*Entry{}, wanted: map[ID][]ID{}}
}

// Len is the number of entries that take part in the fold.
func (j *Job) Len() int { return len(j.entries) }

// Has reports whether the entry is in the closed set.
func (j *Job) Has(id ID) bool { _, ok := j.index[id]; return ok }

// Waiting lists the ids of quarantined entries, and the ids of the parents that they wait for, both in rising order.
func (j *Job) Waiting() (ids, missing []ID) {
	for id, e := range j.waiting {
		ids = append(ids, id)
		for _, p := range e.Parents {
			if !j.Has(p) && j.waiting[p] == nil && !slices.Contains(missing, p) {
				missing = append(missing, p)
			}
		}
	}
	sortIDs(ids)
	sortIDs(missing)
	return ids, missing
}

// Get returns an entry of the closed set, or nil.
func (j *Job) Get(id ID) *Entry {
	if i, ok := j.index[id]; ok {
		return j.entries[i]
	}
	return nil
}

// IDs lists the ids of the closed set in rising order.
func (j *Job) IDs() []ID {
	ids := make([]ID, 0, len(j.entries))
	for _, e := range j.entries {
		ids = append(ids, e.ID)
	}
	sortIDs(ids)
	return ids
}

// Heads lists the entries that no other entry names as parent, in rising order: what the next entry's parents are.
func (j *Job) Heads() []ID {
	var ids []ID
	for i, n := range j.children {
		if n == 0 {
			ids = append(ids, j.entries[i].ID)
		}
	}
	sortIDs(ids)
	return ids
}

// Add takes an entry into the set. It reports whether the set grew, counting quarantine; an entry that is already here changes nothing.
// An entry of another job is refused: nothing is changed.
func (j *Job) Add(e *Entry) (grew bool, err error) {
	if e.Job != j.Name {
		return false, fmt.Errorf("%w: entry %s is of job %q, not of %q; nothing was changed", ErrMalformed, e.ID.Short(), e.Job, j.Name)
	}
	if j.waiting[e.ID] != nil {
		return false, nil
	}
	if i, ok := j.index[e.ID]; ok {
		if !j.entries[i].stub() || e.stub() {
			return false, nil
		}
		j.replaceStub(e)
		return true, nil
	}
	j.waiting[e.ID] = e
	if j.complete(e) {
		j.settleIn(e)
	}
	return true, nil
}

// AddAll takes several entries, in any order.
func (j *Job) AddAll(entries []*Entry) (added int, err error) {
	for _, e := range entries {
		grew, err := j.Add(e)
		if err != nil {
			return added, err
		}
		if grew {
			added++
		}
	}
	return added, nil
}

// Withhold notes that the server holds an entry of this id whose bytes cannot be read. Its children can join; the whole job is held until the entry itself arrives.
// Nothing changes where the entry is here already, be it in quarantine.
func (j *Job) Withhold(id ID) {
	if j.Has(id) || j.waiting[id] != nil {
		return
	}
	j.settleIn(&Entry{ID: id, Job: j.Name, Unread: "the server withholds it: its bytes could not be read"})
}

// stub reports whether the entry only stands for one whose bytes are not here: no program writes version 0.
func (e *Entry) stub() bool { return e.V == 0 }

// replaceStub puts an entry in the place of its stub. The stub had no parents and its children joined on it, so the whole set joins anew; states folded before keep the ancestry that they were folded with.
func (j *Job) replaceStub(e *Entry) {
	anew := NewJob(j.Name)
	anew.rejoin(e)
	for _, old := range j.entries {
		switch {
		case old.ID == e.ID:
		case old.stub():
			anew.settleIn(old)
		default:
			anew.rejoin(old)
		}
	}
	for _, old := range j.waiting {
		anew.rejoin(old)
	}
	*j = *anew
}

func (j *Job) rejoin(e *Entry) {
	j.waiting[e.ID] = e
	if j.complete(e) {
		j.settleIn(e)
	}
}

// complete reports whether all parents of a quarantined entry have joined; if not, it notes which one to wait for.
func (j *Job) complete(e *Entry) bool {
	for _, p := range e.Parents {
		if !j.Has(p) {
			j.wanted[p] = append(j.wanted[p], e.ID)
			return false
		}
	}
	return true
}

// settleIn joins an entry and whatever waited for it. Each waiting entry is looked at once per parent that it waited for.
func (j *Job) settleIn(e *Entry) {
	ready := []*Entry{e}
	for len(ready) > 0 {
		e := ready[len(ready)-1]
		ready = ready[:len(ready)-1]
		j.join(e)
		children := j.wanted[e.ID]
		delete(j.wanted, e.ID)
		for _, id := range children {
			if child := j.waiting[id]; child != nil && j.complete(child) {
				ready = append(ready, child)
			}
		}
	}
}

func (j *Job) join(e *Entry) {
	delete(j.waiting, e.ID)
	i := int32(len(j.entries))
	var depth int32
	parents := make([]int32, 0, len(e.Parents))
	for _, p := range e.Parents {
		k := j.index[p]
		parents = append(parents, k)
		j.children[k]++
		depth = max(depth, j.depth[k])
	}
	j.entries = append(j.entries, e)
	j.past.join(e.Device, parents)
	j.children = append(j.children, 0)
	j.depth = append(j.depth, depth+1)
	j.index[e.ID] = i
}

// order lists the entries by depth, ties by id: parents stand before children, and every replica has the same order.
func (j *Job) order() []int32 {
	out := make([]int32, len(j.entries))
	for i := range out {
		out[i] = int32(i)
	}
	slices.SortFunc(out, func(a, b int32) int {
		if d := j.depth[a] - j.depth[b]; d != 0 {
			return int(d)
		}
		return j.entries[a].ID.Compare(j.entries[b].ID)
	})
	return out
}

// Saw reports whether entry x is in the past of entry e, e itself included. Both must be in the closed set.
func (j *Job) Saw(e, x ID) bool {
	i, ok := j.index[e]
	k, ok2 := j.index[x]
	return ok && ok2 && j.past.saw(i, k)
}

func sortIDs(ids []ID) { slices.SortFunc(ids, ID.Compare) }
