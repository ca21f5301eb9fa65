package jobfile

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// samples are the invented jobs of the repository.
func samples(t testing.TB) map[string][]byte {
	t.Helper()
	paths, err := filepath.Glob("../../testdata/jobs/*.json")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no invented jobs found, %v", err)
	}
	out := map[string][]byte{}
	for _, p := range paths {
		if out[p], err = os.ReadFile(p); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// placed requires that every fault says in which file it is, and in which line unless it is of the whole file.
func placed(t *testing.T, err error) {
	t.Helper()
	var all *Errors
	if !errors.As(err, &all) || len(all.List) == 0 {
		t.Fatalf("an error without a list of faults: %v", err)
	}
	for _, e := range all.List {
		if e.File == "" || e.Line < 1 || e.Fact == "" || e.Err == nil {
			t.Fatalf("a fault without file, line, kind or fact: %+v", *e)
		}
	}
}

// FuzzRead: no input panics; every fault has a place; what is read is written so that it reads the same and says the same.
func FuzzRead(f *testing.F) {
	for _, text := range samples(f) {
		f.Add(text)
	}
	f.Add([]byte(small))
	f.Add([]byte(`{"runtrue_job":1,"components":[]}`))
	f.Add([]byte("{\"runtrue_job\":1,\"setups\":[7,{\"id\":\"\\ud83d\\ude00\",\"gauge\":null}],\"readings\":[[]]}"))
	f.Fuzz(func(t *testing.T, text []byte) {
		file, err := Read("fuzz.json", text)
		if err != nil {
			placed(t, err)
			return
		}
		once := file.JSON()
		again, err := Read("again.json", once)
		if err != nil {
			t.Fatalf("what was written cannot be read: %v\n%s", err, once)
		}
		if twice := again.JSON(); !bytes.Equal(once, twice) {
			t.Fatalf("written twice, it differs:\n%s\n%s", once, twice)
		}
		stations := 0
		for _, c := range file.Components {
			for _, k := range c.Features {
				stations += len(k.Plan.Planes) * (len(k.Plan.Angles) + len(k.Plan.SweepAngles))
			}
		}
		if stations > 1000 {
			return // a verdict on so large a plan takes longer than a fuzzer should
		}
		if a, b := file.Assess().JSON(), again.Assess().JSON(); !bytes.Equal(a, b) {
			t.Fatalf("read again, it says something else:\n%s\n%s", a, b)
		}
	})
}

func FuzzReadCSV(f *testing.F) {
	base, err := Read("small.json", []byte(small))
	if err != nil {
		f.Fatal(err)
	}
	f.Add([]byte("feature,angle_deg,value_um\nJ1,120,4\n"))
	f.Add([]byte("feature,value,unit,bound,yes,closing,plane,id\nJ1,8.50,kN,>,no,yes,1,x\n"))
	f.Add([]byte("feature,size_mm\n\"J1\",\"70\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		file, err := base.ReadCSV("fuzz.csv", text)
		if err != nil {
			placed(t, err)
			return
		}
		if len(file.Readings) < len(base.Readings) {
			t.Fatalf("readings were lost: %d of %d", len(file.Readings), len(base.Readings))
		}
		if _, err := Read("again.json", file.JSON()); err != nil {
			t.Fatalf("what was written cannot be read: %v\n%s", err, file.JSON())
		}
	})
}

// BenchmarkRead takes in a job of ten thousand readings.
func BenchmarkRead(b *testing.B) {
	file, err := Read("small.json", []byte(small))
	if err != nil {
		b.Fatal(err)
	}
	for i := range 10_000 {
		r := file.Readings[0]
		r.ID, r.Reading.Repeat = "r"+unscaled(int64(i), 0), i+1
		file.Readings = append(file.Readings, r)
	}
	text := file.JSON()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, err := Read("bench.json", text); err != nil {
			b.Fatal(err)
		}
	}
}
