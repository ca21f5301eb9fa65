package seat_test

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"runtrue/internal/seat"
)

var update = flag.Bool("update", false, "write the list of rows that no published value visits")

const unvisitedFile = "testdata/rows_without_published_value.txt"

// Which rows of the tables does no published value of seat_values.csv and spacer_values.csv visit? The list is kept, so that a row that loses
// its check, or gains one, is noticed. Rows of roughness, of mounted fits, and those that give an ISO 286 grade or class have tests of their own.
func TestRowsWithoutPublishedValue(t *testing.T) {
	visited := map[string]bool{}
	for _, row := range append(readRows(t, "seat_values.csv"), readRows(t, "spacer_values.csv")...) {
		e := expected(t, row)
		for _, class := range e.classes {
			r := e.request
			r.Class, r.Nominal = class, e.upto
			used, err := seat.RulesUsed(r, e.characteristic)
			if err != nil || len(used) != 1 {
				t.Errorf("%v uses rows %q, %v; want one", row, used, err)
			}
			for _, name := range used {
				visited[name] = true
			}
		}
	}
	names := seat.RuleNames()
	var list strings.Builder
	unvisited := 0
	seen := map[string]bool{}
	for _, name := range names {
		if seen[name] {
			t.Errorf("row %q stands twice in the tables", name)
		}
		seen[name] = true
		if !visited[name] {
			unvisited++
			fmt.Fprintln(&list, name)
		}
	}
	got := fmt.Sprintf("# Rows that no published value visits: %d of %d. Written by go test ./internal/seat -run RowsWithout -update.\n", unvisited, len(names)) + list.String()
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
