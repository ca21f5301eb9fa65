package uncertainty

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// published reads one file of testdata/published/mechanics, where source and mark ([S] read in the source, [M] from memory) stand beside the values.
func published(t *testing.T, name string, into any) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/published/mechanics/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// near holds a computed value against a printed one, to within half a unit of its last printed digit.
func near(t *testing.T, what string, got, printed, lastDigit float64) {
	t.Helper()
	if !(math.Abs(got-printed) <= 0.5001*lastDigit) {
		t.Errorf("%s = %.10g, printed %g ± half of %g", what, got, printed, lastDigit)
	}
}

func TestGuideEndGauge(t *testing.T) {
	var f struct {
		Inputs struct {
			Length  float64 `json:"l_s_nm"`
			ULength float64 `json:"u_l_s_nm"`
			NuLs    float64 `json:"nu_l_s"`
			D       float64 `json:"d_nm"`
			A       struct {
				U  float64 `json:"u_nm"`
				Nu float64 `json:"nu"`
			} `json:"d_repeats"`
			B struct {
				U  float64 `json:"u_nm"`
				Nu float64 `json:"nu"`
			} `json:"d_random"`
			C struct {
				U  float64 `json:"u_nm"`
				Nu float64 `json:"nu"`
			} `json:"d_systematic"`
			Alpha      float64 `json:"alpha_s"`
			AlphaHalf  float64 `json:"alpha_s_half_width"`
			DAlphaHalf float64 `json:"delta_alpha_half_width"`
			NuDAlpha   float64 `json:"nu_delta_alpha"`
			DThetaHalf float64 `json:"delta_theta_half_width"`
			NuDTheta   float64 `json:"nu_delta_theta"`
			Theta      float64 `json:"theta_mean"`
			UThetaMean float64 `json:"u_theta_mean"`
			ThetaSwing float64 `json:"theta_cycle_half_width"`
		}
		Printed struct {
			L      float64   `json:"l_nm"`
			UD     float64   `json:"u_d_nm"`
			NuD    float64   `json:"nu_d"`
			UAlpha float64   `json:"u_delta_alpha_nm"`
			UTheta float64   `json:"u_delta_theta_nm"`
			UC     float64   `json:"u_c_nm"`
			U99    float64   `json:"U99_nm"`
			Second []float64 `json:"second_order_nm"`
			UC2    float64   `json:"u_c_second_order_nm"`
		}
	}
	published(t, "d_gum_h1_end_gauge.json", &f)
	in, out := f.Inputs, f.Printed
	near(t, "length", in.Length+in.D, out.L, 1)
	d := Budget{Standard("repeated observations", in.A.U).WithNu(in.A.Nu), Standard("random effects of the comparator", in.B.U).WithNu(in.B.Nu),
		Standard("systematic effects of the comparator", in.C.U).WithNu(in.C.Nu)}
	near(t, "u(d)", d.Combined(), out.UD, 0.1)
	near(t, "ν of d (printed from rounded components)", d.NuEff(), out.NuD, 0.5)

	alpha := Rectangular("difference of the coefficients", in.DAlphaHalf).Times(-in.Length * in.Theta).WithNu(in.NuDAlpha)
	theta := Rectangular("difference of the temperatures", in.DThetaHalf).Times(-in.Length * in.Alpha).WithNu(in.NuDTheta)
	near(t, "component of δα", math.Abs(alpha.Um), out.UAlpha, 0.1)
	near(t, "component of δθ", math.Abs(theta.Um), out.UTheta, 0.1)

	all := append(Budget{Standard("standard", in.ULength).WithNu(in.NuLs), alpha, theta}, d...)
	near(t, "u_c", all.Combined(), out.UC, 1)
	if nu := all.NuEff(); nu < 16 || nu > 17 {
		t.Errorf("ν_eff = %v, the editions print 16 and 17", nu)
	}
	u99, err := all.ExpandedT(0.99)
	if err != nil {
		t.Fatal(err)
	}
	// Printed from the rounded 32 nm and ν cut to a whole number: 2.92·32 = 93; unrounded it is 2.905·31.66.
	if u99 > out.U99 || u99 < out.U99-1.5 {
		t.Errorf("U99 = %v nm, printed %v from rounded parts", u99, out.U99)
	}
	// Second order: δα times the temperature's doubt, α times that of the temperature difference (H.1.7).
	uTheta := math.Hypot(in.UThetaMean, UShaped("cycle", in.ThetaSwing).U)
	first := Expansion{SizeUm: in.Length, AlphaDoubt: in.DAlphaHalf, UDifferenceK: uTheta}.SecondOrder()
	second := Expansion{SizeUm: in.Length, AlphaDoubt: in.AlphaHalf, UDifferenceK: in.DThetaHalf / math.Sqrt(3)}.SecondOrder()
	near(t, "second order of δα and θ", first.Um, out.Second[0], 0.15) // 11.64; printed 11.7 from rounded parts
	near(t, "second order of α and δθ", second.Um, out.Second[1], 0.1)
	near(t, "u_c with second order", append(all, first, second).Combined(), out.UC2, 1)
}

func TestGuideEffectiveDegreesOfFreedom(t *testing.T) {
	var f struct {
		Inputs struct {
			U []float64 `json:"u_percent"`
			N []float64 `json:"n"`
		}
		Printed struct {
			UC  float64 `json:"u_c_percent"`
			Nu  float64 `json:"nu_eff"`
			T95 float64 `json:"t95"`
			U95 float64 `json:"U95_percent"`
		}
	}
	published(t, "d_gum_g4_effective_degrees_of_freedom.json", &f)
	var b Budget
	for i, u := range f.Inputs.U {
		b = append(b, Standard("input", u).WithNu(f.Inputs.N[i]-1))
	}
	near(t, "u_c", b.Combined(), f.Printed.UC, 0.01)
	near(t, "ν_eff", b.NuEff(), f.Printed.Nu, 0.1)
	u95, err := b.ExpandedT(0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "U95", u95, f.Printed.U95, 0.1)
	near(t, "t95", u95/b.Combined(), f.Printed.T95, 0.01)
}

func TestGuideCorrelatedInputs(t *testing.T) {
	var f struct {
		Inputs struct {
			V   []float64
			I   []float64 `json:"I_mA"`
			Phi []float64 `json:"phi"`
		}
		Printed struct {
			R, X, Z float64
			UR      float64 `json:"u_R"`
			UX      float64 `json:"u_X"`
			UZ      float64 `json:"u_Z"`
			RVI     float64 `json:"r_V_I"`
			RVPhi   float64 `json:"r_V_phi"`
			RIPhi   float64 `json:"r_I_phi"`
		}
	}
	published(t, "d_gum_h2_correlated.json", &f)
	in, out := f.Inputs, f.Printed
	coefficient := func(x, y []float64) float64 {
		r, err := CorrelationOfMeans(x, y)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	vi, vp, ip := coefficient(in.V, in.I), coefficient(in.V, in.Phi), coefficient(in.I, in.Phi)
	near(t, "r(V, I)", vi, out.RVI, 0.011) // −0.355, printed −0.36
	near(t, "r(V, φ)", vp, out.RVPhi, 0.01)
	near(t, "r(I, φ)", ip, out.RIPhi, 0.011)
	matrix := [][]float64{{1, vi, vp}, {vi, 1, ip}, {vp, ip, 1}}
	mean := func(x []float64) (m, u float64) {
		m, squares := Spread(x)
		n := float64(len(x))
		return m, math.Sqrt(squares / (n * (n - 1)))
	}
	v, uv := mean(in.V)
	i, ui := mean(in.I)
	phi, up := mean(in.Phi)
	i, ui = i/1000, ui/1000
	for _, c := range []struct {
		name            string
		value, printed  float64
		cv, ci, cp      float64 // sensitivities
		uPrinted, digit float64
	}{
		{"R", v / i * math.Cos(phi), out.R, math.Cos(phi) / i, -v * math.Cos(phi) / (i * i), -v * math.Sin(phi) / i, out.UR, 0.001},
		{"X", v / i * math.Sin(phi), out.X, math.Sin(phi) / i, -v * math.Sin(phi) / (i * i), v * math.Cos(phi) / i, out.UX, 0.0012}, // 0.29558 from these inputs
		{"Z", v / i, out.Z, 1 / i, -v / (i * i), 0, out.UZ, 0.001},
	} {
		near(t, c.name, c.value, c.printed, 0.001)
		b := Budget{Standard("V", uv).Times(c.cv), Standard("I", ui).Times(c.ci), Standard("φ", up).Times(c.cp)}
		u, err := b.CombinedWith(matrix)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "u("+c.name+")", u, c.uPrinted, c.digit)
		if independent := b.Combined(); math.Abs(independent-u) < 0.1*u {
			t.Errorf("u(%s): %v with and %v without correlation: the example would not notice if correlation were ignored", c.name, u, independent)
		}
	}
}

func TestRisksOfTheResistorExample(t *testing.T) {
	var f struct {
		Inputs  struct{ Mean, Deviation, U, Tolerance float64 }
		Outside float64 `json:"recomputed_outside_percent"`
		Printed struct {
			Acceptance float64
			Outside    float64 `json:"outside_percent"`
			Consumer   float64 `json:"consumer_percent"`
			Producer   float64 `json:"producer_percent"`
		}
		Recomputed []struct {
			Acceptance float64
			Consumer   float64 `json:"consumer_percent"`
			Producer   float64 `json:"producer_percent"`
		}
	}
	published(t, "d_jcgm106_resistor_risks.json", &f)
	about := func(half float64) Limits {
		l, u := f.Inputs.Mean-half, f.Inputs.Mean+half
		return Limits{Lower: &l, Upper: &u}
	}
	risks := func(half float64) Risks {
		r, err := GlobalRisks(Process{f.Inputs.Mean, f.Inputs.Deviation}, f.Inputs.U, about(f.Inputs.Tolerance), about(half))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := risks(f.Printed.Acceptance)
	near(t, "outside, %", 100*r.Outside, f.Printed.Outside, 1)
	near(t, "consumer's risk, %", 100*r.Consumer, f.Printed.Consumer, 1)
	near(t, "producer's risk, %", 100*r.Producer, f.Printed.Producer, 1)
	near(t, "outside, %", 100*r.Outside, f.Outside, 0.01)
	for _, c := range f.Recomputed {
		r := risks(c.Acceptance)
		near(t, "consumer's risk, %", 100*r.Consumer, c.Consumer, 0.001)
		near(t, "producer's risk, %", 100*r.Producer, c.Producer, 0.011)
	}
}

func TestIdentities(t *testing.T) {
	var f struct {
		Differential struct {
			Size  float64 `json:"size_um"`
			Part  float64 `json:"part_c"`
			Gauge float64 `json:"gauge_c"`
			AP    float64 `json:"alpha_part_per_k"`
			AG    float64 `json:"alpha_gauge_per_k"`
			Error float64 `json:"error_um"`
		} `json:"differential_expansion"`
		Steel struct {
			Size   float64 `json:"size_um"`
			From   float64 `json:"from_c"`
			To     float64 `json:"to_c"`
			Alpha  float64 `json:"alpha_per_k"`
			Growth float64 `json:"growth_um"`
		} `json:"steel_300_mm"`
		OneSided []struct {
			By float64 `json:"inside_by_u"`
			P  float64 `json:"p_c"`
		} `json:"one_sided"`
	}
	published(t, "d_identities.json", &f)
	d := f.Differential
	e := Expansion{SizeUm: d.Size, PartC: d.Part, GaugeC: d.Gauge, AlphaPart: d.AP, AlphaGauge: d.AG}
	near(t, "correction for aluminium against steel, µm", e.CorrectionUm(), -d.Error, 0.01)
	s := f.Steel
	growth := Expansion{SizeUm: s.Size, PartC: s.From, GaugeC: 20, AlphaPart: s.Alpha}.CorrectionUm() -
		Expansion{SizeUm: s.Size, PartC: s.To, GaugeC: 20, AlphaPart: s.Alpha}.CorrectionUm()
	near(t, "growth of 300 mm of steel over 10 K, µm", growth, s.Growth, 0.001)
	const u, limit = 0.7, 10.0
	for _, c := range f.OneSided {
		upper := limit
		p, err := Probability(limit-c.By*u, u, Limits{Upper: &upper})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "p_c", p.Inside, c.P, 0.0001)
		lower := -limit
		p, err = Probability(-limit+c.By*u, u, Limits{Lower: &lower})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "p_c at a lower limit", p.Inside, c.P, 0.0001)
	}
}
