// Package demo writes an invented shop with three invented spindles, entry by entry, as its people would have written them on their tablets: with forks, conflicts and late readings.
//
// Everything is made by the same code that real devices use, so the demonstration proves the record as it shows it. The result depends only on the time handed in and on the grants' ids;
// the salts are counted, not random, so that two runs at the same time give the same entries.
package demo

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"

	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// Names of the invented people. Each has the role that the name of the constant says.
const (
	Technician      = "ana"
	OtherTechnician = "bo"
	Inspector       = "cleo"
	OtherInspector  = "dov"
	Assembler       = "eli"
	Quality         = "fay"
	Office          = "gus"
)

var people = []struct {
	id, name string
	role     spindle.Role
}{
	{Technician, "Ana", spindle.Technician},
	{OtherTechnician, "Bo", spindle.Technician},
	{Inspector, "Cleo", spindle.Inspector},
	{OtherInspector, "Dov", spindle.Inspector},
	{Assembler, "Eli", spindle.Assembler},
	{Quality, "Fay", spindle.Quality},
	{Office, "Gus", spindle.Office},
	{Office, "Gus", spindle.Admin},
}

// Shop returns every entry of the invented shop: its own record first, then the jobs. Parents stand before children.
func Shop(nowMS int64) ([]*record.Entry, error) {
	w := &writer{nowMS: nowMS, grants: map[grantKey]record.ID{}}
	w.shop()
	w.belt()
	w.motor()
	w.grinding()
	return w.all, w.err
}

type grantKey struct {
	person string
	role   spindle.Role
}

// writer writes entries; after the first error it writes no more.
type writer struct {
	nowMS  int64
	count  uint64
	grants map[grantKey]record.ID
	all    []*record.Entry
	err    error
}

// tablet is one device with its own replica of a job: what it writes has as parents what it had seen.
type tablet struct {
	w    *writer
	name string
	job  *record.Job
	ms   int64 // its clock
}

func (w *writer) tablet(name, job string, hoursAgo int64) *tablet {
	return &tablet{w: w, name: name, job: record.NewJob(job), ms: w.nowMS - hoursAgo*3_600_000}
}

// write makes an entry on the tablet, one minute after its last.
func (t *tablet) write(by string, as spindle.Role, body record.Body) record.ID {
	w := t.w
	if w.err != nil {
		return record.ID{}
	}
	t.ms += 60_000
	w.count++
	off := int64(0)
	d := record.Draft{Job: t.job.Name, Parents: t.job.Heads(), By: by, As: as, Grant: w.grants[grantKey{by, as}], Device: t.name, WallMS: t.ms, OffMS: &off, Body: body}
	binary.BigEndian.PutUint64(d.Salt[8:], w.count)
	e, err := record.Make(d)
	if err != nil {
		w.err = fmt.Errorf("demo: %s by %s in %s: %w", body.Kind(), by, t.job.Name, err)
		return record.ID{}
	}
	if _, err := t.job.Add(e); err != nil {
		w.err = err
	}
	w.all = append(w.all, e)
	return e.ID
}

// meet makes both tablets hold what either had, as after a contact with the server.
func (t *tablet) meet(other *tablet) {
	for _, pair := range [][2]*tablet{{t, other}, {other, t}} {
		for _, id := range pair[0].job.IDs() {
			if _, err := pair[1].job.Add(pair[0].job.Get(id)); err != nil && t.w.err == nil {
				t.w.err = err
			}
		}
	}
	t.ms = max(t.ms, other.ms)
	other.ms = t.ms
}

func (t *tablet) facts(by string, as spindle.Role, subject string, pairs ...string) {
	for i := 0; i+1 < len(pairs); i += 2 {
		t.write(by, as, &record.Fact{Subject: subject, Field: pairs[i], Value: pairs[i+1]})
	}
}

func um(v float64) length.Length { return length.Length(math.Round(v * float64(length.Micrometre))) }
func mm(v float64) length.Length { return length.Length(math.Round(v * float64(length.Millimetre))) }
func ptr[T any](v T) *T          { return &v }

// shop writes people, grants, gauges, masters and settings.
func (w *writer) shop() {
	t := w.tablet("server", record.ShopJob, 24*90)
	t.write("server", spindle.Machine, &record.Fact{Subject: record.ShopJob, Field: "name", Value: "Lindfell Spindle Shop"})
	for _, p := range people {
		t.write("server", spindle.Machine, &record.Fact{Subject: "person/" + p.id, Field: "name", Value: p.name})
		w.grants[grantKey{p.id, p.role}] = t.write("server", spindle.Machine, &record.Grant{Person: p.id, Role: p.role, From: t.ms})
	}
	card := func(subject string, v any) {
		b, err := json.Marshal(v)
		if err != nil {
			w.err = err
		}
		t.write(Office, spindle.Admin, &record.Fact{Subject: subject, Field: "card", Value: string(b)})
	}
	for _, g := range w.gauges() {
		card("gauge/"+g.ID, g)
	}
	for _, m := range masters {
		card("master/"+m.ID, m)
	}
	t.facts(Office, spindle.Admin, record.ShopJob, "fresh_limit_ms", "14400000")
}

func (w *writer) gauges() []spindle.Gauge {
	due := w.nowMS + 120*24*3_600_000
	return []spindle.Gauge{
		{ID: "cmp-04", Name: "comparator stand, two-point, 50–100", Type: "two-point comparator", Resolution: um(0.1), CalID: "K-2231", Due: due, UCal: um(0.4), SPooled: um(0.2), Nu: 24, BlindTo: []string{"odd lobes"}},
		{ID: "cmp-07", Name: "comparator snap gauge, 40–80", Type: "two-point comparator", Resolution: um(0.2), CalID: "K-2240", Due: due, UCal: um(0.45), SPooled: um(0.25), Nu: 18, BlindTo: []string{"odd lobes"}},
		{ID: "bor-02", Name: "bore gauge, two-point, 80–130", Type: "bore gauge, two-point", Resolution: um(0.5), CalID: "K-2198", Due: due, UCal: um(0.7), SPooled: um(0.4), Nu: 20, BlindTo: []string{"odd lobes"}},
		{ID: "lev-11", Name: "lever indicator 0.2 µm", Type: "lever indicator", Resolution: um(0.2), CalID: "K-2251", Due: due, UCal: um(0.3), SPooled: um(0.15), Nu: 30},
		{ID: "mic-21", Name: "micrometer 50–75", Type: "micrometer", Resolution: um(1), CalID: "K-2102", Due: due, UCal: um(2.3), SPooled: um(0.8), Nu: 15, BlindTo: []string{"odd lobes"}},
		{ID: "thk-03", Name: "thickness stand for spacers", Type: "comparator on a surface plate", Resolution: um(0.1), CalID: "K-2260", Due: due, UCal: um(0.3), SPooled: um(0.15), Nu: 22},
		{ID: "bor-05", Name: "bore gauge, two-point, 40–85", Type: "bore gauge, two-point", Resolution: um(0.2), CalID: "K-2199", Due: due, UCal: um(0.5), SPooled: um(0.3), Nu: 20, BlindTo: []string{"odd lobes"}},
		{ID: "cmp-01", Name: "comparator stand, two-point, 10–50", Type: "two-point comparator", Resolution: um(0.1), CalID: "K-2230", Due: due, UCal: um(0.3), SPooled: um(0.2), Nu: 24, BlindTo: []string{"odd lobes"}},
		{ID: "frc-01", Name: "drawbar force gauge 50 kN", Type: "force gauge", CalID: "K-2077", Due: due},
	}
}

var masters = []spindle.Master{
	{ID: "r70-a", Name: "setting ring 70", Certified: mm(70.0002), U: um(0.25)},
	{ID: "r65-a", Name: "setting disc 65", Certified: mm(64.9998), U: um(0.25)},
	{ID: "r45-a", Name: "setting disc 45", Certified: mm(45.0001), U: um(0.2)},
	{ID: "r110-b", Name: "setting ring 110", Certified: mm(110.0004), U: um(0.35)},
	{ID: "r100-b", Name: "setting ring 100", Certified: mm(99.9997), U: um(0.35)},
	{ID: "r75-b", Name: "setting ring 75", Certified: mm(75.0003), U: um(0.3)},
	{ID: "r42-b", Name: "setting ring 42", Certified: mm(42.0001), U: um(0.25)},
	{ID: "r25-a", Name: "setting disc 25", Certified: mm(24.9999), U: um(0.2)},
	{ID: "b8", Name: "gauge block 8", Certified: mm(8), U: um(0.05)},
	{ID: "b25", Name: "gauge block 25", Certified: mm(25), U: um(0.06)},
}

func (w *writer) gauge(id string) spindle.Gauge {
	for _, g := range w.gauges() {
		if g.ID == id {
			return g
		}
	}
	w.err = fmt.Errorf("demo: no gauge %s", id)
	return spindle.Gauge{}
}

func master(id string) *spindle.Master {
	for _, m := range masters {
		if m.ID == id {
			return &m
		}
	}
	return nil
}
