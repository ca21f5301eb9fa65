// Package recordtest helps to test the record and what is computed from it: people and tablets that write, fork and meet; generated histories of a bad week in a shop; and a second, slow fold that is written from
// the rules alone, to hold the fast one against.
//
// Chance and clocks are handed in: the same seed gives the same entries, byte for byte, on every machine.
package recordtest

import (
	"encoding/binary"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// Person is somebody with a role, as it goes into an entry.
type Person struct {
	ID   string
	Role spindle.Role
	// NoGrant leaves the grant out: what the person writes has no effect.
	NoGrant bool
}

// The people of the scripts.
var (
	P1      = Person{ID: "p1", Role: spindle.Technician}
	P2      = Person{ID: "p2", Role: spindle.Technician}
	P3      = Person{ID: "p3", Role: spindle.Inspector}
	P4      = Person{ID: "p4", Role: spindle.Inspector}
	P5      = Person{ID: "p5", Role: spindle.Assembler}
	Quality = Person{ID: "q1", Role: spindle.Quality}
	Office  = Person{ID: "o1", Role: spindle.Office}
	Server  = Person{ID: "server", Role: spindle.Machine}
)

// Start is when the scripts begin, in milliseconds since 1970 UTC.
const Start = 1_795_000_000_000

// Bench is one job with everybody who writes in it. The salts are counted, so that a script repeats itself.
type Bench struct {
	tb   testing.TB
	job  string
	salt uint64
	// Entries are all that were written, in the order of writing.
	Entries []*record.Entry
}

// NewBench returns a job in which nothing is written yet.
func NewBench(tb testing.TB, job string) *Bench { return &Bench{tb: tb, job: job} }

// Tablet is one device: a replica of the job, and what its screen shows.
type Tablet struct {
	*Bench
	Name string
	Job  *record.Job
	// WallMS is the device's clock, OffMS what it believes it must add, nil where it never learnt that.
	WallMS int64
	OffMS  *int64
	frozen []record.ID
}

// Tablet returns a new device that holds nothing.
func (b *Bench) Tablet(name string) *Tablet {
	off := int64(0)
	return &Tablet{Bench: b, Name: name, Job: record.NewJob(b.job), WallMS: Start, OffMS: &off}
}

// Clone copies the device, as a restored backup of it would: same name, same replica.
func (t *Tablet) Clone() *Tablet {
	c := *t
	c.Job = record.NewJob(t.job)
	c.take(t)
	return &c
}

// Freeze keeps what the screen shows now as the parents of what is written next, as a screen does on which somebody is deciding.
func (t *Tablet) Freeze() { t.frozen = t.Job.Heads() }

// Write makes an entry on what the screen shows, or what it showed at the last Freeze.
func (t *Tablet) Write(by Person, body record.Body) record.ID {
	t.tb.Helper()
	parents := t.Job.Heads()
	if t.frozen != nil {
		parents, t.frozen = t.frozen, nil
	}
	return t.WriteOn(parents, by, body)
}

// WriteOn makes an entry on the parents given.
func (t *Tablet) WriteOn(parents []record.ID, by Person, body record.Body) record.ID {
	t.tb.Helper()
	t.WallMS += 60_000
	t.salt++
	d := record.Draft{Job: t.job, Parents: parents, By: by.ID, As: by.Role, Device: t.Name, WallMS: t.WallMS, OffMS: t.OffMS, Body: body}
	if !by.NoGrant && by.Role != spindle.Machine {
		d.Grant = record.Sum([]byte("grant of " + by.ID + " as " + string(by.Role)))
	}
	binary.BigEndian.PutUint64(d.Salt[8:], t.salt)
	e, err := record.Make(d)
	if err != nil {
		t.tb.Fatalf("%s by %s on %s: %v", body.Kind(), by.ID, t.Name, err)
	}
	t.Take(e)
	t.Entries = append(t.Entries, e)
	return e.ID
}

// Take takes entries in, in the order given.
func (t *Tablet) Take(entries ...*record.Entry) {
	t.tb.Helper()
	if _, err := t.Job.AddAll(entries); err != nil {
		t.tb.Fatal(err)
	}
}

func (t *Tablet) take(from *Tablet) {
	t.tb.Helper()
	for _, id := range from.Job.IDs() {
		t.Take(from.Job.Get(id))
	}
}

// Meet makes all these devices hold what any of them had.
func Meet(tablets ...*Tablet) {
	first := tablets[0]
	for _, t := range tablets[1:] {
		first.take(t)
	}
	for _, t := range tablets[1:] {
		t.take(first)
	}
}

// Um is a length in micrometres, Mm in millimetres; both rounded to a picometre.
func Um(v float64) length.Length { return scaled(v, 1e6) }

// Mm is a length in millimetres.
func Mm(v float64) length.Length { return scaled(v, 1e9) }

func scaled(v, by float64) length.Length {
	if v < 0 {
		return -length.Length(-v*by + 0.5)
	}
	return length.Length(v*by + 0.5)
}

// Ptr points to a copy.
func Ptr[T any](v T) *T { return &v }
