package access

import (
	"slices"
	"sync/atomic"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// Grant is one grant of a role as the shop's record has it, with what became of it.
type Grant struct {
	ID      record.ID
	Person  string
	Role    spindle.Role
	FromMS  int64
	UntilMS int64 // 0: open
	// WithdrawnBy is the entry that took the grant back; zero: it stands.
	WithdrawnBy      record.ID
	IncludingEarlier bool // what was done under it before the withdrawal falls too
}

// Held is a role with the grant that gives it.
type Held struct {
	Role  spindle.Role `json:"role"`
	Grant record.ID    `json:"grant"`
}

// Staff is who the shop's record says is there: names by person id, and every grant ever made.
type Staff struct {
	Names  map[string]string
	Grants []Grant
}

type shopCache struct{ view atomic.Pointer[Staff] }

// Learn replaces what the desk knows of the shop's record. Call it at the start and whenever the shop's record has news. The desk keeps s; it must not be changed afterwards.
func (d *Desk) Learn(s Staff) { d.shop.view.Store(&s) }

func (d *Desk) staff() *Staff {
	if s := d.shop.view.Load(); s != nil {
		return s
	}
	return &Staff{}
}

// NameOf returns what the shop calls a person; the id if it has no name for it.
func (d *Desk) NameOf(person string) string {
	if n := d.staff().Names[person]; n != "" {
		return n
	}
	return person
}

// Anybody reports whether the shop's record gives anybody the role now. It tells an empty shop from one that is run.
func (d *Desk) Anybody(role spindle.Role) bool {
	now := d.now().UnixMilli()
	return slices.ContainsFunc(d.staff().Grants, func(g Grant) bool { return g.Role == role && g.inForce(now) })
}

func (g Grant) inForce(now int64) bool {
	return g.WithdrawnBy.IsZero() && g.FromMS <= now && (g.UntilMS == 0 || now < g.UntilMS)
}

// RolesOf returns the roles that a person holds now, each once, in the order of spindle.Roles; of several grants of one role the one with the smallest id.
func (d *Desk) RolesOf(person string) []Held {
	now := d.now().UnixMilli()
	out := []Held{}
	for _, role := range spindle.Roles() {
		var best *Grant
		for i, g := range d.staff().Grants {
			if g.Person == person && g.Role == role && g.inForce(now) && (best == nil || g.ID.Compare(best.ID) < 0) {
				best = &d.staff().Grants[i]
			}
		}
		if best != nil {
			out = append(out, Held{Role: role, Grant: best.ID})
		}
	}
	return out
}

// Holds reports whether a person holds one of the roles now.
func (d *Desk) Holds(person string, roles ...spindle.Role) bool {
	return slices.ContainsFunc(d.RolesOf(person), func(h Held) bool { return slices.Contains(roles, h.Role) })
}

// Claim is what an entry says about the right it was made by.
type Claim struct {
	Person string
	As     spindle.Role
	Grant  record.ID
	// WrittenMS is when it was made, by the device's clock put right with the server's; the time of arrival where the device never learnt the difference.
	WrittenMS int64
	// ArrivedMS is when it came in, by the server's clock.
	ArrivedMS int64
}

// Standing is what the shop's record says to a claim.
type Standing string

// The answers. All but Good call for an objection.
const (
	Good      Standing = "good"
	Withdrawn Standing = "withdrawn" // the grant was taken back
	Never     Standing = "never granted"
	Lapsed    Standing = "lapsed"  // its last day was over when the entry was made
	NotYet    Standing = "not yet" // it begins after the entry arrived
)

// StandingOf judges a claim by the grants known now, and returns the grant that it names (zero if there is none). A grant counts only if it is the one named, gives the role claimed and was given to
// the person claimed. The end of a grant is held against the time of writing, since an entry may have waited for the network; its beginning against the time of arrival, since no entry is made after it arrives.
func (d *Desk) StandingOf(c Claim) (Standing, Grant) {
	for _, g := range d.staff().Grants {
		if g.ID != c.Grant || g.Person != c.Person || g.Role != c.As {
			continue
		}
		switch {
		case !g.WithdrawnBy.IsZero():
			return Withdrawn, g
		case g.UntilMS != 0 && min(c.WrittenMS, c.ArrivedMS) >= g.UntilMS:
			return Lapsed, g
		case g.FromMS > c.ArrivedMS:
			return NotYet, g
		}
		return Good, g
	}
	return Never, Grant{}
}

// FallenBackwards returns the grants that were withdrawn including what was done under them earlier, in the order of their ids.
func (d *Desk) FallenBackwards() []Grant {
	var out []Grant
	for _, g := range d.staff().Grants {
		if !g.WithdrawnBy.IsZero() && g.IncludingEarlier {
			out = append(out, g)
		}
	}
	slices.SortFunc(out, func(a, b Grant) int { return a.ID.Compare(b.ID) })
	return out
}

// LostAllRoles reports whether a person held a role once and holds none now: somebody who has left, or is on the way out. A person who never had one is
// not meant: such a one was let in by a code and is still to be given a role.
func (d *Desk) LostAllRoles(person string) bool {
	now := d.now().UnixMilli()
	once := false
	for _, g := range d.staff().Grants {
		if g.Person != person {
			continue
		}
		if g.inForce(now) {
			return false
		}
		once = once || g.FromMS <= now
	}
	return once
}

// AnybodyIn reports whether somebody who holds the role now has a session that has not ended: a shop that nobody can run otherwise needs a code made at the machine itself.
func (d *Desk) AnybodyIn(role spindle.Role) bool {
	d.mu.RLock()
	var all []*session
	for _, s := range d.sessions {
		all = append(all, s)
	}
	d.mu.RUnlock()
	return slices.ContainsFunc(all, func(s *session) bool {
		st := s.state()
		return st.EndedMS == 0 && d.Holds(st.Person, role)
	})
}
