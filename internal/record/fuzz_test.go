package record_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"testing"

	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
)

// FuzzDecode: no bytes make it panic; what is accepted is accepted again under the same id, with the same parents, joins a job and is folded; what is refused says that it is malformed or too large.
func FuzzDecode(f *testing.F) {
	for seed := range uint64(3) {
		for _, e := range Generate(f, seed, 60, Options{}).Entries {
			f.Add(e.Bytes)
			f.Add(bytes.Replace(e.Bytes, []byte(`"v":1`), []byte(`"v":2,"later":[{"x":null}]`), 1))
		}
	}
	f.Add([]byte(`{"v":2,"job":"job-1","parents":[],"by":"","kind":"`))
	f.Fuzz(func(t *testing.T, b []byte) {
		e, err := record.Decode(b)
		if err != nil {
			if !errors.Is(err, record.ErrMalformed) && !errors.Is(err, record.ErrTooLarge) {
				t.Errorf("%q: %v is neither malformed nor too large", b, err)
			}
			return
		}
		again, err := record.Decode(e.Bytes)
		if err != nil || again.ID != e.ID || e.ID != record.Sum(b) || !bytes.Equal(e.Bytes, b) {
			t.Fatalf("%q: read again: %v", b, err)
		}
		if (e.Body == nil) != (e.Unread != "") || record.CheckName(e.Job) != nil || len(e.Parents) > record.MaxParents {
			t.Fatalf("%q: body %v, unread %q, job %q, %d parents", b, e.Body, e.Unread, e.Job, len(e.Parents))
		}
		j := record.NewJob(e.Job)
		if _, err := j.Add(e); err != nil {
			t.Fatal(err)
		}
		for _, p := range e.Parents {
			j.Withhold(p)
		}
		if !j.Has(e.ID) {
			t.Fatalf("%q does not join when its parents are withheld", b)
		}
		ViewOf(j, noOverlay).Sheet.JSON()
	})
}

// FuzzReadBody: no page can make it panic; a body that is accepted can be written as an entry.
func FuzzReadBody(f *testing.F) {
	for _, e := range Generate(f, 5, 100, Options{}).Entries {
		b, err := json.Marshal(e.Body)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(e.Kind, b)
	}
	f.Add("fact", []byte("null"))
	f.Fuzz(func(t *testing.T, kind string, b []byte) {
		body, err := record.ReadBody(kind, b)
		if err != nil {
			return
		}
		e, err := record.Make(record.Draft{Job: "job-1", By: "p1", Device: "a", Body: body})
		switch {
		case errors.Is(err, record.ErrTooLarge):
		case err != nil:
			t.Errorf("%s %s: %v", kind, b, err)
		case e.Kind != kind:
			t.Errorf("%s came back as %s", kind, e.Kind)
		}
	})
}

// BenchmarkLargeSpindle folds and judges an orderly job: ten parts with ten seats each, all measured, one reading of each part struck by the inspector who decides.
func BenchmarkLargeSpindle(b *testing.B) {
	a := NewBench(b, "job-1").Tablet("a")
	for p := range 10 {
		part := fmt.Sprint("part-", p)
		a.Part(P1, part, spindle.Shaft)
		for f := range 10 {
			feature := fmt.Sprint("F", p, f)
			a.Specify(P3, Seat(feature, part, spindle.Outside, 70, "k4"))
			ids := a.MeasureSeat(P1, Comparator("g1", 0.5, 70), feature, 4, 5, 4.5, 5, 6, 5)
			a.MeasureSeat(P2, Comparator("g2", 0.5, 70), feature, 4, 5, 4.5, 5, 6, 5)
			if f == 0 {
				a.Strike(P3, ids[0], "dirt")
			}
		}
		a.Decide(P3, part, record.OutcomeReuse)
	}
	for b.Loop() {
		if v := a.Look(); !v.Part("part-9").Cleared() {
			b.Fatal(v.Words("part-9"))
		}
	}
	b.ReportMetric(float64(a.Job.Len()), "entries")
}

// BenchmarkJob takes entries in from their bytes, folds and sets out one job.
func BenchmarkJob(b *testing.B) {
	for _, size := range []struct {
		name string
		n    int
	}{{"1e3", 1000}, {"2e3", 2000}, {"1e4", 10_000}} {
		h := Generate(b, 1, size.n, Options{})
		b.Run("decode+add "+size.name, func(b *testing.B) {
			for b.Loop() {
				j := record.NewJob("job-1")
				for _, old := range h.Entries {
					e, err := record.Decode(old.Bytes)
					if err != nil {
						b.Fatal(err)
					}
					if _, err := j.Add(e); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
		b.Run("fold "+size.name, func(b *testing.B) {
			j := h.Union()
			for b.Loop() {
				record.Fold(j)
			}
		})
		b.Run("fold+judge+sheet "+size.name, func(b *testing.B) {
			j := h.Union()
			for b.Loop() {
				ViewOf(j, noOverlay)
			}
		})
	}
}
