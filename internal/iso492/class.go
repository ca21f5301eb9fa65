package iso492

import "strings"

// Ring is which ring of the bearing is meant. The zero value is no ring; every function here answers it with ErrMalformed.
type Ring string

// The rings.
const (
	Inner Ring = "inner"
	Outer Ring = "outer"
)

// ParseRing reads "inner" or "outer". Error: ErrMalformed for any other text.
func ParseRing(s string) (Ring, error) {
	if r := Ring(s); r == Inner || r == Outer {
		return r, nil
	}
	return "", &QuestionError{Err: ErrMalformed, Ring: quoted(s), Reason: "write inner (looked up by the bore) or outer (looked up by the outside diameter)"}
}

// Class is a tolerance class by its ISO name. The zero value is no class; every function here answers it with ErrMalformed.
type Class string

// The classes, from the widest to the finest.
const (
	Normal Class = "Normal"
	Class6 Class = "6"
	Class5 Class = "5"
	Class4 Class = "4"
	Class2 Class = "2"
)

// Classes returns the classes from the widest to the finest.
func Classes() []Class { return []Class{Normal, Class6, Class5, Class4, Class2} }

// otherStandards are names that look like classes and belong elsewhere, with where they belong.
var otherStandards = []struct{ name, reason string }{
	{"6X", "6X is a class of tapered roller bearings, which have other tables"},
	{"P6X", "P6X is a class of tapered roller bearings, which have other tables"},
	{"ABEC5P", "ABEC 5P, 7P and 9P are instrument bearing classes of another standard"},
	{"ABEC7P", "ABEC 5P, 7P and 9P are instrument bearing classes of another standard"},
	{"ABEC9P", "ABEC 5P, 7P and 9P are instrument bearing classes of another standard"},
	{"P4S", "P4S is makers' own: dimensions of class 4 with running accuracy of class 2 or finer; ask for 4 and for 2, or take the maker's table"},
	{"P4A", "P4A is a maker's own class; take the maker's table"},
	{"PA9A", "PA9A is a maker's own class; take the maker's table"},
	{"SP", "SP is makers' own: about class 4 in dimensions and finer in running; take the maker's table"},
	{"UP", "UP is makers' own: about class 4 in dimensions and class 2 in running; take the maker's table"},
}

// ParseClass reads a class by its ISO name or by a name that other standards give it: "4", "P4", "ABEC 7", "class 4", "normal". Case and
// spaces do not matter.
//
// Errors: ErrMalformed if the text is empty or holds anything but letters, digits and spaces; ErrNotDefined if it is no class of ISO 492.
// Source of the other names: the table class_names.csv, with its own.
func ParseClass(s string) (Class, error) {
	fail := func(err error, reason string) (Class, error) {
		return "", &QuestionError{Err: err, Class: quoted(s), Reason: reason}
	}
	key := nameKey(s)
	if key == "" {
		return fail(ErrMalformed, "the class is missing; write Normal, 6, 5, 4 or 2")
	}
	for i := 0; i < len(s); i++ {
		if b := s[i]; b != ' ' && (b < '0' || b > '9') && (b|0x20 < 'a' || b|0x20 > 'z') {
			return fail(ErrMalformed, "a class is letters and digits only; write Normal, 6, 5, 4 or 2, or such a name as ABEC 7 or P4")
		}
	}
	for _, row := range tables().names {
		for _, name := range row.all {
			if nameKey(name) == key {
				return row.class, nil
			}
		}
	}
	for _, other := range otherStandards {
		if other.name == key {
			return fail(ErrNotDefined, other.reason)
		}
	}
	return fail(ErrNotDefined, "the classes are Normal, 6, 5, 4 and 2, in the trade also ABEC 1, 3, 5, 7 and 9")
}

// nameKey makes names comparable: capitals, without spaces and without the word class.
func nameKey(s string) string {
	key := strings.ToUpper(strings.ReplaceAll(s, " ", ""))
	if rest, found := strings.CutPrefix(key, "CLASS"); found {
		return rest
	}
	return key
}

// ABEC is the name that the trade uses for the class, "ABEC 1" to "ABEC 9"; empty for what is no class.
// Source: publishers' comparisons of class names, see class_names.csv.
func (c Class) ABEC() string {
	for _, row := range tables().names {
		if row.class == c {
			return row.abec
		}
	}
	return ""
}

// rank is the place from the widest, 0, to the finest; -1 for what is no class.
func (c Class) rank() int {
	for i, other := range Classes() {
		if c == other {
			return i
		}
	}
	return -1
}

// meanings of the symbols, in this package's words after the terms of ISO 492 and ISO 1132-1.
var meanings = []struct{ symbol, meaning string }{
	{"Delta_dmp", "deviation of the mean bore diameter in a plane"},
	{"Delta_ds", "deviation of any single bore diameter"},
	{"Vdsp", "variation of the bore diameter in one plane"},
	{"Vdmp", "variation of the mean bore diameter between planes"},
	{"Kia", "radial run-out of the inner ring, bearing assembled"},
	{"Sd", "run-out of the inner ring's face to its bore"},
	{"Sia", "axial run-out of the inner ring, bearing assembled"},
	{"Delta_Bs", "deviation of the inner ring's width"},
	{"VBs", "variation of the inner ring's width"},
	{"Delta_Dmp", "deviation of the mean outside diameter in a plane"},
	{"Delta_Ds", "deviation of any single outside diameter"},
	{"VDsp", "variation of the outside diameter in one plane"},
	{"VDmp", "variation of the mean outside diameter between planes"},
	{"Kea", "radial run-out of the outer ring, bearing assembled"},
	{"SD", "squareness of the outside surface to the face"},
	{"Sea", "axial run-out of the outer ring, bearing assembled"},
	{"VCs", "variation of the outer ring's width"},
}

// Meaning says in words what a symbol of the tables stands for; empty for a symbol that they do not have.
func Meaning(symbol string) string {
	for _, m := range meanings {
		if m.symbol == symbol {
			return m.meaning
		}
	}
	return ""
}
