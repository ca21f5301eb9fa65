package syncsim

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// device is a tablet: its database, its wrong clock, and the pages that are open on it.
type device struct {
	w       *world
	name    string
	random  *rand.Rand
	disk    *disk
	person  string // whoever is to enter next
	skew    int64  // what its clock is off by, ms
	offline bool
	tidies  bool
	locks   map[string]*page
	pages   []*thread // empty: the device is down
	open    int       // pages that people have open on it
}

type held struct {
	Role  spindle.Role `json:"role"`
	Grant record.ID    `json:"grant"`
}

// page is one open page of a device, with what it has only in memory.
type page struct {
	w        *world
	dev      *device
	pause    func(ms int64)
	calm     bool // no weather, no deaths
	answered int64
	replicas map[string]*record.Job
	screens  map[string][]record.ID
	drops    int // of the database when replicas were built
}

func (d *device) page(pause func(int64), calm bool) *page {
	return &page{w: d.w, dev: d, pause: pause, calm: calm, answered: -hour, replicas: map[string]*record.Job{}, screens: map[string][]record.ID{}}
}

func (p *page) wall() int64 { return p.w.now() + p.dev.skew }

// replica is the engine's set of a job.
func (p *page) replica(job string) *record.Job {
	if now := p.dev.disk.rows.drops; now != p.drops {
		clear(p.replicas)
		clear(p.screens)
		p.drops = now
	}
	j := p.replicas[job]
	if j == nil {
		j = record.NewJob(job)
		p.replicas[job] = j
	}
	for _, id := range p.dev.disk.rows.ids(job)[j.Len()+waitingIn(j):] {
		if _, err := j.Add(p.dev.disk.rows.entries[id]); err != nil {
			p.w.must(err)
		}
	}
	return j
}

func waitingIn(j *record.Job) int {
	ids, _ := j.Waiting()
	return len(ids)
}

var (
	errNotEntered = errors.New("nobody has entered on this device, or the session has ended")
	errTidied     = errors.New("the job is not on this device")
)

// alone waits for other pages of the device, but not for ever: a page may be frozen.
func (p *page) alone(name string, most int64, work func() error) error {
	for waited := int64(0); p.dev.locks[name] != nil && waited < most; waited += 250 {
		p.pause(250)
	}
	p.dev.locks[name] = p
	defer func() {
		if p.dev.locks[name] == p {
			delete(p.dev.locks, name)
		}
	}()
	return work()
}

// with does something under a valid token; one that the server no longer takes is renewed once.
func (p *page) with(work func(token string) error) error {
	s := p.dev.disk.rows.session
	if s == nil || s.ended {
		return errNotEntered
	}
	off := int64(0)
	if o := p.dev.disk.rows.offMS; o != nil {
		off = *o
	}
	token := s.access
	if s.expiresMS-30*second <= p.wall()+off {
		if err := p.renew(&token); err != nil {
			return err
		}
	}
	err := work(token)
	if !says(err, 401) {
		return err
	}
	if err := p.renew(&token); err != nil {
		return err
	}
	return work(token)
}

// renew replaces a token that is not good any more; another page may have done so already.
func (p *page) renew(token *string) error {
	return p.alone("token", 10*second, func() error {
		s := p.dev.disk.rows.session
		if s == nil || s.ended {
			return errNotEntered
		}
		if s.access != *token {
			*token = s.access
			return nil
		}
		var a personAnswer
		spent := s.refresh
		t, err := p.ask("POST", "/api/v1/refresh", "", map[string]any{"refresh": spent}, &a)
		if says(err, 401) || says(err, 403) {
			p.w.count("sessions ended", 1)
			if err := p.dev.disk.write(func(r *rows) {
				if r.session != nil && r.session.refresh == spent {
					r.session.ended = true
				}
			}); err != nil {
				return err
			}
			return errNotEntered
		}
		if err != nil {
			return err
		}
		*token = a.Access
		return errors.Join(p.dev.disk.write(func(r *rows) {
			if r.session != nil && r.session.refresh == spent {
				r.session.access, r.session.refresh, r.session.expiresMS, r.session.roles = a.Access, a.Refresh, a.ExpiresMS, a.Roles
			}
		}), p.heard(serverID, a.TimeMS, t))
	})
}

type personAnswer struct {
	Server, Device, Person string
	Roles                  []held
	Access, Refresh        string
	ExpiresMS              int64 `json:"access_expires_ms"`
	TimeMS                 int64 `json:"time_ms"`
}

// enter enters a person by a code that somebody at the machine has just made. Under a live session the device keeps its id.
func (p *page) enter() error {
	if !p.w.house.up || p.dev.offline {
		return errNoAnswer
	}
	code, err := p.w.newCode(p.dev.person)
	if err != nil {
		return err
	}
	return p.enterBy(code)
}

func (p *page) enterBy(code string) error {
	token := ""
	if s := p.dev.disk.rows.session; s != nil && !s.ended {
		token = s.access
	}
	var a personAnswer
	t, err := p.ask("POST", "/api/v1/enrol", token, map[string]any{"code": code, "device_name": "Tablet " + p.dev.name}, &a)
	if err != nil {
		return err
	}
	if err := p.dev.disk.write(func(r *rows) {
		r.session = &session{device: a.Device, person: a.Person, access: a.Access, refresh: a.Refresh, expiresMS: a.ExpiresMS, roles: a.Roles}
	}); err != nil {
		return err
	}
	return p.heard(a.Server, a.TimeMS, t)
}

// heard notes the server's clock.
func (p *page) heard(server string, serverMS int64, t trip) error {
	if server != serverID {
		p.w.must(fmt.Errorf("server %q answers, not %q", server, serverID))
	}
	p.answered = p.w.now()
	off := serverMS - (t.sent+t.received)/2
	return p.dev.disk.write(func(r *rows) { r.offMS = &off })
}

// turns of sending and fetching in a round, while the server turns out to have lost something.
const turns = 3

// round sends and fetches. quiet: nothing of the record changed, here or there.
func (p *page) round() (quiet bool, err error) {
	before := len(p.dev.disk.rows.order)
	if p.w.now()-p.answered > minute {
		var me personAnswer
		err := p.with(func(token string) error {
			t, err := p.ask("GET", "/api/v1/me", token, nil, &me)
			if err != nil {
				return err
			}
			return p.heard(me.Server, me.TimeMS, t)
		})
		if err != nil {
			return false, err
		}
		if err := p.dev.disk.write(func(r *rows) {
			if r.session != nil && r.session.person == me.Person {
				r.session.roles = me.Roles
			}
		}); err != nil {
			return false, err
		}
	}
	quiet = true
	for turn, again := 0, true; again && turn < turns; turn++ {
		taken, err := p.pushAll()
		if err != nil {
			return false, err
		}
		lost, err := p.pullAll()
		if err != nil {
			return false, err
		}
		recalled, err := p.recall()
		if err != nil {
			return false, err
		}
		again = lost > 0 || recalled > 0
		quiet = quiet && taken == 0 && !again
	}
	if p.dev.tidies {
		if err := p.tidy(); err != nil {
			return false, err
		}
	}
	return quiet && len(p.dev.disk.rows.order) == before && len(p.dev.disk.rows.outbox) == 0, nil
}

// tidy drops jobs of which all that the cursor covers is in a backup, right after the server has continued the cursor.
func (p *page) tidy() error {
	for _, job := range p.dev.disk.rows.jobs() {
		r := p.dev.disk.rows
		c := r.cursors[job]
		if job == record.ShopJob || c.N == 0 || c.N > c.backedUp && p.w.keeps(tidiesWhatIsBacked) || slices.ContainsFunc(r.outbox, func(w waiting) bool { return w.job == job }) || p.dev.random.IntN(3) > 0 {
			continue
		}
		var gone []record.ID
		if err := p.dev.disk.write(func(r *rows) { gone = r.drop(job) }); err != nil {
			return err
		}
		for _, id := range gone {
			delete(p.dev.disk.book, id)
		}
		p.w.tidiedAway(gone)
		p.w.count("jobs tidied away", 1)
		p.w.trace("%s tidies %s: %d entries at %d, backed up through %d", p.dev.name, job, len(gone), c.N, c.backedUp)
	}
	return nil
}

// open makes a tidied job be fetched again from its beginning.
func (p *page) open(job string) error {
	if !p.dev.disk.rows.tidied[job] {
		return nil
	}
	if err := p.dev.disk.write(func(r *rows) {
		r.forgetCursor(job)
	}); err != nil {
		return err
	}
	return errTidied
}
