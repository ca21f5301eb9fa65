package uncertainty

import "math"

// AlphaSteel is the coefficient of expansion of gauge-block steel near 20 °C, 1/K [S: Swyt, J. Res. NIST 99 (1994) 31; also used in the Guide, H.1].
const AlphaSteel = 11.5e-6

// AlphaDoubt is the half-width, 1/K, within which the coefficient of a named steel or alloy is taken to lie, equally likely (common practice, no source; handbooks
// differ by that much).
const AlphaDoubt = 1e-6

// Expansion is what temperature does to one reading: a part of size SizeUm, and a gauge or master that it is compared with.
// All temperatures are those of the metal, not of the air.
type Expansion struct {
	SizeUm       float64 // size of the part, µm, > 0
	PartC        float64 // temperature of the part, °C
	GaugeC       float64 // of the master, or of the gauge's own scale, °C
	AlphaPart    float64 // coefficients of expansion, 1/K
	AlphaGauge   float64
	UDifferenceK float64 // standard uncertainty of the difference between the two temperatures, K
	ULevelK      float64 // of the level common to both, K; matters only where the materials differ
	AlphaDoubt   float64 // half-width of both coefficients, 1/K, rectangular
}

// CorrectionUm returns what is to be added to the indicated size to have the size at 20 °C (ISO 1), in µm:
// L·[α_g(t_g − 20) − α_p(t_p − 20)]. First order; the neglected term is below 0.1 nm for 100 mm of steel at 30 °C. Positive for a cold part.
func (e Expansion) CorrectionUm() float64 {
	return float64(e.SizeUm * (float64(e.AlphaGauge*(e.GaugeC-20)) - float64(e.AlphaPart*(e.PartC-20))))
}

// Check refuses numbers that cannot be meant.
func (e Expansion) Check() error {
	for _, c := range []struct {
		what string
		x    float64
	}{
		{"size of the part in µm", e.SizeUm},
		{"coefficient of expansion of the part", e.AlphaPart},
		{"coefficient of expansion of the gauge", e.AlphaGauge},
		{"uncertainty of the temperature difference", e.UDifferenceK},
		{"uncertainty of the temperature level", e.ULevelK},
		{"half-width of the coefficients", e.AlphaDoubt},
	} {
		if err := notNegative(c.what, c.x); err != nil {
			return err
		}
	}
	if !(e.PartC > -60 && e.PartC < 300) {
		return BadValue{"temperature of the part in °C", e.PartC, "a temperature between −60 and 300 °C"}
	}
	if !(e.GaugeC > -60 && e.GaugeC < 300) {
		return BadValue{"temperature of the gauge in °C", e.GaugeC, "a temperature between −60 and 300 °C"}
	}
	return nil
}

// Contributions returns the uncertainty of the correction: the temperature difference acting through the part's coefficient, the common level through the
// difference of the coefficients, and the two coefficients through the distance of each from 20 °C.
//
// The keys that end in the set-up's key make the temperatures one unknown error for all readings of the set-up; the coefficients belong to the materials.
func (e Expansion) Contributions(setupKey, partMaterialKey, gaugeMaterialKey string) Budget {
	size := e.SizeUm
	difference := Standard("temperature difference of part and gauge", e.UDifferenceK).
		Times(-float64(size * e.AlphaPart)).Keyed(keyed("temperature difference", setupKey))
	b := Budget{difference}
	if spread := e.AlphaGauge - e.AlphaPart; spread != 0 && e.ULevelK > 0 {
		b = append(b, Standard("temperature level with unlike materials", e.ULevelK).
			Times(float64(size*spread)).Keyed(keyed("temperature level", setupKey)))
	}
	return append(b,
		Rectangular("expansion coefficient of the part", e.AlphaDoubt).
			Times(-float64(size*(e.PartC-20))).Keyed(keyed("expansion of part", partMaterialKey)),
		Rectangular("expansion coefficient of the gauge", e.AlphaDoubt).
			Times(float64(size*(e.GaugeC-20))).Keyed(keyed("expansion of gauge", gaugeMaterialKey)))
}

// SecondOrder returns the part that first order leaves out when the temperatures are close to 20 °C: doubt of a coefficient times doubt of its temperature
// (the Guide, H.1.7). It matters for gauge blocks; at a spindle it is some hundredths of a micrometre.
func (e Expansion) SecondOrder() Contribution {
	u := float64(e.SizeUm * e.AlphaDoubt / math.Sqrt(3) * e.UDifferenceK)
	return line("expansion, second order", u, DistributionNormal, u, math.Inf(1))
}

// keyed makes a correlation key; without a name the contribution stays independent.
func keyed(kind, name string) string {
	if name == "" {
		return ""
	}
	return kind + ":" + name
}
