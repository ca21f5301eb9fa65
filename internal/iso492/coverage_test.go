package iso492_test

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"runtrue/internal/iso492"
	"runtrue/internal/length"
)

var update = flag.Bool("update", false, "write the list of cells that no published value visits")

const unvisitedFile = "testdata/cells_without_published_value.txt"

// Which values does no published check visit? The list is kept, so that a value that loses its check, or gains one, is noticed. Each line
// names the value's status; the rules of the standard visit these values too.
func TestCellsWithoutPublishedValue(t *testing.T) {
	visited := map[string]bool{}
	for i, row := range readRows(t, "checks_published.csv") {
		upto := read(t, row["upto_mm"], length.Millimetres)
		all, err := iso492.Lookup(iso492.Ring(row["ring"]), upto, iso492.Class(row["class"]))
		if err != nil {
			t.Fatalf("row %d: %v", i+1, err)
		}
		v, found := find(all, row["characteristic"], row["series"], row["edition"])
		if !found {
			t.Fatalf("row %d: no %s [%s]", i+1, row["characteristic"], row["series"])
		}
		visited[iso492.Cell{Ring: iso492.Ring(row["ring"]), Class: iso492.Class(row["class"]), Value: v}.Name()] = true
	}
	cells := iso492.AllCells()
	var list strings.Builder
	unvisited := 0
	seen := map[string]bool{}
	for _, c := range cells {
		name := c.Name()
		if seen[name] {
			t.Errorf("value %q stands twice in the tables", name)
		}
		seen[name] = true
		if !visited[name] {
			unvisited++
			fmt.Fprintf(&list, "%s: %s\n", name, c.Status)
		}
	}
	got := fmt.Sprintf("# Values that no published check visits: %d of %d. Written by go test ./internal/iso492 -run CellsWithout -update.\n", unvisited, len(cells)) + list.String()
	if *update {
		if err := os.WriteFile(unvisitedFile, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(unvisitedFile)
	if err != nil {
		t.Fatal(err)
	}
	if got == string(want) {
		return
	}
	before, after := strings.Split(string(want), "\n"), strings.Split(got, "\n")
	only := func(a, b []string) (lines []string) {
		for _, line := range a {
			if !slices.Contains(b, line) {
				lines = append(lines, line)
			}
		}
		return lines
	}
	t.Errorf("the list has changed; if that is right, run with -update\nonly now: %q\nonly before: %q", only(after, before), only(before, after))
}

// A value from memory says so in the words shown with it, cites no publisher, and is counted: the list cannot grow or shrink unseen.
func TestMemoryIsSaid(t *testing.T) {
	count := map[iso492.Status]int{}
	for _, c := range iso492.AllCells() {
		count[c.Status]++
		memory := c.Status == iso492.Memory
		if memory != strings.HasPrefix(c.Confirmed(), "from memory") || memory && (len(c.Sources) > 0 || c.Publishers != 0) {
			t.Errorf("%s: status %s, words %q, sources %q", c.Name(), c.Status, c.Confirmed(), c.Sources)
		}
		if c.Status == iso492.TwoOrMore && (c.Publishers < 2 || len(c.Sources) < 2) || c.Status == iso492.One && (c.Publishers != 1 || len(c.Sources) == 0) {
			t.Errorf("%s: status %s with %d publishers and sources %q", c.Name(), c.Status, c.Publishers, c.Sources)
		}
	}
	want := map[iso492.Status]int{iso492.TwoOrMore: 542, iso492.TwoWithHalfRule: 25, iso492.HalfRule: 17, iso492.One: 254, iso492.OneInchRounded: 17, iso492.Memory: 106}
	for _, s := range iso492.Statuses() {
		if count[s] != want[s] {
			t.Errorf("%d values are %s; want %d", count[s], s, want[s])
		}
	}
}
