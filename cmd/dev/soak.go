package main

import (
	"context"
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"time"

	"runtrue/internal/syncsim"
)

// soak plays bad weeks between devices and server, seed after seed, and prints what came of each. A week that ends badly is named by its seed, which repeats it, to the byte if its devices never ask at the same moment, else nearly.
func soak(ctx context.Context, args []string) (err error) {
	flags := flag.NewFlagSet("soak", flag.ContinueOnError)
	first := flags.Uint64("first", 1, "the first seed")
	seeds := flags.Uint64("seeds", 100, "how many weeks to play, each with the next seed")
	lasts := flags.Duration("for", 0, "begin no further week after so long; 0: play them all")
	every := flags.Bool("print", false, "print every event of every week")
	if err := flags.Parse(args); err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "runtrue-soak-")
	if err != nil {
		return err
	}
	defer func() {
		if removed := os.RemoveAll(folder); err == nil {
			err = removed
		}
	}()
	began := time.Now()
	total := map[string]int{}
	var played, entries, lost, shown int
	var simulated time.Duration
	var bad []uint64
	for seed := *first; seed < *first+*seeds && (*lasts == 0 || time.Since(began) < *lasts); seed++ {
		plan := syncsim.BadWeek(seed, folder)
		if *every {
			plan.Print = func(line string) { fmt.Println(line) }
		}
		start := time.Now()
		r, err := syncsim.Run(ctx, plan)
		if err != nil {
			return fmt.Errorf("seed %d: %w", seed, err)
		}
		fmt.Printf("seed %-5d %2d devices, %3.0f h, %5d requests, %5d entries in %2d jobs on every replica, %3d lost by every holder (%d once shown as on the server), %4.1f s\n",
			seed, plan.Devices+r.Counts["devices cloned"], r.Took.Hours(), r.Counts["requests"], r.Entries, r.Jobs, r.Lost, r.Shown, time.Since(start).Seconds())
		for i, problem := range r.Problems {
			if i == 20 {
				fmt.Printf("    and %d more\n", len(r.Problems)-i)
				break
			}
			fmt.Println("    BAD:", problem)
		}
		if len(r.Problems) > 0 {
			bad = append(bad, seed)
		}
		for what, n := range r.Counts {
			total[what] += n
		}
		played, entries, lost, shown, simulated = played+1, entries+r.Entries, lost+r.Lost, shown+r.Shown, simulated+r.Took
	}
	fmt.Printf("\n%d weeks, %.0f simulated hours in %.0f s: %d entries on every replica, %d lost by every holder (%d once shown as on the server)\n", played, simulated.Hours(), time.Since(began).Seconds(), entries, lost, shown)
	for _, what := range slices.Sorted(maps.Keys(total)) {
		fmt.Printf("  %8d  %s\n", total[what], what)
	}
	if len(bad) > 0 {
		return fmt.Errorf("%d of %d weeks ended badly, seeds %v; again with -first SEED -seeds 1 -print", len(bad), played, bad)
	}
	return nil
}
