package syncsim

import (
	"encoding/binary"
	"fmt"
	"slices"

	"runtrue/internal/record"
	"runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
)

// stationAngles are those of the plan of recordtest.Seat, millidegrees.
var stationAngles = recordtest.Angles

// write saves one entry: typed, made by the engine on what the screen shows, stored with its place in the queue, and only then shown as saved.
func (p *page) write(job string, as spindle.Role, body record.Body) (record.ID, error) {
	d := p.dev.disk
	s := d.rows.session
	if s == nil {
		return record.ID{}, errNotEntered
	}
	j := p.replica(job)
	if p.screens[job] == nil || p.dev.random.IntN(4) > 0 {
		p.screens[job] = j.Heads()
	}
	draft := record.Draft{Job: job, Parents: p.screens[job], By: s.person, As: as, Device: s.device, WallMS: p.wall(), OffMS: d.rows.offMS, Body: body}
	if i := slices.IndexFunc(s.roles, func(h held) bool { return h.Role == as }); i >= 0 {
		draft.Grant = s.roles[i].Grant
	}
	for i := 0; i < len(draft.Salt); i += 8 {
		binary.BigEndian.PutUint64(draft.Salt[i:], p.dev.random.Uint64())
	}
	e, err := record.Make(draft)
	if err != nil {
		p.w.must(fmt.Errorf("%s makes a %s: %w", p.dev.name, body.Kind(), err))
	}
	p.w.made(e)
	if err := d.write(func(r *rows) {
		r.add(e)
		r.outbox = append(r.outbox, waiting{id: e.ID, job: job})
		r.saved++
	}); err != nil {
		return record.ID{}, err
	}
	d.book[e.ID] = true
	p.w.isSaved(e.ID)
	p.screens[job] = append(slices.DeleteFunc(slices.Clone(p.screens[job]), func(id record.ID) bool { return slices.Contains(e.Parents, id) }), e.ID)
	return e.ID, nil
}

// begin opens a new job: a shaft with one seat.
func (p *page) begin(job string) error {
	if _, err := p.write(job, spindle.Technician, &record.Component{TemplateID: "shaft", Component: spindle.Component{Type: spindle.Shaft, Name: "shaft", Origin: spindle.Removed}}); err != nil {
		return err
	}
	_, err := p.write(job, spindle.Technician, &record.Specification{Specification: recordtest.Seat("J1", "shaft", spindle.Outside, 70, "k4")})
	return err
}

// work is what a person does at one go on one of the jobs at hand.
func (p *page) work() error {
	random, s := p.dev.random, p.dev.disk.rows.session
	if s == nil {
		return nil
	}
	if s.person == admin {
		_, err := p.write(record.ShopJob, spindle.Admin, &record.Fact{Subject: "gauge/g1", Field: "place", Value: fmt.Sprint("drawer ", random.IntN(9))})
		return err
	}
	if random.IntN(50) == 0 {
		p.w.jobsBegun++
		return p.begin(fmt.Sprintf("job-%d", p.w.jobsBegun))
	}
	jobs := slices.DeleteFunc(p.dev.disk.rows.jobs(), func(job string) bool { return job == record.ShopJob })
	for job := range p.dev.disk.rows.tidied {
		if !slices.Contains(jobs, job) {
			jobs = append(jobs, job)
		}
	}
	if len(jobs) == 0 {
		return nil
	}
	slices.Sort(jobs)
	job := jobs[random.IntN(len(jobs))]
	if err := p.open(job); err != nil {
		return err
	}
	j := p.replica(job)
	if ids, _ := j.Waiting(); j.Len() == 0 || len(ids) > 0 {
		return nil // not all of it is here yet
	}
	return p.actOn(job, j)
}

func (p *page) actOn(job string, j *record.Job) error {
	random, role := p.dev.random, spindle.Technician
	if r := p.dev.disk.rows.session.roles; len(r) > 0 {
		role = r[random.IntN(len(r))].Role
	}
	one := func(body record.Body) error {
		_, err := p.write(job, role, body)
		return err
	}
	switch n := random.IntN(20); {
	case n < 7:
		return p.measure(job, role)
	case n < 11 && role == spindle.Inspector:
		return one(recordtest.Decision("shaft", []string{record.OutcomeReuse, record.OutcomeReuse, record.OutcomeHold}[random.IntN(3)]))
	case n < 13:
		if id, ok := drawEntry(p, j, "reading", "decision", "setup", "strike"); ok {
			return one(&record.Strike{Target: id, Reason: "slip"})
		}
		return nil
	case n < 14:
		return one(&record.Rework{Component: "shaft", Features: []string{"J1"}, State: record.ReworkDone, Operation: "grind"})
	case n < 15:
		if id, ok := drawEntry(p, j, "objection"); ok {
			return one(&record.Settle{About: []record.ID{id}, How: record.HowLift, Text: "looked into it"})
		}
		return nil
	case n < 16:
		return one(&record.Finding{Subject: "shaft", Signs: []string{"fretting"}, Severity: "note"})
	}
	return one(&record.Fact{Subject: "job", Field: "stage", Value: fmt.Sprint("stage ", random.IntN(5))})
}

// measure is a set-up with its zero, some readings, and mostly the closing zero.
func (p *page) measure(job string, role spindle.Role) error {
	random := p.dev.random
	setup, err := p.write(job, role, &record.Setup{Setup: recordtest.Comparator("g1", 0.5, 70)})
	if err != nil {
		return err
	}
	read := func(feature, characteristic, plane string, angle int64, um float64, means spindle.Meaning) error {
		_, err := p.write(job, role, &record.Reading{Reading: spindle.Reading{Setup: setup.String(), Feature: feature, Characteristic: characteristic, Plane: plane, Angle: angle,
			Typed: fmt.Sprint(um), Unit: "µm", Means: means, Value: recordtest.Ptr(recordtest.Um(um)), Purpose: spindle.ForInspection}})
		return err
	}
	if err := read(spindle.MasterFeature, spindle.ZeroCheck, spindle.ZeroBefore, 0, 0, spindle.MeansIndicator); err != nil {
		return err
	}
	for range 1 + random.IntN(6) {
		if err := read("J1", spindle.Size, []string{"1", "2"}[random.IntN(2)], stationAngles[random.IntN(3)], 3+float64(random.IntN(12))/2, spindle.MeansFromMaster); err != nil {
			return err
		}
		p.pause(random.Int64N(minute))
	}
	if random.IntN(5) == 0 {
		return nil
	}
	return read(spindle.MasterFeature, spindle.ZeroCheck, spindle.ZeroAfter, 0, 0, spindle.MeansIndicator)
}

// drawEntry draws an entry of the kinds named that is on the device.
func drawEntry(p *page, j *record.Job, kinds ...string) (record.ID, bool) {
	var ids []record.ID
	for _, id := range p.dev.disk.rows.ids(j.Name) {
		if e := j.Get(id); e != nil && slices.Contains(kinds, e.Kind) {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return record.ID{}, false
	}
	return ids[p.dev.random.IntN(len(ids))], true
}
