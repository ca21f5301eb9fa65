package verdict

import (
	"math"
	"strconv"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// toLength rounds micrometres to whole picometres, half to even. What does not fit (beyond 9000 km) is held at the end of the range.
func toLength(um float64) length.Length {
	pm := math.RoundToEven(um * 1e6)
	switch {
	case pm >= math.MaxInt64:
		return math.MaxInt64
	case pm <= math.MinInt64:
		return math.MinInt64
	}
	return length.Length(pm)
}

// tidy rounds a figure to the millionth of its unit, so that the last bits of a sum do not show.
func tidy(x float64) float64 {
	r := math.RoundToEven(x*1e6) / 1e6
	if math.IsNaN(r) || math.IsInf(r, 0) {
		return x
	}
	return r + 0 // −0 becomes 0
}

// trimmed prints a length exactly, without trailing zeros and without its unit.
func trimmed(l length.Length, u length.Unit, places int) string {
	s := strings.TrimSuffix(length.Format(l, u, places), " "+string(u))
	if strings.Contains(s, ".") {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// exact prints a length in micrometres with every digit it has.
func exact(l length.Length) string { return trimmed(l, length.Micrometres, 6) + " µm" }

// signedExact is exact with a plus sign before positive lengths.
func signedExact(l length.Length) string {
	if l > 0 {
		return "+" + exact(l)
	}
	return exact(l)
}

// places returns how many decimals of a micrometre a value is shown with: one digit more than the gauge resolves would be false
// precision, so a gauge that resolves a whole micrometre gets none, a finer one one, and one below a tenth two. The gauge that resolves
// best decides, since a mean may rest on several; without a stated resolution it is one.
func places(resolution length.Length) int {
	switch {
	case resolution >= length.Micrometre:
		return 0
	case resolution > 0 && resolution < length.Micrometre/10:
		return 2
	}
	return 1
}

// plusMinus prints a value with its expanded uncertainty: "+11.5 ± 1.0 µm".
func plusMinus(value, expanded length.Length, decimals int, signed bool) string {
	number := func(l length.Length, d int) string {
		return strings.TrimSuffix(length.Format(l, length.Micrometres, d), " µm")
	}
	v := number(value, decimals)
	if signed && value > 0 && strings.Trim(v, "0.") != "" {
		v = "+" + v
	}
	return v + " ± " + expandedNumber(expanded, decimals) + " µm"
}

// expandedNumber prints an uncertainty with the decimals of its value, with more where it would read 0, and with at most two significant digits.
func expandedNumber(u length.Length, decimals int) string {
	um := u.Micrometres()
	switch {
	case um >= 10:
		decimals = 0
	case um >= 1:
		decimals = min(decimals, 1)
	case um > 0 && um < 0.1:
		for decimals < 6 && length.Format(u, length.Micrometres, decimals) == length.Format(0, length.Micrometres, decimals) {
			decimals++
		}
	}
	return strings.TrimSuffix(length.Format(u, length.Micrometres, decimals), " µm")
}

// probability prints p_c: three decimals, more where it would read 1.000 or 0.000 without being so.
func probability(p float64) string {
	for d := 3; d < 6; d++ {
		s := strconv.FormatFloat(p, 'f', d, 64)
		if rounded, _ := strconv.ParseFloat(s, 64); (rounded == 0 || rounded == 1) && rounded != p {
			continue
		}
		return s
	}
	return strconv.FormatFloat(p, 'f', 6, 64)
}

// limitWords writes the limits of a characteristic: "+2 … +10 µm", "at most 2.5 µm".
func (b band) words(signed bool) string {
	number := func(l length.Length) string {
		s := trimmed(l, length.Micrometres, 6)
		if signed && l > 0 {
			return "+" + s
		}
		return s
	}
	switch {
	case b.lower != nil && b.upper != nil:
		return number(*b.lower) + " … " + number(*b.upper) + " µm"
	case b.upper != nil:
		return "at most " + number(*b.upper) + " µm"
	case b.lower != nil:
		return "at least " + number(*b.lower) + " µm"
	}
	return "no limits"
}

// subject names a feature in a sentence: "J1 front bearing journal".
func subject(spec spindle.Specification) string { return spaced(spec.Feature, spec.Name) }

// degrees prints an angle: "120°".
func degrees(mdeg int64) string {
	s := strconv.FormatInt(mdeg/1000, 10)
	if rest := mdeg % 1000; rest != 0 {
		digits := strconv.FormatInt(1000+rest, 10)[1:]
		s += "." + strings.TrimRight(digits, "0")
	}
	return s + "°"
}

// place names a station: "plane 1, 120°"; without a plane the angle alone.
func place(plane string, mdeg int64) string {
	if plane == "" {
		return degrees(mdeg)
	}
	return planeWords(plane) + ", " + degrees(mdeg)
}

// planeWords puts "plane" before a bare number or letter and leaves a name as it is.
func planeWords(plane string) string {
	if len(plane) <= 2 {
		return "plane " + plane
	}
	return plane
}

// listed joins words as a sentence does: "a", "a and b", "a, b and c".
func listed(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

func addNote(notes []string, note string) []string {
	for _, n := range notes {
		if n == note {
			return notes
		}
	}
	if note == "" {
		return notes
	}
	return append(notes, note)
}

// signed1 prints a deviation to a tenth of a micrometre without its unit, exactTenth a magnitude with it.
func signed1(l length.Length) string {
	return strings.TrimSuffix(length.FormatSigned(l, length.Micrometres, 1), " µm")
}

func exactTenth(l length.Length) string {
	if l.Abs() < length.Micrometre {
		return length.Format(l, length.Micrometres, 2)
	}
	return length.Format(l, length.Micrometres, 1)
}
