package record

import (
	"fmt"
	"slices"

	"runtrue/internal/spindle"
)

// Body is the content of an entry. Each kind has one type.
type Body interface {
	// Kind is the kind's name as it is written.
	Kind() string
	// Check says what is wrong with the body by itself, or nil. What depends on other entries is decided by the fold.
	Check() error
}

type kindRule struct {
	new func() Body
	// who may write entries of this kind with effect; the fold keeps those of others without effect.
	who []spindle.Role
}

var (
	bench    = []spindle.Role{spindle.Technician, spindle.Inspector, spindle.Assembler, spindle.Quality}
	everyone = []spindle.Role{spindle.Technician, spindle.Inspector, spindle.Assembler, spindle.Quality, spindle.Office, spindle.Admin}
	deciders = []spindle.Role{spindle.Inspector}
	checkers = []spindle.Role{spindle.Inspector, spindle.Quality}
)

// kindTable is the list of kinds. Adding one is a file with its body and a line here.
var kindTable = map[string]kindRule{
	"fact":          {func() Body { return new(Fact) }, append(slices.Clone(everyone), spindle.Machine)},
	"component":     {func() Body { return new(Component) }, everyone},
	"specification": {func() Body { return new(Specification) }, append(slices.Clone(bench), spindle.Office, spindle.Admin)},
	"setup":         {func() Body { return new(Setup) }, bench},
	"reading":       {func() Body { return new(Reading) }, bench},
	"strike":        {func() Body { return new(Strike) }, everyone},
	"finding":       {func() Body { return new(Finding) }, bench},
	"rework":        {func() Body { return new(Rework) }, append(slices.Clone(bench), spindle.Office)},
	"decision":      {func() Body { return new(Decision) }, deciders},
	"concession":    {func() Body { return new(Concession) }, checkers},
	"settle":        {func() Body { return new(Settle) }, bench},
	"objection":     {func() Body { return new(Objection) }, append(slices.Clone(checkers), spindle.Admin, spindle.Machine)},
	"step":          {func() Body { return new(Step) }, bench},
	"gather":        {func() Body { return new(Gather) }, append(slices.Clone(everyone), spindle.Machine)},
	"grant":         {func() Body { return new(Grant) }, []spindle.Role{spindle.Admin, spindle.Machine}},
}

// Kinds lists the names of the kinds in alphabetical order.
func Kinds() []string {
	names := make([]string, 0, len(kindTable))
	for name := range kindTable {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

func malformed(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrMalformed, fmt.Sprintf(format, args...))
}

func oneOf(what, s string, list ...string) error {
	if !slices.Contains(list, s) {
		return malformed("%s %q is none of %v", what, s, list)
	}
	return nil
}

// need refuses empty texts; the arguments are pairs of a name and a text.
func need(pairs ...string) error {
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] == "" {
			return malformed("%s is missing", pairs[i])
		}
	}
	return nil
}
