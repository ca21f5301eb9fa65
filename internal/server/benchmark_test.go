package server

import (
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// A hundred devices come back at once, each with 50 small entries in a few jobs, and push them ten at a time over real connections. Reported: the median and the 99th percentile of one push, and entries per second.
func BenchmarkHundredDevicesComeBack(b *testing.B) {
	const devices, pushes, each = 100, 5, 10
	for name, open := range engines {
		b.Run(name, func(b *testing.B) {
			for range b.N {
				b.StopTimer()
				g := newRig(b, open(b), &clock{ms: startMS})
				all := make([]*device, devices)
				work := make([][][]*record.Entry, devices)
				for i := range all {
					all[i] = g.device(fmt.Sprint("p", i))
					for p := range pushes {
						var batch []*record.Entry
						for k := range each {
							batch = append(batch, all[i].entry(fmt.Sprint("job-", i%8), spindle.Technician, grantless, fact(fmt.Sprintf("device %d push %d entry %d", i, p, k))))
						}
						work[i] = append(work[i], batch)
					}
				}
				took := make([][]time.Duration, devices)
				var wg sync.WaitGroup
				b.StartTimer()
				began := time.Now()
				for i := range all {
					wg.Add(1)
					go func() {
						defer wg.Done()
						for _, batch := range work[i] {
							t := time.Now()
							if a := all[i].push(batch...); len(a.Taken) != each {
								b.Errorf("taken %d, want %d", len(a.Taken), each)
							}
							took[i] = append(took[i], time.Since(t))
						}
					}()
				}
				wg.Wait()
				whole := time.Since(began)
				b.StopTimer()
				flat := slices.Sorted(slices.Values(slices.Concat(took...)))
				b.ReportMetric(float64(flat[len(flat)/2].Microseconds())/1000, "ms-p50/push")
				b.ReportMetric(float64(flat[len(flat)*99/100].Microseconds())/1000, "ms-p99/push")
				b.ReportMetric(float64(devices*pushes*each)/whole.Seconds(), "entries/s")
				stored := 0
				for i := range 8 {
					stored += len(g.all(fmt.Sprint("job-", i)))
				}
				if stored != devices*pushes*each {
					b.Errorf("%d entries stored, want %d", stored, devices*pushes*each)
				}
				g.stop()
			}
		})
	}
}

// The same as a test: small, every entry once, in each store.
func TestManyDevicesAtOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		var wg sync.WaitGroup
		for i := range 100 {
			d := g.device(fmt.Sprint("p", i))
			var batch []*record.Entry
			for k := range 3 {
				batch = append(batch, d.entry(fmt.Sprint("job-", i%4), spindle.Technician, grantless, fact(fmt.Sprint(i, k))))
			}
			wg.Add(1)
			go func() {
				defer wg.Done()
				if a := d.push(batch...); len(a.Taken) != 3 {
					t.Errorf("device %d: taken %d, want 3", i, len(a.Taken))
				}
			}()
		}
		wg.Wait()
		for i := range 4 {
			if n := len(g.all(fmt.Sprint("job-", i))); n != 75 {
				t.Errorf("job-%d has %d entries, want 75", i, n)
			}
		}
	})
}
