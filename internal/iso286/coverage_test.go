package iso286_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"runtrue/internal/iso286"
)

var update = flag.Bool("update", false, "write the list of cells that no published limit visits")

const unvisitedFile = "testdata/cells_without_published_limit.txt"

// Which table cells does no published limit visit? The list is kept, so that a cell that loses its check, or gains one, is noticed. Each
// line says how else the cell is held: by the published limits of the mirrored letter in the same step, and by its status mark.
// TestMirrorRule and the formula tests visit these cells too.
func TestCellsWithoutPublishedLimit(t *testing.T) {
	visited := map[string]bool{}
	for _, p := range readPrinted(t, "limits_published.csv") {
		for _, nominal := range p.sizes() {
			used, err := iso286.CellsUsed(nominal, p.class)
			if err != nil {
				t.Fatalf("row %d: %s at %s: %v", p.row, p.class, nominal, err)
			}
			for _, name := range used {
				visited[name] = true
			}
		}
	}
	cells := iso286.AllCells()
	mirrored := func(c iso286.Cell) bool {
		for _, other := range cells {
			if c.Mirror != "" && strings.HasPrefix(other.Name, c.Mirror+" ") && visited[other.Name] {
				return true
			}
		}
		return false
	}
	var list strings.Builder
	unvisited, seen := 0, map[string]bool{}
	for _, c := range cells {
		if seen[c.Name] {
			t.Errorf("cell %q stands twice in the tables", c.Name)
		}
		seen[c.Name] = true
		if visited[c.Name] {
			continue
		}
		unvisited++
		held := c.Mark
		if mirrored(c) {
			held += ", mirrored letter visited"
		}
		fmt.Fprintf(&list, "%s: %s\n", c.Name, held)
	}
	for name := range visited {
		if !seen[name] {
			t.Errorf("a published limit used cell %q, which is not in the list of all cells", name)
		}
	}
	head := fmt.Sprintf("# Table cells that no published limit visits: %d of %d. Steps in mm. Written by go test ./internal/iso286 -run CellsWithout -update.\n", unvisited, len(cells))
	got := head + list.String()
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
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
	before := strings.Split(string(want), "\n")
	after := strings.Split(got, "\n")
	t.Errorf("the list has changed; if that is right, run with -update\nonly now: %s\nonly before: %s", missing(after, before), missing(before, after))
}

// missing lists the lines of a that b has not.
func missing(a, b []string) string {
	in := map[string]bool{}
	for _, line := range b {
		in[line] = true
	}
	var only []string
	for _, line := range a {
		if !in[line] {
			only = append(only, line)
		}
	}
	return strings.Join(only, " | ")
}
