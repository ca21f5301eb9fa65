package badgerstore

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/dgraph-io/badger/v4"

	"runtrue/internal/store/storetest"
)

// entrySize in bytes is that of a usual reading.
const entrySize = 800

// BenchmarkPut is many devices that push one entry at a time, each waiting for the answer, beside Badger with a synced transaction for each
// entry on the same disk: entries a second, and the waiting time of a push at the middle and at the 99th of a hundred.
func BenchmarkPut(b *testing.B) {
	for _, writers := range []int{1, 8, 32, 100} {
		b.Run(fmt.Sprintf("grouped/writers=%d", writers), func(b *testing.B) {
			s, err := Open(b.TempDir(), Options{Reserve: 1 << 20})
			if err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			push(b, writers, func(n int) error {
				_, err := s.Put(context.Background(), storetest.Some(fmt.Sprintf("J%d", n%10), n, 1, entrySize))
				return err
			})
		})
		b.Run(fmt.Sprintf("a-transaction-each/writers=%d", writers), func(b *testing.B) {
			db, err := badger.Open(badgerOptions(b.TempDir(), defaults(Options{})))
			if err != nil {
				b.Fatal(err)
			}
			defer db.Close()
			push(b, writers, func(n int) error {
				in := storetest.Make("J", n, entrySize)
				return db.Update(func(txn *badger.Txn) error { return txn.Set(in.ID[:], in.Bytes) })
			})
		})
	}
}

func push(b *testing.B, writers int, one func(n int) error) {
	var mu sync.Mutex
	var waits []time.Duration
	var running sync.WaitGroup
	b.ResetTimer()
	for w := range writers {
		running.Go(func() {
			var mine []time.Duration
			for n := w; n < b.N; n += writers {
				began := time.Now()
				if err := one(n); err != nil {
					b.Error(err)
					return
				}
				mine = append(mine, time.Since(began))
			}
			mu.Lock()
			defer mu.Unlock()
			waits = append(waits, mine...)
		})
	}
	running.Wait()
	b.StopTimer()
	slices.Sort(waits)
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "entries/s")
	b.ReportMetric(float64(waits[len(waits)/2].Microseconds())/1000, "p50-ms")
	b.ReportMetric(float64(waits[len(waits)*99/100].Microseconds())/1000, "p99-ms")
}

// BenchmarkPutMany is one device that comes back with much: Puts of 500 entries, one after the other.
func BenchmarkPutMany(b *testing.B) {
	s, err := Open(b.TempDir(), Options{Reserve: 1 << 20})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	n := 0
	for b.Loop() {
		if _, err := s.Put(context.Background(), storetest.Some("J1", n, 500, entrySize)); err != nil {
			b.Fatal(err)
		}
		n += 500
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "entries/s")
}

// BenchmarkSince is a tablet that takes a job of 2000 entries over, each entry hashed on the way.
func BenchmarkSince(b *testing.B) {
	s, err := Open(b.TempDir(), Options{Reserve: 1 << 20})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	if _, err := s.Put(context.Background(), storetest.Some("J1", 0, 2000, entrySize)); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		run, err := s.Since(context.Background(), "J1", 0, 2000)
		if err != nil || len(run) != 2000 {
			b.Fatalf("%d entries, %v", len(run), err)
		}
	}
	b.ReportMetric(2000*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
}
