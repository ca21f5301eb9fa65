// Command runtrue keeps the bench measurements of a spindle shop and says what they mean. Each subcommand lives in a file of its own; this
// one only chooses between them.
//
// Exit status: 0 done, 1 the request could not be met (a message on standard error says why), 2 the command line is wrong.
package main

import (
	"fmt"
	"io"
	"os"
	"runtime/debug"
)

// command is one subcommand. Run gets the arguments after the name and returns the exit status.
type command struct {
	name    string
	summary string // one line, no full stop
	run     func(args []string, stdin io.Reader, stdout, stderr io.Writer) int
}

// commands is sorted by name, as the usage lists it.
var commands = []command{
	{"assess", "what a job file says of each component: reuse, rework, replace …", runAssess},
	{"backup", "write everything in the store to one file", backupCommand.answer},
	{"bearing", "tolerances of a bearing ring by its class (ISO 492)", runBearing},
	{"demo", "an invented shop with three spindles, to try the page", runDemo},
	{"limits", "limits of size for a tolerance class (ISO 286)", runLimits},
	{"restore", "make a store anew from a backup", restoreCommand.answer},
	{"seat", "what a bearing seat must be where the drawing is silent", runSeat},
	{"serve", "serve the page, and keep and pass on what the tablets write", runServe},
	{"verify", "prove every hash, parent and arrival number of a store", verifyCommand.answer},
}

// The exit statuses.
const (
	exitDone  = 0
	exitFault = 1
	exitUsage = 2
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		usage(stderr)
		return exitUsage
	}
	name, rest := args[0], args[1:]
	switch name {
	case "help", "-h", "-help", "--help":
		if name != "help" || len(rest) == 0 {
			usage(stdout)
			return exitDone
		}
		name, rest = rest[0], []string{"--help"}
	case "version", "-version", "--version":
		fmt.Fprintln(stdout, "runtrue", version())
		return exitDone
	}
	for _, c := range commands {
		if c.name == name {
			return c.run(rest, stdin, stdout, stderr)
		}
	}
	fmt.Fprintf(stderr, "runtrue: there is no command %q", name)
	if near := nearest(name); near != "" {
		fmt.Fprintf(stderr, "; did you mean %s?", near)
	}
	fmt.Fprintln(stderr, "\nrun `runtrue help` for the list")
	return exitUsage
}

func usage(w io.Writer) {
	fmt.Fprint(w, "usage: runtrue COMMAND [arguments]\n\n")
	for _, c := range commands {
		fmt.Fprintf(w, "  %-10s %s\n", c.name, c.summary)
	}
	fmt.Fprintf(w, "  %-10s %s\n", "help", "this list, or the help of a command")
	fmt.Fprintf(w, "  %-10s %s\n", "version", "which build this is")
}

// version is the version the build recorded, "(devel)" for a build from a working tree.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(unknown)"
	}
	return info.Main.Version
}

// nearest is the command at most two single-letter edits away from what was typed, the closest first; empty if there is none.
func nearest(typed string) string {
	best, bestEdits := "", 3
	names := []string{"help", "version"}
	for _, c := range commands {
		names = append(names, c.name)
	}
	for _, name := range names {
		if n := edits(typed, name); n < bestEdits {
			best, bestEdits = name, n
		}
	}
	return best
}

// edits is the Levenshtein distance: the fewest insertions, deletions and replacements of a byte that turn a into b.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			replaced := diagonal
			if a[i-1] != b[j-1] {
				replaced++
			}
			diagonal = row[j]
			row[j] = min(replaced, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}
