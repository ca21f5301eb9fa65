package jobfile_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/hold"
	"runtrue/internal/jobfile"
	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/sheet"
	"runtrue/internal/spindle"
)

// shop writes a job as several people would, each entry after all that stand already.
type shop struct {
	t    *rapid.T
	job  *record.Job
	salt uint64
}

func (s *shop) write(by string, as spindle.Role, body record.Body) record.ID {
	s.t.Helper()
	s.salt++
	d := record.Draft{Job: s.job.Name, Parents: s.job.Heads(), By: by, As: as, Grant: record.ID{1}, Device: "tablet-1", WallMS: 1_790_000_000_000 + int64(s.salt)*60_000, Body: body}
	binary.BigEndian.PutUint64(d.Salt[8:], s.salt)
	e, err := record.Make(d)
	if err != nil {
		s.t.Fatalf("%s: %v", body.Kind(), err)
	}
	if _, err := s.job.Add(e); err != nil {
		s.t.Fatal(err)
	}
	return e.ID
}

func um(v float64) length.Length { return length.Length(v*1e6 + 0.5) }

func ptr[T any](v T) *T { return &v }

var (
	technicians = []string{"ana", "bo"}
	angles      = []int64{0, 60_000, 120_000}
	round       = []int64{0, 45_000, 90_000, 135_000, 180_000, 225_000, 270_000, 315_000}
)

// specifications are one of each sort of feature.
func specifications(t *rapid.T) []spindle.Specification {
	plan := spindle.Plan{Planes: []spindle.Plane{{Name: "1", Z: 10 * length.Millimetre}, {Name: "2", Z: 30 * length.Millimetre}}, Angles: angles, SweepAngles: round}
	one := spindle.Plan{Planes: []spindle.Plane{{Name: "1"}}, Angles: round, Radius: 40 * length.Millimetre}
	source := rapid.SampledFrom([]spindle.Source{spindle.FromDrawing, spindle.FromDrawing, spindle.FromShop, spindle.FromProposal}).Draw(t, "source")
	accepted := ""
	if source == spindle.FromProposal && rapid.Bool().Draw(t, "accepted") {
		accepted = "cleo"
	}
	force := func(v int64) *spindle.Quantity { return &spindle.Quantity{Value: v, Exp10: -1, Unit: "kN"} }
	return []spindle.Specification{
		{Feature: "J1", Component: "shaft", Name: "front bearing journal", Geometry: spindle.Outside, Nominal: 70 * length.Millimetre, Source: source, AcceptedBy: accepted, Plan: plan,
			Characteristics: []spindle.Characteristic{{Name: spindle.Size, Class: "k4", Required: true}, {Name: spindle.SizeVariation, Max: ptr(um(3)), Required: rapid.Bool().Draw(t, "variation required")},
				{Name: spindle.CircularRunOut, Max: ptr(um(3)), Required: true, Datum: []string{"J2", "centres"}}, {Name: spindle.Roundness, Max: ptr(um(2)), Required: true}},
			Rework: spindle.ReworkAllowance{MaxOff: um(20), BuildUp: rapid.Bool().Draw(t, "build up")}},
		{Feature: "J2", Component: "shaft", Geometry: spindle.Outside, Nominal: 65 * length.Millimetre, Source: spindle.FromDrawing, Reference: "T-2041", Plan: plan,
			Characteristics: []spindle.Characteristic{{Name: spindle.Size, Lower: ptr(-um(3)), Upper: ptr(um(4)), Required: true, Rule: "simple"}}},
		{Feature: "B1", Component: "housing", Name: "front bore", Geometry: spindle.Inside, Nominal: 110 * length.Millimetre, Source: spindle.FromDrawing, Plan: plan, MaterialAlpha: 10_600,
			Characteristics: []spindle.Characteristic{{Name: spindle.Size, Class: "JS5", Required: true}}, Rework: spindle.ReworkAllowance{MaxOff: um(15)}},
		{Feature: "P1", Component: "spacer", Geometry: spindle.Thickness, Nominal: 25 * length.Millimetre, Source: spindle.FromShop, Plan: one,
			Characteristics: []spindle.Characteristic{{Name: spindle.Size, Lower: ptr(-um(20)), Upper: ptr(um(20)), Required: true}, {Name: spindle.Parallelism, Max: ptr(um(3)), Required: true}}},
		{Feature: "D1", Component: "drawbar", Geometry: spindle.QuantityPoint, Source: spindle.FromDrawing,
			Characteristics: []spindle.Characteristic{{Name: spindle.QuantityChar, LowerQ: force(180), UpperQ: force(220), Required: true}}, Plan: spindle.Plan{MinN: 3}},
		{Feature: "A1", Component: "drawbar", Geometry: spindle.Attribute, Source: spindle.FromShop, Characteristics: []spindle.Characteristic{{Name: spindle.AttributeChar, Ask: "Free of cracks?", Required: true}}},
	}
}

// build writes a job by chance: set-ups, readings with repeats and clashes, strikes, a rework, corrections, concessions, damage, decisions.
func build(t *rapid.T) *record.Job {
	s := &shop{t: t, job: record.NewJob("job-1")}
	s.write("gus", spindle.Office, &record.Fact{Subject: "job", Field: "customer", Value: `Häberl & Söhne <"Werk 2">`})
	for _, c := range []struct {
		id  string
		typ spindle.ComponentType
	}{{"shaft", spindle.Shaft}, {"housing", spindle.Housing}, {"spacer", spindle.Spacer}, {"drawbar", spindle.Drawbar}, {"bearing", spindle.Bearing}, {"cover", spindle.Cover}} {
		s.write("bo", spindle.Technician, &record.Component{TemplateID: c.id, Component: spindle.Component{Type: c.typ, Name: "the " + c.id, Place: "front", Origin: spindle.Removed,
			RunBefore: rapid.Bool().Draw(t, "run before"), Serial: rapid.SampledFrom([]string{"", "=1+1", "-7"}).Draw(t, "serial")}})
	}
	for _, spec := range specifications(t) {
		s.write("cleo", spindle.Inspector, &record.Specification{Specification: spec})
	}
	s.readings("first")
	if rapid.Bool().Draw(t, "rework") {
		s.write("bo", spindle.Technician, &record.Rework{Component: "shaft", Features: []string{"J1"}, State: record.ReworkDone, Operation: "ground"})
		s.readings("second")
	}
	if rapid.Bool().Draw(t, "concession") {
		s.write("cleo", spindle.Inspector, &record.Concession{Component: "shaft", Feature: "J1", Characteristic: spindle.Size, Lower: ptr(um(-1)), Authority: "customer", Person: "H. Vane", Reference: "ref. 4711"})
	}
	if rapid.Bool().Draw(t, "damage") {
		s.write("ana", spindle.Technician, &record.Finding{Subject: "J1", Severity: "damage", Text: "fretting under the ring; pitted", Signs: []string{"fretting"}})
	}
	if rapid.Bool().Draw(t, "decision") {
		s.write("cleo", spindle.Inspector, &record.Decision{Subject: "shaft", Outcome: "reuse", Reason: "as measured", Engine: record.Engine})
	}
	return s.job
}

// readings writes one campaign: a set-up to a master and an indicator for each technician.
func (s *shop) readings(name string) {
	t := s.t
	kelvin := func(label string) *int64 {
		if rapid.Bool().Draw(t, label+" measured") {
			return ptr(rapid.Int64Range(18_000, 26_000).Draw(t, label+" m°C"))
		}
		return nil
	}
	for _, by := range technicians[:rapid.IntRange(1, 2).Draw(t, name+" people")] {
		gauge := spindle.Gauge{ID: "cmp-" + by, Type: "two-point comparator", Resolution: um(0.1), UCal: um(rapid.SampledFrom([]float64{0.1, 0.4, 1.2}).Draw(t, "u_cal")), BlindTo: []string{"odd lobes"}}
		if rapid.Bool().Draw(t, "studied") {
			gauge.SPooled, gauge.Nu = um(0.2), 20
		}
		if rapid.IntRange(0, 5).Draw(t, "overdue") == 0 {
			gauge.Due = 1_000
		}
		setup := spindle.Setup{Gauge: gauge, Mode: spindle.ModeMaster, Master: &spindle.Master{ID: "r70", Certified: 70*length.Millimetre + um(0.3), U: um(0.2), Alpha: 11_000},
			TPart: kelvin("t_part"), TMaster: kelvin("t_master"), Soaked: rapid.Bool().Draw(t, "soaked")}
		id := s.write(by, spindle.Technician, &record.Setup{Setup: setup})
		zero := func(plane string, v float64) {
			s.write(by, spindle.Technician, &record.Reading{Reading: spindle.Reading{Setup: id.String(), Feature: spindle.MasterFeature, Characteristic: spindle.ZeroCheck, Plane: plane, Typed: "0", Unit: "µm", Means: spindle.MeansIndicator,
				Value: ptr(um(v)), Purpose: spindle.ForInspection}})
		}
		zero(spindle.ZeroBefore, 0)
		s.lengths(by, id, "J1", spindle.Size, angles, spindle.MeansFromMaster, 2, 9)
		s.lengths(by, id, "J2", spindle.Size, angles, spindle.MeansFromNominal, -3, 4)
		s.lengths(by, id, "B1", spindle.Size, angles, spindle.MeansFromNominal, -9, 9)
		s.lengths(by, id, "P1", spindle.Size, round, spindle.MeansSize, 24_998, 25_002)
		if rapid.Bool().Draw(t, "closing check") {
			zero(spindle.ZeroAfter, rapid.SampledFrom([]float64{0, 0.3, 1.5}).Draw(t, "drift µm"))
		}
		lever := s.write(by, spindle.Technician, &record.Setup{Setup: spindle.Setup{Gauge: spindle.Gauge{ID: "lev", UCal: um(0.3)}, Mode: spindle.ModeIndicator, Support: "on V-blocks"}})
		s.lengths(by, lever, "J1", spindle.CircularRunOut, round, spindle.MeansIndicator, -2, 2)
		for range rapid.IntRange(0, 3).Draw(t, "strokes") {
			q := &spindle.Quantity{Value: rapid.Int64Range(170, 230).Draw(t, "kN/10"), Exp10: -1, Unit: "kN"}
			s.write(by, spindle.Technician, &record.Reading{Reading: spindle.Reading{Setup: lever.String(), Feature: "D1", Characteristic: spindle.QuantityChar, Typed: "?", Unit: "kN", Means: spindle.MeansQuantity, Quantity: q, Purpose: spindle.ForInspection}})
		}
		if rapid.Bool().Draw(t, "looked") {
			s.write(by, spindle.Technician, &record.Reading{Reading: spindle.Reading{Feature: "A1", Characteristic: spindle.AttributeChar, Typed: "yes", Means: spindle.MeansYesNo, Yes: ptr(rapid.IntRange(0, 3).Draw(t, "good") > 0), Purpose: spindle.ForInspection}})
		}
		if rapid.Bool().Draw(t, "correction") {
			setup.Master = ptr(*setup.Master)
			setup.Master.Certified += um(0.5)
			setup.Corrects = id.String()
			s.write(by, spindle.Technician, &record.Setup{Setup: setup})
		}
	}
}

// lengths reads most stations of a feature, some of them twice, and strikes a reading now and then.
func (s *shop) lengths(by string, setup record.ID, feature, characteristic string, at []int64, means spindle.Meaning, low, high float64) {
	t := s.t
	planes := []string{"1", "2"}
	if feature == "P1" {
		planes = planes[:1]
	}
	if rapid.IntRange(0, 4).Draw(t, feature+" left out") == 0 {
		return
	}
	// Tidy readings lie close together and are complete, so that features conform, fail or cannot be told; wild ones clash and miss stations.
	tidy := rapid.IntRange(0, 3).Draw(t, feature+" tidy") > 0
	centre := rapid.Int64Range(int64(low*10), int64(high*10)).Draw(t, feature+" centre µm/10")
	for _, plane := range planes {
		for _, angle := range at {
			times := 1
			if !tidy {
				times = rapid.SampledFrom([]int{1, 1, 2, 3, 0}).Draw(t, "repeats")
			}
			for k := range times {
				tenths := centre + rapid.Int64Range(-2, 2).Draw(t, "µm/10 from centre")
				if !tidy {
					tenths = rapid.Int64Range(int64(low*10), int64(high*10)).Draw(t, feature+" µm/10")
				}
				v := length.Length(tenths) * length.Micrometre / 10
				r := spindle.Reading{Setup: setup.String(), Feature: feature, Characteristic: characteristic, Plane: plane, Angle: angle, Typed: "?", Unit: "µm", Means: means, Value: &v, Purpose: spindle.ForInspection}
				if rapid.Bool().Draw(t, "counted") {
					r.Repeat = k // otherwise two readings have the same number, as from two tablets
				}
				id := s.write(by, spindle.Technician, &record.Reading{Reading: r})
				if rapid.IntRange(0, 40).Draw(t, "strike") == 0 {
					s.write("cleo", spindle.Inspector, &record.Strike{Target: id, Reason: "dirt"})
				}
			}
		}
	}
	if characteristic == spindle.CircularRunOut && rapid.Bool().Draw(t, "sweep closed") {
		s.write(by, spindle.Technician, &record.Reading{Reading: spindle.Reading{Setup: setup.String(), Feature: feature, Characteristic: characteristic, Plane: "1", Closing: true, Typed: "?", Unit: "µm", Means: means,
			Value: ptr(um(0.2)), Purpose: spindle.ForInspection}})
	}
}

func TestAJobHandedOnSaysTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := sheet.Build(build(t), hold.Overlay{})
		f, err := jobfile.FromSheet(s)
		if err != nil {
			t.Fatal(err)
		}
		text := f.JSON()
		again, err := jobfile.Read("job-1.json", text)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if want, got := jobfile.ResultOf(s).JSON(), again.Assess().JSON(); !bytes.Equal(want, got) {
			t.Fatalf("the record says\n%s\nand the job file\n%s", want, got)
		}
		if twice := again.JSON(); !bytes.Equal(text, twice) {
			t.Fatalf("read and written again it differs:\n%s\n%s", text, twice)
		}
	})
}

// A zero that moved and was set again: all checks go into the file, not the last pair alone.
func TestARowOfZeroChecksIsHandedOn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := &shop{t: t, job: record.NewJob("job-2")}
		s.write("bo", spindle.Technician, &record.Component{TemplateID: "shaft", Component: spindle.Component{Type: spindle.Shaft, Name: "shaft", Origin: spindle.Removed}})
		s.write("cleo", spindle.Inspector, &record.Specification{Specification: spindle.Specification{Feature: "J1", Component: "shaft", Geometry: spindle.Outside, Nominal: 70 * length.Millimetre, Source: spindle.FromDrawing,
			Characteristics: []spindle.Characteristic{{Name: spindle.Size, Class: "k4", Required: true}}}})
		id := s.write("bo", spindle.Technician, &record.Setup{Setup: spindle.Setup{Gauge: spindle.Gauge{ID: "g", UCal: um(0.3)}, Mode: spindle.ModeMaster, Master: &spindle.Master{ID: "m", Certified: 70 * length.Millimetre}}})
		for i, v := range []float64{0, rapid.Float64Range(1, 3).Draw(t, "drift µm"), 0, 0} {
			s.write("bo", spindle.Technician, &record.Reading{Reading: spindle.Reading{Setup: id.String(), Feature: spindle.MasterFeature, Characteristic: spindle.ZeroCheck, Plane: []string{spindle.ZeroBefore, spindle.ZeroAfter}[i%2],
				Typed: fmt.Sprint(v), Unit: "µm", Means: spindle.MeansIndicator, Value: ptr(um(v)), Purpose: spindle.ForInspection}})
		}
		s.write("bo", spindle.Technician, &record.Reading{Reading: spindle.Reading{Setup: id.String(), Feature: "J1", Characteristic: spindle.Size, Typed: "6", Unit: "µm", Means: spindle.MeansFromMaster, Value: ptr(um(6)), Purpose: spindle.ForInspection}})
		f, err := jobfile.FromSheet(sheet.Build(s.job, hold.Overlay{}))
		if err != nil || len(f.Setups) != 1 || len(f.Setups[0].Checks) != 4 {
			t.Fatalf("%+v, %v; want one set-up with four checks", f, err)
		}
	})
}
