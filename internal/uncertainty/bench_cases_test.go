package uncertainty

import (
	"errors"
	"math"
	"testing"

	"runtrue/internal/length"
)

// Cases of the bench, worked by hand. Unless said, a comparator with u = 0.5 µm (U 1.0). Values in µm from nominal.
// J1 = 70 k4: +2 … +10. B1 = 110 JS5: ±7.5.

func between(lower, upper float64) Limits { return Limits{Lower: &lower, Upper: &upper} }

var (
	j1 = between(2, 10)
	b1 = between(-7.5, 7.5)
)

func TestDecisionsOfTheBench(t *testing.T) {
	for _, c := range []struct {
		name    string
		y, u    float64
		limits  Limits
		inside  float64 // p_c by hand, to the digits given
		digit   float64
		outcome Outcome
	}{
		{"least size of a good journal, Φ(4)", 4, 0.5, j1, 0.99997, 1e-5, Conforms},
		{"greatest size of a good journal, Φ(8)", 6, 0.5, j1, 1, 1e-6, Conforms},
		{"one u inside, Φ(1)", 2.5, 0.5, j1, 0.841, 1e-3, CannotBeTold},
		{"micrometer at dead centre, 2Φ(4/2.3) − 1", 6, 2.3, j1, 0.918, 1e-3, CannotBeTold},
		{"journal too small, Φ(−3)", 0.5, 0.5, j1, 0.0013, 1e-4, Fails},
		{"journal too small, its largest", 1.5, 0.5, j1, 0.159, 1e-3, CannotBeTold},
		{"bore too small, Φ(−1.875)", -9, 0.8, b1, 0.030, 1e-3, Fails},
		{"half a micrometre matters, Φ(1.25)", 6.5, 0.8, b1, 0.894, 1e-3, CannotBeTold},
		{"the same with the wrong limits ±8, Φ(1.875)", 6.5, 0.8, between(-8, 8), 0.970, 1e-3, Conforms},
		{"two u outside: master wrong, Φ(−2)", 1, 0.5, j1, 0.023, 1e-3, Fails},
		{"before a concession, Φ(−1.2)", 1.4, 0.5, j1, 0.115, 1e-3, CannotBeTold},
		{"conceded down to +0.5, Φ(1.8)", 1.4, 0.5, between(0.5, 10), 0.964, 1e-3, Conforms},
		{"mean with an assembly reading, Φ(0.6)", 0.8, 0.5, between(0.5, 10), 0.726, 1e-3, CannotBeTold},
		{"after the drawing changed to ±4, Φ(−4)", 6, 0.5, between(-4, 4), 3e-5, 1e-5, Fails},
		{"hopeless gauge at dead centre: not condemned", 6, 70, j1, 0.0456, 1e-4, CannotBeTold},
	} {
		d, err := Decide(c.y, c.u, c.limits, Guarded)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if d.Outcome != c.outcome || math.Abs(d.Tails.Inside-c.inside) > 0.51*c.digit {
			t.Errorf("%s: y = %+g µm, u = %g µm, limits %+g … %+g: %s with p_c = %v, by hand %s with %v",
				c.name, c.y, c.u, *c.limits.Lower, *c.limits.Upper, d.Outcome, d.Tails.Inside, c.outcome, c.inside)
		}
	}
}

func TestWhatWouldSettle(t *testing.T) {
	n, err := NeededU(2.5, j1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "needed u, µm", n.U, 0.304, 0.001)
	near(t, "needed U, µm", n.Expanded(), 0.61, 0.01)
	if n.Outcome != Conforms {
		t.Errorf("+2.5 µm would then be %s, want %s", n.Outcome, Conforms)
	}
	if CanEverConform(8, 2.3) || !CanEverConform(8, 2.0) {
		t.Errorf("T = 8 µm: u = 2.3 can ever conform %v (want false), u = 2.0 %v (want true)", CanEverConform(8, 2.3), CanEverConform(8, 2.0))
	}
	near(t, "best p_c of u = 2.3 µm in T = 8 µm", BestPossible(8, 2.3), 0.918, 0.001)
	near(t, "largest U for T = 8 µm", LargestU(8), 4.08, 0.01)
	if n, err = NeededU(1.5, j1); err != nil || n.Outcome != Fails {
		t.Errorf("+1.5 µm outside +2: %+v, %v", n, err)
	}
	if _, err := NeededU(2, j1); !errors.Is(err, ErrOnLimit) {
		t.Errorf("+2 µm on the limit: %v, want ErrOnLimit", err)
	}
	// Two thirds of the variance are repeats: u_needed² = 0.09 = 0.04 + s²/n with s = 0.5 gives n = 5.
	if more, err := MoreReadings(0.3, 0.2, 0.5, 1); err != nil || more != 4 {
		t.Errorf("more readings: %d, %v; want 4", more, err)
	}
	if _, err := MoreReadings(0.3, 0.3, 0.5, 1); !errors.Is(err, ErrNotReducible) {
		t.Errorf("calibration alone too large: %v, want ErrNotReducible", err)
	}
	if _, err := MoreReadings(0.301, 0.3, 0.5, 1); !errors.Is(err, ErrNotReducible) {
		t.Errorf("hundreds of readings: %v, want ErrNotReducible", err)
	}
}

func TestGuardedLimitsOfTheBench(t *testing.T) {
	for _, c := range []struct {
		limits       Limits
		u            float64
		lower, upper float64
	}{
		{j1, 0.5, 2.82, 9.18},
		{b1, 0.8, -6.18, 6.18},
		{between(-4, 4), 0.5, -3.18, 3.18},
	} {
		g, err := GuardedLimits(c.limits, c.u)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "guarded lower limit, µm", *g.Lower, c.lower, 0.01)
		near(t, "guarded upper limit, µm", *g.Upper, c.upper, 0.01)
	}
	if _, err := GuardedLimits(j1, 2.5); !errors.Is(err, ErrNoAcceptanceZone) {
		t.Errorf("u = 2.5 µm in T = 8 µm: %v, want ErrNoAcceptanceZone", err)
	}
}

func TestHotPart(t *testing.T) {
	hot := Expansion{SizeUm: 70000, PartC: 32, GaugeC: 21, AlphaPart: AlphaSteel, AlphaGauge: AlphaSteel, UDifferenceK: 1, AlphaDoubt: AlphaDoubt}
	if err := hot.Check(); err != nil {
		t.Fatal(err)
	}
	near(t, "correction, µm", hot.CorrectionUm(), -8.855, 0.001)
	b := append(Budget{Standard("gauge and master", 0.5)}, hot.Contributions("S1", "steel", "master M1")...)
	near(t, "temperature difference, µm", math.Abs(b[1].Um), 0.805, 0.001)
	near(t, "coefficient of the part, µm", math.Abs(b[2].Um), 0.485, 0.001)
	near(t, "u, µm", b.Combined(), 1.065, 0.001)
	y := 12 + hot.CorrectionUm()
	d, err := Decide(y, b.Combined(), j1, Guarded)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "p_c of the hot journal", d.Tails.Inside, 0.859, 0.001)
	if d.Outcome != CannotBeTold {
		t.Errorf("hot journal at %+.3f µm: %s, want %s", y, d.Outcome, CannotBeTold)
	}
	soaked := hot
	soaked.PartC, soaked.UDifferenceK = 21, 0.2
	if soaked.CorrectionUm() != 0 {
		t.Errorf("like materials at one temperature: correction %v µm, want 0", soaked.CorrectionUm())
	}
	b = append(Budget{Standard("gauge and master", 0.5)}, soaked.Contributions("S1", "steel", "master M1")...)
	near(t, "temperature difference, µm", math.Abs(b[1].Um), 0.161, 0.001)
	// By hand √(0.5² + 0.161²) = 0.525; the two coefficients at 1 K from 20 °C add 0.040 each: 0.528.
	near(t, "u of the first two, µm", b[:2].Combined(), 0.525, 0.001)
	near(t, "u of all, µm", b.Combined(), 0.528, 0.001)
	if d, err = Decide(3.1, b[:2].Combined(), j1, Guarded); err != nil {
		t.Fatal(err)
	}
	near(t, "p_c of the soaked journal, first two", d.Tails.Inside, 0.982, 0.001)
	if d, err = Decide(3.1, b.Combined(), j1, Guarded); err != nil || d.Outcome != Conforms {
		t.Errorf("soaked journal: %+v, %v; want %s", d, err, Conforms)
	}
}

func TestDriftOfTheBench(t *testing.T) {
	d := Drift{Before: 0, After: 3 * length.Micrometre / 2}
	if !d.Doubtful(8 * length.Micrometre) {
		t.Errorf("drift 1.5 µm at T = 8 µm must be doubtful")
	}
	if d.Doubtful(15 * length.Micrometre) {
		t.Errorf("drift 1.5 µm at T = 15 µm is not above a tenth")
	}
	if !d.Doubtful(15*length.Micrometre - 1) {
		t.Errorf("drift 1.5 µm at T = 14.999999 µm is above a tenth")
	}
	if d.CorrectionUm() != -0.75 {
		t.Errorf("correction %v µm, want −0.75", d.CorrectionUm())
	}
	c := d.Contribution("drift:S1")
	near(t, "u of the drift, µm", c.Um, 0.433, 0.001)
	u := Budget{Standard("bore gauge", 0.8), c}.Combined()
	near(t, "u, µm", u, 0.910, 0.001)
	decision, err := Decide(4+d.CorrectionUm(), u, b1, Guarded)
	if err != nil || decision.Outcome != Conforms {
		t.Errorf("bore after drift: %+v, %v; want %s", decision, err, Conforms)
	}
	back := Drift{Before: d.After, After: d.Before}
	if back.CorrectionUm() != 0.75 || back.Contribution("").Um != c.Um || !back.Doubtful(8*length.Micrometre) {
		t.Errorf("a falling zero must mirror a rising one: correction %v, u %v", back.CorrectionUm(), back.Contribution("").Um)
	}
	if (Drift{}).Doubtful(0) || !d.Doubtful(0) {
		t.Errorf("without a tolerance, any drift is doubtful and none is not")
	}
}

// A mean of readings against one master is no surer than the master: u stays 0.5, not 0.5/√2.
func TestMeanWithOneMaster(t *testing.T) {
	reading := Budget{Standard("master", 0.3).Keyed("master:M1"), Standard("calibration", 0.4).Keyed("gauge:G1")}
	mean, err := Mean(reading, reading)
	if err != nil {
		t.Fatal(err)
	}
	if u := mean.Combined(); math.Abs(u-0.5) > 1e-15 {
		t.Errorf("u of the mean = %v µm, want 0.5", u)
	}
	own := Budget{Standard("repeatability", 0.5)}
	if mean, err = Mean(own, own); err != nil {
		t.Fatal(err)
	}
	near(t, "u of the mean of independent readings, µm", mean.Combined(), 0.35355, 1e-5)
}

// Two people's U of 1.0 each give √2 for the difference while their gauges are independent; what they share drops out.
func TestTwoPeople(t *testing.T) {
	a := Budget{Standard("gauge of A", 0.5).Keyed("gauge:A")}
	b := Budget{Standard("gauge of B", 0.5).Keyed("gauge:B")}
	near(t, "U of the difference, µm", Difference(a, b, true).Expanded(), 1.41, 0.01)
	shared := Standard("master", 2).Keyed("master:M1")
	a, b = append(a, shared), append(b, shared.Times(0.9))
	near(t, "U without the shared master, µm", Difference(a, b, true).Expanded(), 1.41, 0.01)
	near(t, "U where nine tenths of the master cancel, µm", Difference(a, b, false).Combined(), math.Sqrt(0.5+0.04), 1e-6)
}

func TestSimpleRule(t *testing.T) {
	d, err := Decide(9.9, 1, j1, Simple) // U = 2 = T/4
	if err != nil || d.Outcome != Conforms || d.Rule != Simple || d.Fallback != nil {
		t.Errorf("U = T/4: %+v, %v", d, err)
	}
	if d, err = Decide(10.0001, 1, j1, Simple); err != nil || d.Outcome != Fails {
		t.Errorf("just above the limit: %+v, %v", d, err)
	}
	if d, err = Decide(9.9, 1.01, j1, Simple); err != nil || d.Outcome != CannotBeTold || d.Rule != Guarded || !errors.Is(d.Fallback, ErrSimpleNotAllowed) {
		t.Errorf("U above T/4: %+v, %v; want the guarded rule and a reason", d, err)
	}
	upper := 4.0
	if d, err = Decide(3, 0.5, Limits{Upper: &upper}, Simple); err != nil || d.Rule != Guarded || !errors.Is(d.Fallback, ErrSimpleNotAllowed) {
		t.Errorf("one limit without a width: %+v, %v", d, err)
	}
	if d, err = Decide(3.9, 0.5, Limits{Upper: &upper, Width: 4}, Simple); err != nil || d.Rule != Simple || d.Outcome != Conforms {
		t.Errorf("a greatest run-out of 4 with U = 1: %+v, %v", d, err)
	}
}

func TestRepeatability(t *testing.T) {
	study := Study{S: 0.4, Nu: 18}
	c, err := Repeatability(study, []float64{5.0, 5.2})
	if err != nil {
		t.Fatal(err)
	}
	// (18·0.16 + 0.02)/19 = 0.152632; over n = 2.
	near(t, "u of two repeats with a study, µm", c.Um, math.Sqrt(0.152632/2), 1e-5)
	if c.Nu != 19 {
		t.Errorf("ν = %v, want 19", c.Nu)
	}
	if _, err := Repeatability(Study{}, []float64{5.0, 5.2}); !errors.Is(err, ErrTooFewRepeats) {
		t.Errorf("two repeats without a study: %v, want ErrTooFewRepeats", err)
	}
	if c, err = Repeatability(Study{}, []float64{5.0, 5.2, 5.4}); err != nil || math.Abs(c.Um-0.2/math.Sqrt(3)) > 1e-12 || c.Nu != 2 {
		t.Errorf("three repeats without a study: %+v, %v", c, err)
	}
	if c, err = Repeatability(Study{S: 0.4, Nu: math.Inf(1)}, []float64{5}); err != nil || c.Um != 0.4 || !math.IsInf(c.Nu, 1) {
		t.Errorf("one reading with a study beyond doubt: %+v, %v", c, err)
	}
	if _, err := Repeatability(study, []float64{5, math.NaN()}); !errors.Is(err, ErrMalformed) {
		t.Errorf("NaN among the repeats: %v, want ErrMalformed", err)
	}
	if s := Pool(Study{0.3, 5}, Study{0.5, 10}); math.Abs(s.S-math.Sqrt((5*0.09+10*0.25)/15)) > 1e-15 || s.Nu != 15 {
		t.Errorf("pooled %+v", s)
	}
}

func TestRefusals(t *testing.T) {
	nan, lower, upper := math.NaN(), 1.0, 0.0
	for _, c := range []struct {
		name   string
		y, u   float64
		limits Limits
		rule   Rule
		want   error
	}{
		{"no limits", 1, 1, Limits{}, Guarded, ErrNoLimits},
		{"limits crossed", 1, 1, Limits{Lower: &lower, Upper: &upper}, Guarded, ErrLimitsCrossed},
		{"limit NaN", 1, 1, Limits{Lower: &nan}, Guarded, ErrMalformed},
		{"value NaN", nan, 1, j1, Guarded, ErrMalformed},
		{"u negative", 1, -1, j1, Guarded, ErrMalformed},
		{"u infinite", 1, math.Inf(1), j1, Guarded, ErrMalformed},
		{"rule unknown", 1, 1, j1, "strict", ErrMalformed},
	} {
		if _, err := Decide(c.y, c.u, c.limits, c.rule); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	if _, err := (Budget{Standard("a", 1)}).ExpandedT(1.2); !errors.Is(err, ErrMalformed) {
		t.Errorf("coverage of 1.2: %v", err)
	}
	if _, err := (Budget{{Source: "without degrees of freedom", Um: 1}}).ExpandedT(0.95); !errors.Is(err, ErrMalformed) {
		t.Errorf("degrees of freedom left out: %v", err)
	}
	if _, err := Mean(); !errors.Is(err, ErrMalformed) {
		t.Errorf("mean of nothing: %v", err)
	}
	if _, err := (Budget{Standard("a", 1), Standard("b", 1)}).CombinedWith([][]float64{{1, 0.5}, {0.4, 1}}); !errors.Is(err, ErrMalformed) {
		t.Errorf("unsymmetric coefficients: %v", err)
	}
	impossible := [][]float64{{1, -0.9, -0.9}, {-0.9, 1, -0.9}, {-0.9, -0.9, 1}}
	if _, err := (Budget{Standard("a", 1), Standard("b", 1), Standard("c", 1)}).CombinedWith(impossible); !errors.Is(err, ErrMalformed) {
		t.Errorf("coefficients that cannot be true together: %v", err)
	}
	if err := (Expansion{SizeUm: 1, PartC: 20, GaugeC: 2000}).Check(); !errors.Is(err, ErrMalformed) {
		t.Errorf("a gauge at 2000 °C: %v", err)
	}
}

func TestUZero(t *testing.T) {
	for y, want := range map[float64]Outcome{2: Conforms, 10: Conforms, 5: Conforms, 1.999999: Fails, 10.000001: Fails} {
		if d, err := Decide(y, 0, j1, Guarded); err != nil || d.Outcome != want {
			t.Errorf("y = %v with u = 0: %+v, %v; want %s", y, d, err, want)
		}
	}
}
