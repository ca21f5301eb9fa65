package verdict

import (
	"errors"
	"math"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/uncertainty"
)

// settle says what would turn a "cannot be told" into a verdict.
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
	u := toLength(needed.U)
	return "needs u ≤ " + length.Format(u, length.Micrometres, 3) + ", U ≤ " + length.Format(toLength(needed.Expanded()), length.Micrometres, 2) + ": " + remedy(w.estimate, needed.U)
}

// remedy names the act that shrinks the largest part of the uncertainty, given the standard uncertainty in µm that would settle the value.
func remedy(e estimate, target float64) string {
	var heat, drift, repeats, rest float64
	for _, t := range e.terms {
		v := float64(t.um * t.um)
		switch {
		case t.heat:
			heat += v
		case t.within != "", strings.HasPrefix(t.key, "opening:"):
			drift += v
		case strings.HasPrefix(t.source, "repeatability"):
			repeats += v
		default:
			rest += v
		}
	}
	total := heat + drift + repeats + rest
	switch {
	case heat > total/2:
		return "let it soak, part and master at one temperature, and measure both temperatures"
	case drift > total/2:
		return "set the zero again and read at once"
	case repeats > total/2 && float64(target*target) > total-repeats:
		times := math.Ceil(repeats / (float64(target*target) - (total - repeats)))
		if times <= 10 {
			return "read every station " + plural(int(times), "time", "times") + " as often as now"
		}
	}
	return gaugeRemedy
}
