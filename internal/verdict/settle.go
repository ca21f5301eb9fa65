package verdict

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/uncertainty"
)

// Settling is one act that would turn a "cannot be told" into a verdict, if the value came out the same again.
type Settling struct {
	Act    string `json:"act"`    // in words: "read every station 2 times as often as now"
	Enough bool   `json:"enough"` // by itself; else it helps, and another must join it
	// U is the expanded uncertainty, 2u, of the value once it is done.
	U length.Length `json:"U_pm"`
}

// settle says what would turn a "cannot be told" into a verdict, and lists the acts one by one.
func (q *inquiry) settle(w finding) string {
	switch {
	case w.doubt != "":
		return w.doubt
	case w.lacking != "":
		return w.lacking
	}
	if w.outcome == Conforms {
		return q.out.Doubtful
	}
	needed, err := uncertainty.NeededU(w.value().Micrometres(), q.band.limits(q.c.Name))
	switch {
	case errors.Is(err, uncertainty.ErrOnLimit):
		return "the value lies on its limit, where no gauge can decide: ask for a concession or finish the part further inside"
	case err != nil:
		return err.Error()
	}
	q.out.SettleBy = settlings(w.estimate, needed.U)
	u := toLength(needed.U)
	words := "needs u ≤ " + length.Format(u, length.Micrometres, 3) + ", U ≤ " + length.Format(toLength(needed.Expanded()), length.Micrometres, 2) + ": "
	if q.out.SettleBy[0].Enough {
		return words + q.out.SettleBy[0].Act
	}
	return words + together(q.out.SettleBy, w.estimate, needed.U)
}

// What a careful second measurement reaches (common practice, no source).
const (
	carefulK    = 0.2 // K, standard uncertainty of a difference of temperatures measured by contact
	mostRepeats = 10  // times as many readings as now that a person can be asked for
)

// part is a share of the variance with what shrinks it.
type part struct {
	kind     kind
	variance float64 // µm²
}

// settlings lists the acts that shrink the uncertainty of a value towards target, µm, k = 1: those that are enough by themselves first, then by how much they help.
// There is always one: a better gauge.
func settlings(e estimate, target float64) []Settling {
	total := e.variance()
	parts := [6]part{}
	for _, t := range e.terms {
		parts[t.kind].variance += float64(t.um * t.um)
	}
	var list []Settling
	add := func(act string, variance float64) {
		list = append(list, Settling{Act: act, Enough: variance <= float64(target*target)*(1+1e-9), U: toLength(2 * math.Sqrt(math.Max(0, variance)))})
	}
	if heat := parts[ofTemperature].variance; heat > 0 {
		if off := heat - soaked(e.terms); off > 0 {
			add("let it soak, part and master at one temperature, and measure both temperatures (to u = "+number(carefulK)+" K)", total-off)
		}
	}
	if v := parts[ofExpansion].variance; v > 0 {
		add("measure near 20 °C, where the expansion coefficients do not matter", total-v)
	}
	if v := parts[ofDrift].variance; v > 0 {
		add("set the zero again and read at once, so that it does not move in between", total-v)
	}
	if v := parts[ofRepeats].variance + parts[ofReading].variance; v > 0 {
		fixed := total - v
		times := 2.0
		if room := float64(target*target) - fixed; room > 0 {
			times = math.Max(2, math.Ceil(v/room-1e-9))
		}
		if times > mostRepeats {
			times = mostRepeats
		}
		add("read every station "+plural(int(times), "time", "times")+" as often as now", fixed+v/times)
	}
	if v := parts[ofGauge].variance; v > 0 || len(list) == 0 {
		add(betterGauge(target, total-v), math.Min(total, math.Max(total-v, float64(target*target))))
	}
	// Enough first, then the greatest help; the order above breaks ties.
	for i := 1; i < len(list); i++ {
		for j := i; j > 0 && before(list[j], list[j-1]); j-- {
			list[j], list[j-1] = list[j-1], list[j]
		}
	}
	return list
}

// soaked returns what remains of the temperatures' variance once the part has come to the temperature of its partner, less what the part's coefficient of expansion then no
// longer contributes: it acts through the part's distance from 20 °C, which becomes that of the partner.
func soaked(terms []term) float64 {
	left, partner := 0.0, 0.0
	for _, t := range terms {
		if t.kind == ofExpansion && strings.HasPrefix(t.key, "expansion of gauge") && t.u > 0 {
			partner = math.Max(partner, math.Abs(t.um/t.u))
		}
	}
	for _, t := range terms {
		switch {
		case t.kind == ofTemperature && t.u > 0:
			v := float64(t.um / t.u * math.Min(carefulK, t.u))
			left += float64(v * v)
		case t.kind == ofExpansion && strings.HasPrefix(t.key, "expansion of part"):
			then := math.Min(math.Abs(t.um), float64(partner*t.u))
			left -= float64(t.um*t.um) - float64(then*then)
		}
	}
	return left
}

func before(a, b Settling) bool {
	if a.Enough != b.Enough {
		return a.Enough
	}
	return !a.Enough && a.U < b.U
}

// betterGauge names the calibration uncertainty that leaves target in all, given the variance of everything else.
func betterGauge(target, rest float64) string {
	room := float64(target*target) - rest
	if room <= 0 {
		return gaugeRemedy
	}
	u := math.Sqrt(room)
	return gaugeRemedy + " (gauge and master together U ≤ " + strconv.FormatFloat(floor3(2*u), 'f', -1, 64) + " µm)"
}

// floor3 rounds a limit down to a thousandth, so that what is printed is enough.
func floor3(x float64) float64 { return math.Floor(float64(x*1000)+1e-6) / 1000 }

// together joins acts, none of which is enough by itself, until they are: what the person can do at once first, a better gauge last.
func together(list []Settling, e estimate, target float64) string {
	total, gauge, enough := e.variance(), 0.0, float64(target*target)
	for _, t := range e.terms {
		if t.kind == ofGauge {
			gauge += float64(t.um * t.um)
		}
	}
	left := total
	var acts []string
	for _, s := range list {
		if strings.HasPrefix(s.Act, gaugeRemedy) || left <= enough {
			continue
		}
		half := float64(0.5 * s.U.Micrometres())
		left -= total - float64(half*half)
		acts = append(acts, s.Act)
	}
	if left > enough {
		acts = append(acts, betterGauge(target, left-gauge))
		if left-gauge >= enough {
			return strings.Join(acts, ", and ") + "; even all of this may not be enough"
		}
	}
	return strings.Join(acts, ", and ")
}
