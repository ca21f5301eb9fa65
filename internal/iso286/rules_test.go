package iso286_test

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/iso286"
	"runtrue/internal/length"
)

// everySize is one size in each step, main or intermediate: its upper bound; and just above 1 mm, the least that no footnote excludes.
func everySize() []length.Length {
	sizes := []length.Length{length.Millimetre + 1}
	for _, b := range bounds {
		sizes = append(sizes, b*length.Millimetre)
	}
	return sizes
}

// limitsOrNotDefined fails the test on any error but ErrNotDefined, which it reports as false.
func limitsOrNotDefined(t *testing.T, nominal length.Length, c iso286.Class) (iso286.Limits, bool) {
	t.Helper()
	l, err := iso286.LimitsOf(nominal, c)
	if err != nil && !errors.Is(err, iso286.ErrNotDefined) {
		t.Fatalf("%s at %s: %v", c, nominal, err)
	}
	return l, err == nil
}

func allLetters() []string { return append(iso286.ShaftLetters(), iso286.HoleLetters()...) }

// Whatever the class and the size: the limits are the fundamental deviation and one standard tolerance; h and H touch the zero line, js and
// JS lie evenly about it; the letters before h keep a shaft below it, those from k on at or above it, and holes the other way round.
func TestEveryClassIsItsDeviationAndItsTolerance(t *testing.T) {
	defined := 0
	for _, nominal := range everySize() {
		for order, letters := range allLetters() {
			for _, g := range iso286.Grades() {
				c := iso286.Class{Letters: letters, Grade: g}
				if n := iso286.RowsFor(nominal, c); n > 1 {
					t.Errorf("%s at %s stands in %d rows of the tables", c, nominal, n)
				}
				l, ok := limitsOrNotDefined(t, nominal, c)
				if !ok {
					continue
				}
				defined++
				tolerance, err := iso286.StandardTolerance(nominal, g)
				if err != nil || l.Upper-l.Lower != tolerance || l.Tolerance != tolerance || tolerance <= 0 {
					t.Errorf("%s at %s: %s / %s, tolerance %s; %s is %s, %v", c, nominal, l.Upper, l.Lower, l.Tolerance, g, tolerance, err)
				}
				fundamental := map[string]length.Length{"es": l.Upper, "ES": l.Upper, "ei": l.Lower, "EI": l.Lower}
				if at, known := fundamental[l.Which]; !known || at != l.Fundamental || (strings.ToUpper(l.Which) == l.Which) != c.Hole() {
					t.Errorf("%s at %s: %s = %s, limits %s / %s", c, nominal, l.Which, l.Fundamental, l.Upper, l.Lower)
				}
				var sum length.Length
				for _, p := range l.Provenance[1:] {
					sum += p.Value
				}
				if sum != l.Fundamental || l.Provenance[0].Value != l.Tolerance {
					t.Errorf("%s at %s: the numbers accounted for, %+v, do not make %s and %s", c, nominal, l.Provenance, l.Fundamental, l.Tolerance)
				}
				shaft, below, above := strings.ToLower(letters), l.Upper, l.Lower // how far a shaft reaches up and down
				if c.Hole() {
					below, above = -l.Lower, -l.Upper
				}
				switch place := order % len(iso286.ShaftLetters()); {
				case shaft == "h" && below != 0:
					t.Errorf("%s at %s: %s / %s does not touch the zero line", c, nominal, l.Upper, l.Lower)
				case shaft == "js" && l.Upper != -l.Lower:
					t.Errorf("%s at %s: %s / %s is not even about the zero line", c, nominal, l.Upper, l.Lower)
				case place < 10 && below >= 0:
					t.Errorf("%s at %s: %s / %s is not clear of the zero line", c, nominal, l.Upper, l.Lower)
				case place > 12 && !c.Hole() && above < 0:
					t.Errorf("%s at %s: %s / %s reaches below the zero line", c, nominal, l.Upper, l.Lower)
				}
				if l.Status == iso286.Unconfirmed && len(l.Remarks) == 0 {
					t.Errorf("%s at %s is unconfirmed without a remark", c, nominal)
				}
			}
		}
	}
	if defined < 25_000 {
		t.Errorf("only %d classes and sizes were defined", defined)
	}
}

// A tolerance grows with the grade at every size, and never falls with the size in any grade.
func TestTolerancesGrowWithGradeAndSize(t *testing.T) {
	for _, nominal := range everySize() {
		for g := iso286.IT01; g < iso286.IT18; g++ {
			fine, err := iso286.StandardTolerance(nominal, g)
			if errors.Is(err, iso286.ErrNotDefined) && nominal > 500*length.Millimetre && g < 1 {
				continue
			}
			coarse, coarseErr := iso286.StandardTolerance(nominal, g+1)
			if err != nil || coarseErr != nil || coarse <= fine {
				t.Errorf("at %s %s is %s, %v, and %s is %s, %v", nominal, g, fine, err, g+1, coarse, coarseErr)
			}
		}
	}
	for _, g := range iso286.Grades() {
		var before length.Length
		for _, step := range iso286.Steps() {
			tolerance, err := iso286.StandardTolerance(step.Upto, g)
			if err != nil && g >= 1 {
				t.Errorf("%s at %s: %v", g, step.Upto, err)
			}
			if err == nil && tolerance < before {
				t.Errorf("%s falls from %s to %s at %s", g, before, tolerance, step)
			}
			before = tolerance
		}
	}
}

// Holes A to H are their shafts mirrored: EI = −es. Holes from K on are too, ES = −ei, but for the increment delta, ITn − IT(n−1), for K, M
// and N up to IT8 and P to ZC up to IT7 above 3 mm up to 500 mm; K and N above IT8; M6 from 250 to 315 mm; J is a table of its own.
// Source: ISO 286-1:2010 as given by Machine Drawing, Tables 15.3 and 15.4, and EN ISO 286-1 tables N to ZC.
func TestMirrorRule(t *testing.T) {
	compared, withDelta := 0, 0
	for _, nominal := range everySize() {
		for _, letters := range iso286.HoleLetters() {
			for _, g := range iso286.Grades() {
				hole, ok := limitsOrNotDefined(t, nominal, iso286.Class{Letters: letters, Grade: g})
				if !ok || letters == "J" {
					continue
				}
				reference := g
				if letters == "K" {
					reference = 6 // shaft k is stepped by grade, hole K mirrors its IT4 to IT7
				}
				shaft, err := iso286.LimitsOf(nominal, iso286.Class{Letters: strings.ToLower(letters), Grade: reference})
				if err != nil {
					t.Errorf("%s at %s is defined, but its shaft is not: %v", hole.Class, nominal, err)
					continue
				}
				compared++
				if letters <= "H" || letters == "JS" {
					if want := -shaft.Upper; letters != "JS" && hole.Lower != want {
						t.Errorf("%s at %s: EI = %s; −es of %s is %s", hole.Class, nominal, hole.Lower, shaft.Class, want)
					}
					continue
				}
				want := -shaft.Lower
				last := iso286.Grade(7)
				if letters == "K" || letters == "M" || letters == "N" {
					last = 8
				}
				small, large := nominal <= 3*length.Millimetre, nominal > 500*length.Millimetre
				switch {
				case letters == "M" && g == 6 && !large && nominal > 250*length.Millimetre && nominal <= 315*length.Millimetre:
					want = -9 * length.Micrometre
				case letters == "N" && g > 8 && !small && !large:
					want = 0
				case g <= last && !small && !large:
					own, ownErr := iso286.StandardTolerance(nominal, g)
					finer, finerErr := iso286.StandardTolerance(nominal, g-1)
					if ownErr != nil || finerErr != nil {
						t.Fatalf("%s at %s: %v, %v", hole.Class, nominal, ownErr, finerErr)
					}
					want += own - finer
					withDelta++
				}
				if hole.Upper != want {
					t.Errorf("%s at %s: ES = %s; the rule gives %s", hole.Class, nominal, hole.Upper, want)
				}
			}
		}
	}
	if compared < 10_000 || withDelta < 1_500 {
		t.Errorf("only %d holes were compared, %d of them with delta", compared, withDelta)
	}
}

// Limits depend on the step alone: any nominal size in it, to the picometre, gives the same ones.
func TestLimitsAreTheSameThroughoutAStep(t *testing.T) {
	edges := append([]length.Length{0}, bounds...)
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.IntRange(1, len(edges)-1).Draw(t, "step")
		over, upto := edges[i-1]*length.Millimetre, edges[i]*length.Millimetre
		if i == 1 {
			over = length.Millimetre // footnotes exclude some classes up to 1 mm
		}
		nominal := length.Length(rapid.Int64Range(int64(over)+1, int64(upto)).Draw(t, "nominal, pm"))
		c := iso286.Class{Letters: rapid.SampledFrom(allLetters()).Draw(t, "letters"), Grade: iso286.Grade(rapid.IntRange(-1, 18).Draw(t, "grade"))}
		here, err := iso286.LimitsOf(nominal, c)
		there, thereErr := iso286.LimitsOf(upto, c)
		if (err == nil) != (thereErr == nil) || here.Upper != there.Upper || here.Lower != there.Lower {
			t.Fatalf("%s at %s: %s / %s, %v; at %s: %s / %s, %v", c, nominal, here.Upper, here.Lower, err, upto, there.Upper, there.Lower, thereErr)
		}
	})
}
