package iso286

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"runtrue/internal/length"
)

// Grade is a standard tolerance grade: IT01 is -1, IT0 is 0, IT1 to IT18 are their numbers. The zero value is IT0.
type Grade int8

// The finest and the coarsest grade of the standard.
const (
	IT01 Grade = -1
	IT18 Grade = 18
)

// Grades returns every grade from IT01 to IT18.
func Grades() []Grade {
	all := make([]Grade, 0, IT18-IT01+1)
	for g := IT01; g <= IT18; g++ {
		all = append(all, g)
	}
	return all
}

// String is the grade's name, "IT01" to "IT18".
func (g Grade) String() string { return "IT" + g.digits() }

// digits is the grade as it stands in a class, "01" to "18".
func (g Grade) digits() string {
	if g == IT01 {
		return "01"
	}
	return strconv.Itoa(int(g))
}

// shaftLetters in the standard's order, from most below the zero line to most above it. i, l, o, q and w are not used.
var shaftLetters = []string{"a", "b", "c", "cd", "d", "e", "ef", "f", "fg", "g", "h", "js", "j",
	"k", "m", "n", "p", "r", "s", "t", "u", "v", "x", "y", "z", "za", "zb", "zc"}

// ShaftLetters returns the letters of shafts, a to zc, in the standard's order.
func ShaftLetters() []string { return slices.Clone(shaftLetters) }

// HoleLetters returns the letters of holes, A to ZC, in the standard's order.
func HoleLetters() []string {
	holes := ShaftLetters()
	for i := range holes {
		holes[i] = strings.ToUpper(holes[i])
	}
	return holes
}

// Class is a tolerance class: the letters of the fundamental deviation and the standard tolerance grade. Capitals are a hole, small
// letters a shaft. The zero value is no class; every function here answers it with ErrMalformed.
type Class struct {
	Letters string
	Grade   Grade
}

// ParseClass reads a class as drawings write it, "k4", "JS5", "h01", without surrounding space or size.
//
// Errors: ErrMalformed if the text is not letters, all capitals or all small, and a number without leading zeros (but 01);
// ErrNotDefined if it has that shape, but the standard has no such letter or grade.
func ParseClass(s string) (Class, error) {
	fail := func(err error, reason string) (Class, error) {
		return Class{}, &ClassError{Err: err, Class: quoted(s), Reason: reason}
	}
	n := 0
	for n < len(s) && isASCIILetter(s[n]) {
		n++
	}
	letters, digits := s[:n], s[n:]
	const shape = "write the letters and the grade together, such as k4, JS5 or H7"
	switch {
	case letters == "":
		return fail(ErrMalformed, "it must begin with a letter; "+shape)
	case digits == "":
		return fail(ErrMalformed, "the grade is missing; "+shape)
	case !allDigits(digits):
		return fail(ErrMalformed, "only digits may follow the letters; "+shape)
	case len(digits) > 1 && digits[0] == '0' && digits != "01":
		return fail(ErrMalformed, "a grade has no leading zero, but for 01")
	case letters != strings.ToLower(letters) && letters != strings.ToUpper(letters):
		return fail(ErrMalformed, "letters are all capitals for a hole or all small for a shaft, not both")
	}
	if len(digits) > 2 {
		return fail(ErrNotDefined, "the grades are IT01, IT0 and IT1 to IT18")
	}
	c := Class{Letters: letters}
	if digits == "01" {
		c.Grade = IT01
	} else {
		number, err := strconv.Atoi(digits)
		if err != nil {
			return fail(ErrMalformed, err.Error())
		}
		c.Grade = Grade(number)
	}
	if err := c.check(); err != nil {
		return Class{}, err
	}
	return c, nil
}

func allDigits(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

func isASCIILetter(b byte) bool { return 'a' <= b && b <= 'z' || 'A' <= b && b <= 'Z' }

// Hole reports whether the class is that of a hole, written in capitals.
func (c Class) Hole() bool { return c.Letters != "" && c.Letters[0] >= 'A' && c.Letters[0] <= 'Z' }

// String is the class as drawings write it.
func (c Class) String() string { return c.Letters + c.Grade.digits() }

// MarshalText writes the class as String does, so that it stands in JSON as "k4". Errors as for ParseClass.
func (c Class) MarshalText() ([]byte, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	return []byte(c.String()), nil
}

// UnmarshalText reads a class as ParseClass does.
func (c *Class) UnmarshalText(text []byte) error {
	parsed, err := ParseClass(string(text))
	if err != nil {
		return err
	}
	*c = parsed
	return nil
}

// check says whether the standard has the letters and the grade, whatever the size.
func (c Class) check() error {
	if c.Letters == "" {
		return &ClassError{Err: ErrMalformed, Class: quoted(""), Reason: "no letters are given"}
	}
	small := strings.ToLower(c.Letters)
	if !slices.Contains(shaftLetters, small) || (c.Letters != small && c.Letters != strings.ToUpper(small)) {
		return &ClassError{Err: ErrNotDefined, Class: quoted(c.Letters),
			Reason: "the letters are " + strings.Join(shaftLetters, " ") + " for shafts and the same in capitals for holes"}
	}
	return c.Grade.check()
}

func (g Grade) check() error {
	if g < IT01 || g > IT18 {
		return &ClassError{Err: ErrNotDefined, Class: g.String(), Reason: "the grades are IT01, IT0 and IT1 to IT18"}
	}
	return nil
}

// MaxNominal is the largest nominal size that the standard covers; the smallest is anything above nothing.
const MaxNominal = 3150 * length.Millimetre

func checkNominal(nominal length.Length, asked string) error {
	if nominal > 0 && nominal <= MaxNominal {
		return nil
	}
	reason := "ISO 286 covers nominal sizes above 0 mm up to and including 3150 mm"
	if nominal == 0 {
		reason += "; this one is 0 mm"
	}
	return &ClassError{Err: ErrOutOfRange, Class: asked, Nominal: nominal, Reason: reason}
}

// quoted is the text in quotation marks, cut to what fits a message.
func quoted(s string) string {
	const limit = 30 // bytes, far above any class
	if len(s) > limit {
		s = s[:limit] + "…"
	}
	return fmt.Sprintf("%q", s)
}
