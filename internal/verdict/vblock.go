package verdict

import (
	"math"
	"strconv"
	"strings"

	"runtrue/internal/form"
	"runtrue/internal/spindle"
)

// vBlock reads from the words for the support whether the part turned in V-blocks, at what included angle in degrees (0: not said), and whether the V held the very section that
// was read ("90° V-block at the section").
func vBlock(support string) (used bool, includedDeg float64, here bool) {
	words := strings.ToLower(support)
	used = strings.Contains(words, "v-block") || strings.Contains(words, "vee") || strings.Contains(words, "v block")
	if !used {
		return false, 0, false
	}
	for i := 0; i < len(words); i++ {
		j := i
		for j < len(words) && (words[j] >= '0' && words[j] <= '9' || words[j] == '.') {
			j++
		}
		if j == i {
			continue
		}
		rest := strings.TrimSpace(words[j:])
		if strings.HasPrefix(rest, "°") || strings.HasPrefix(rest, "deg") {
			if a, err := strconv.ParseFloat(words[i:j], 64); err == nil && a > 0 && a < 180 {
				includedDeg = a
			}
		}
		i = j
	}
	here = strings.Contains(words, "at the section") || strings.Contains(words, "at this section") || strings.Contains(words, "at the plane")
	return used, includedDeg, here
}

// mostLobes is up to what order a note names the factors: centreless-ground parts have three, five, rarely seven lobes (common practice, no source).
const mostLobes = 7

// vBlockNote says what V-blocks do to a reading.
func vBlockNote(includedDeg float64) string {
	words := "V-blocks put the form of the seats they bear on into every reading"
	if includedDeg == 0 {
		return words + "; their angle is not said"
	}
	words += "; where the V of " + number(includedDeg) + "° holds the section that is read, it shows "
	var shows []string
	for n := 2; n <= mostLobes; n++ {
		f := form.VBlockFactor(n, includedDeg)
		if f < 0 {
			f = -f
		}
		if _, err := form.FormFromVBlock(0, n, includedDeg); err != nil {
			shows = append(shows, strconv.Itoa(n)+" lobes not at all")
			continue
		}
		shows = append(shows, strconv.Itoa(n)+" lobes "+strconv.FormatFloat(f, 'f', 1, 64)+" times")
	}
	return words + listed(shows)
}

// roundnessInVBlock judges a sweep in V-blocks: as large as it truly is where the V holds the section, as it reads where it holds the part elsewhere. Where nobody said which,
// the part conforms only if it does either way. Unsure says why it cannot be told that it conforms.
func (q *inquiry) roundnessInVBlock(s sweep, plain form.Eccentric) (result estimate, unsure string) {
	_, included, here := vBlock(s.setup.Support)
	if included == 0 {
		return s.estimate(plain.FormUm, math.Sqrt2), "a V-block magnifies each number of lobes by a factor of its own: say its angle in the support (\"90° V-block\"), or sweep between centres"
	}
	v, err := form.EvaluateInVBlock(s.stations(), included)
	if err != nil {
		return s.estimate(plain.FormUm, math.Sqrt2), err.Error()
	}
	for _, o := range v.Orders {
		if o.TrueUm >= noDirection && o.TrueUm > v.FormUm/20 {
			q.figure(strconv.Itoa(o.K)+" lobes", 2*o.TrueUm, "µm", "peak to valley, from "+number(tidy(2*o.ShownUm))+" µm shown, factor "+number(tidy(o.Factor))+" of a V of "+number(included)+"°")
		}
	}
	result = s.estimate(v.FormUm, v.Gain)
	if len(v.Blind) > 0 {
		var orders []string
		for _, k := range v.Blind {
			orders = append(orders, strconv.Itoa(k))
		}
		return result, "a V of " + number(included) + "° does not show " + listed(orders) + " lobes: use a V of another angle, or sweep between centres"
	}
	if here {
		return result, ""
	}
	other := s.estimate(plain.FormUm, math.Sqrt2)
	inV, elsewhere := finding{estimate: result}, finding{estimate: other}
	inV.judge(q.band, q.c)
	elsewhere.judge(q.band, q.c)
	if inV.outcome == elsewhere.outcome {
		return result, ""
	}
	unsure = "in V-blocks at the section the form is " + q.finely(v.FormUm) + ", in V-blocks elsewhere " + q.finely(plain.FormUm) + ": say where they stand, or sweep between centres"
	if elsewhere.outcome == Fails { // report the one that does not condemn the part
		return result, unsure
	}
	return other, unsure
}

// supportNotes are the remarks on how the part was held.
func supportNotes(s *SetupState) []string {
	if used, included, _ := vBlock(s.Support); used && s.Mode == spindle.ModeIndicator {
		return []string{vBlockNote(included)}
	}
	return nil
}
