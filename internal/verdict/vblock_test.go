package verdict

import (
	"math"
	"strings"
	"testing"

	"runtrue/internal/spindle"
)

func TestSupportInWords(t *testing.T) {
	for _, c := range []struct {
		words string
		used  bool
		angle float64
		here  bool
	}{
		{"between centres", false, 0, false},
		{"on V-blocks", true, 0, false},
		{"90° V-block at the section", true, 90, true},
		{"V-blocks, 60 deg, under J1 and J2", true, 60, false},
		{"on 2 V-blocks of 72.5 °", true, 72.5, false},
		{"on V-blocks of 190°", true, 0, false},
	} {
		used, angle, here := vBlock(c.words)
		if used != c.used || angle != c.angle || here != c.here {
			t.Errorf("%q: %v, %v°, at the section %v; want %+v", c.words, used, angle, here, c)
		}
	}
}

// Three lobes of 3 µm amplitude, form 6 µm: in a 90° V at the section the indicator shows 12 µm, F₃ = 2.
func TestRoundnessInVBlock(t *testing.T) {
	lobes := func(order int, shown float64, n int) []float64 {
		values := make([]float64, n)
		for i := range values {
			values[i] = shown * math.Cos(float64(order)*2*math.Pi*float64(i)/float64(n))
		}
		return values
	}
	for _, c := range []struct {
		name    string
		support string
		limit   float64
		n       int
		values  []float64
		outcome Outcome
		value   float64
		says    string
	}{
		{"as it truly is, within", "90° V-block at the section", 8, 8, lobes(3, 6, 8), Conforms, 6, ""},
		{"as it truly is, beyond", "90° V-block at the section", 4, 8, lobes(3, 6, 8), Fails, 6, ""},
		{"not said where, both within", "90° V-blocks", 15, 8, lobes(3, 6, 8), Conforms, 6, ""},
		{"not said where, both beyond", "90° V-blocks", 4, 8, lobes(3, 6, 8), Fails, 6, ""},
		{"not said where, and it matters", "90° V-blocks", 9, 8, lobes(3, 6, 8), CannotBeTold, 6, "say where they stand"},
		{"four lobes look small in a V", "90° V-block at the section", 4, 16, lobes(4, 0.5, 16), CannotBeTold, 2 * 0.5 / (math.Sqrt2 - 1), "does not show 7 lobes"},
		{"60°, blind to two and five", "60° V-block at the section", 4, 12, lobes(3, 0.3, 12), CannotBeTold, 0.2, "does not show 2, 4 and 5 lobes"},
		{"a V that is blind can still fail", "60° V-block at the section", 4, 12, lobes(3, 15, 12), Fails, 10, ""},
		{"its angle is not said", "on V-blocks", 8, 8, lobes(3, 0.1, 8), CannotBeTold, 0.2, "say its angle"},
		{"between centres", "between centres", 8, 8, lobes(3, 3, 8), Conforms, 6, ""},
	} {
		spec, s := swept(c.n, greatest(spindle.Roundness, c.limit)), indicator("i", 0.2)
		s.Support = c.support
		got := Assess(input(spec, round("i", spec, spindle.CircularRunOut, "1", around(c.n), c.values...), s)).of(t, spindle.Roundness)
		if got.Outcome != c.outcome || !strings.Contains(got.Sentence, c.says) {
			t.Errorf("%s: %s, want %s with %q: %s", c.name, got.Outcome, c.outcome, c.says, got.Sentence)
		}
		near(t, c.name+": form in µm", got.Value.Micrometres(), c.value, 1e-5)
		if strings.Contains(c.support, "90°") && !strings.Contains(strings.Join(got.Notes, "\n"), "3 lobes 2.0 times") {
			t.Errorf("%s: notes %q", c.name, got.Notes)
		}
	}
}
