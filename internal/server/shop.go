package server

import (
	"context"
	"fmt"
	"log/slog"
	"math"
	"slices"
	"time"

	"runtrue/internal/access"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
)

// learnShop folds the shop's record anew and gives the desk what it says of people and roles; then it objects to what was done under roles that were withdrawn backwards. Call it at the start and after every change
// of that record, while holding no gate.
func (s *Server) learnShop(ctx context.Context) error {
	s.shopMu.Lock()
	defer s.shopMu.Unlock()
	j := record.NewJob(record.ShopJob)
	known := map[record.ID]int64{} // withdrawals → when they arrived, ms
	err := everyArrival(ctx, s.store, record.ShopJob, func(st store.Stored) error {
		if st.Bytes == nil {
			j.Withhold(record.ID(st.ID))
			return nil
		}
		e, err := record.Decode(st.Bytes)
		if err != nil {
			return fmt.Errorf("arrival %d of the shop's record cannot be read by this program: %w", st.N, err)
		}
		if inTheServersName(e) && st.Session != "" {
			own, err := s.wrote(e)
			if err != nil {
				return err
			}
			if !own {
				// Somebody sent it in the server's name. It stays in the set, for what was built on it, but gives nobody anything.
				without := *e
				without.As = "nobody"
				e = &without
			}
		}
		if g, ok := e.Body.(*record.Grant); ok && !g.Withdraws.IsZero() {
			known[e.ID] = st.ReceivedMS
		}
		_, err = j.Add(e)
		return err
	})
	if err != nil {
		return err
	}
	staff := staffOf(j, record.FoldShop(j))
	s.desk.Learn(staff)
	due := s.fallenBetween(j, staff, known)
	for _, g := range s.desk.FallenBackwards() {
		due = append(due, fall{grant: g, mark: sweptRow + g.ID.String(), untilMS: math.MaxInt64, words: ", including what was done earlier"})
	}
	return s.fallBackwards(ctx, due)
}

// fall is a grant under which deeds that the server has accepted are to be objected to: those that arrived in a span of time, both ends included.
type fall struct {
	grant           access.Grant
	mark            string // row that says it was dealt with
	fromMS, untilMS int64
	words           string // for the end of the reason
}

// fallenBetween lists what fell between two chairs: after the server had been put back to a backup, a deed may arrive before the withdrawal that the server once knew. By the shop's
// clock the withdrawal was made first; so the deed is objected to when the withdrawal comes back. Without a restore a withdrawal counts from when it arrives.
func (s *Server) fallenBetween(j *record.Job, staff access.Staff, known map[record.ID]int64) []fall {
	if !s.restores.any(s.nowMS()) {
		return nil
	}
	var out []fall
	for _, g := range staff.Grants {
		if g.WithdrawnBy.IsZero() || g.IncludingEarlier {
			continue
		}
		f := fall{grant: g, mark: sweptRow + g.ID.String() + "/late", fromMS: math.MaxInt64, untilMS: math.MaxInt64}
		for _, id := range j.IDs() {
			e := j.Get(id)
			if w, ok := e.Body.(*record.Grant); !ok || w.Withdraws != g.ID {
				continue
			}
			made, clocked := e.TimeMS()
			if !clocked {
				made = 0 // at any time: it can only hold
			}
			f.fromMS, f.untilMS = min(f.fromMS, made), min(f.untilMS, known[id])
		}
		if f.fromMS <= f.untilMS {
			out = append(out, f)
		}
	}
	return out
}

// staffOf reads names and grants off the folded record.
func staffOf(j *record.Job, shop *record.Shop) access.Staff {
	staff := access.Staff{Names: map[string]string{}}
	for _, p := range shop.People {
		staff.Names[p.ID] = p.Name
	}
	withdrawnBy := map[record.ID]record.ID{}
	var given []*record.Entry
	for _, id := range j.IDs() {
		e := j.Get(id)
		g, ok := e.Body.(*record.Grant)
		switch {
		case !ok:
		case g.Withdraws.IsZero():
			given = append(given, e)
		case withdrawnBy[g.Withdraws].IsZero():
			withdrawnBy[g.Withdraws] = e.ID
		}
	}
	for _, e := range given {
		g := e.Body.(*record.Grant)
		withdrawn, includingEarlier := shop.Withdrawn(e.ID)
		if withdrawn && withdrawnBy[e.ID].IsZero() {
			continue // it never took effect
		}
		grant := access.Grant{ID: e.ID, Person: g.Person, Role: g.Role, FromMS: g.From, UntilMS: g.Until, IncludingEarlier: includingEarlier}
		if withdrawn {
			grant.WithdrawnBy = withdrawnBy[e.ID]
		}
		staff.Grants = append(staff.Grants, grant)
	}
	return staff
}

// sweptRow marks a grant whose withdrawal, where it reaches back, has been dealt with in every job. What comes in later is dealt with as it comes in.
const sweptRow = "server/swept/"

// fallBackwards objects, in every job, to what was done under grants whose withdrawal reaches back. It can be broken off at any point and run again: a job's objections are one write, and
// entries that the server objects to already are passed over.
func (s *Server) fallBackwards(ctx context.Context, fallen []fall) error {
	var due []fall
	for _, f := range fallen {
		_, done, err := s.store.GetMeta(ctx, f.mark)
		if err != nil {
			return err
		}
		if !done {
			due = append(due, f)
		}
	}
	if len(due) == 0 {
		return nil
	}
	heads, err := s.store.Jobs(ctx)
	if err != nil {
		return err
	}
	for _, h := range heads {
		if h.Job == record.ShopJob {
			continue
		}
		if err := s.fallInJob(ctx, h.Job, due); err != nil {
			return fmt.Errorf("objecting in job %q to what was done under a withdrawn role: %w", h.Job, err)
		}
	}
	var rows []store.Meta
	for _, f := range due {
		rows = append(rows, store.Meta{Key: f.mark, Value: []byte("1")})
		s.log.Info("objected to what was done under a withdrawn role"+f.words, slog.String("person", f.grant.Person), slog.String("role", string(f.grant.Role)), slog.Int("jobs", len(heads)))
	}
	for chunk := range slices.Chunk(rows, store.MaxMetaRows) {
		if err := s.store.PutMeta(ctx, chunk); err != nil {
			return err
		}
	}
	return nil
}

func (s *Server) fallInJob(ctx context.Context, name string, due []fall) error {
	jobs, leave, err := s.jobs.enter(ctx, []string{name}, true)
	if err != nil {
		return err
	}
	defer leave()
	objected := map[record.ID]bool{}
	var deedsDone []*record.Entry
	words := map[record.ID]string{}
	err = everyArrival(ctx, s.store, name, func(st store.Stored) error {
		if st.Bytes == nil {
			return nil
		}
		e, err := record.Decode(st.Bytes)
		if err != nil {
			return fmt.Errorf("arrival %d cannot be read by this program: %w", st.N, err)
		}
		if o, ok := e.Body.(*record.Objection); ok && e.As == spindle.Machine {
			own, err := s.wrote(e)
			if err != nil {
				return err
			}
			for _, id := range o.Targets {
				objected[id] = objected[id] || own || st.Session == ""
			}
			return nil
		}
		i := slices.IndexFunc(due, func(f fall) bool {
			return f.grant.ID == e.Grant && f.grant.Person == e.By && f.grant.Role == e.As && f.fromMS <= st.ReceivedMS && st.ReceivedMS <= f.untilMS
		})
		if i >= 0 {
			answers, err := s.answersForRole(ctx, e, nil)
			if err != nil {
				return err
			}
			if answers {
				deedsDone = append(deedsDone, e)
				words[e.ID] = due[i].words
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	var bodies []record.Body
	byReason := map[string][]record.ID{}
	var reasons []string
	for _, e := range deedsDone {
		if objected[e.ID] {
			continue
		}
		reason := fmt.Sprintf("%s by %s, whose role was withdrawn%s", deeds[e.Kind], s.desk.NameOf(e.By), words[e.ID])
		if len(byReason[reason]) == 0 {
			reasons = append(reasons, reason)
		}
		byReason[reason] = append(byReason[reason], e.ID)
	}
	for _, reason := range reasons {
		bodies = append(bodies, objectTo(byReason[reason], reason)...)
	}
	return s.append(ctx, jobs[0], bodies)
}

// append writes entries of the server's own on a job's heads. The job's gate is held alone.
func (s *Server) append(ctx context.Context, j *job, bodies []record.Body) error {
	if len(bodies) == 0 {
		return nil
	}
	own, err := s.onHeads(j.name, j.currentHeads(), bodies)
	if err != nil {
		return err
	}
	var batch []store.Incoming
	var written []planned
	for _, e := range own {
		batch = append(batch, s.incoming(e))
		written = append(written, planned{id: e.ID, entry: e, own: true})
	}
	arrivals, err := s.store.Put(ctx, batch)
	if err != nil {
		return err
	}
	j.took(written)
	s.news.tell(j.name, arrivals[len(arrivals)-1].N)
	return nil
}

// FirstAdmin makes an enrolment code for whoever is to run the shop's record, and gives that person the role admin if nobody holds it, by an entry of the server's own. It is for the machine's owner, who could read the store
// anyway: it asks for no session. Call it before Serve.
func (s *Server) FirstAdmin(ctx context.Context, person string, lasts time.Duration) (code string, expires time.Time, err error) {
	if err := access.CheckName("person", person); err != nil {
		return "", time.Time{}, err
	}
	if person == serverName {
		return "", time.Time{}, fmt.Errorf("%w: person %q is the server itself; choose another", access.ErrName, person)
	}
	if !s.desk.Anybody(spindle.Admin) {
		jobs, leave, err := s.jobs.enter(ctx, []string{record.ShopJob}, true)
		if err != nil {
			return "", time.Time{}, err
		}
		err = s.append(ctx, jobs[0], []record.Body{&record.Grant{Person: person, Role: spindle.Admin, From: s.nowMS()}})
		leave()
		if err != nil {
			return "", time.Time{}, err
		}
		if err := s.learnShop(ctx); err != nil {
			return "", time.Time{}, err
		}
	}
	return s.desk.NewCode(ctx, access.CodeFor{Person: person, Lasts: lasts})
}
