package verdict

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"runtrue/internal/spindle"
)

// limitsAsTheyAre is the rule for quantities, whose gauges state no uncertainty here.
const limitsAsTheyAre = "limits as they are, no uncertainty stated"

// answered is one quantity or answer with the station it belongs to.
type answered struct {
	Observation
	doubt   string
	outcome Outcome
	reason  string // why it cannot be told
}

// answers returns the observations of the characteristic that are quantities (or yes/no), in an order that does not depend on how they arrived.
func (q *inquiry) answers(usable func(spindle.Reading) bool) []answered {
	var list []answered
	for _, o := range q.in.Observations {
		if o.Reading.Characteristic != q.c.Name || !usable(o.Reading) {
			continue
		}
		a := answered{Observation: o}
		if o.Reading.Setup != "" {
			if s, known := q.in.Setups[o.Reading.Setup]; known {
				a.doubt = cmp.Or(s.Overdue, s.Doubted)
			} else {
				a.doubt = "a reading rests on set-up " + o.Reading.Setup + ", which is not here"
			}
		}
		list = append(list, a)
	}
	order := byPlan(q.plannedStations(q.c.Name))
	inOrder(list, func(a, b *answered) int {
		return cmp.Or(order(at(*a), at(*b)), cmp.Compare(a.Reading.Repeat, b.Reading.Repeat), strings.Compare(a.Person, b.Person), strings.Compare(a.ID, b.ID))
	})
	return list
}

func at(a answered) StationName { return StationName{Plane: a.Reading.Plane, Angle: a.Reading.Angle} }

// tally counts stations, or readings where the plan wants a number of them, such as three strokes of a drawbar.
func (q *inquiry) tally(list []answered) (complete bool) {
	var read []StationName
	for _, a := range list {
		if !slices.Contains(read, at(a)) {
			read = append(read, at(a))
		}
	}
	complete = q.count(read)
	if n := q.in.Spec.Plan.MinN; n > 0 {
		q.out.Need, q.out.Have = n, len(list)
		complete = len(list) >= n
		if complete {
			q.out.Missing = nil
		}
	}
	return complete
}

// quantity judges values with a unit of their own against limits in the same unit. Every value must lie within; the worst is reported.
func (q *inquiry) quantity() {
	q.out.Rule = limitsAsTheyAre
	q.out.LowerQ, q.out.UpperQ = copied(q.c.LowerQ), copied(q.c.UpperQ)
	list := q.answers(func(r spindle.Reading) bool { return r.Quantity != nil })
	complete := q.tally(list)
	limits := quantityLimits(q.c)
	if len(list) == 0 {
		q.out.Outcome = Incomplete
		q.out.Sentence = q.title() + " is not measured (" + limits + ")"
		return
	}
	worst := 0
	for i := range list {
		list[i].outcome, list[i].reason = judgeQuantity(*list[i].Reading.Quantity, q.c)
		if list[i].doubt != "" {
			list[i].outcome, list[i].reason = CannotBeTold, list[i].doubt
		}
		order := cmp.Or(cmp.Compare(severity(list[i].outcome), severity(list[worst].outcome)), cmp.Compare(roomOf(list[i], q.c), roomOf(list[worst], q.c)))
		if order < 0 {
			worst = i
		}
	}
	w := list[worst]
	value := *w.Reading.Quantity
	q.out.Quantity = &value
	q.out.Outcome = w.outcome
	if w.outcome != Fails && !complete {
		q.out.Outcome = Incomplete
	}
	q.out.Stations = q.answerStations(list)
	words := QuantityWords(value)
	switch q.out.Outcome {
	case Conforms:
		q.out.Sentence = q.title() + " conforms: worst " + words + " (" + limits + ")"
	case Fails:
		q.out.Sentence = q.title() + " is " + words + ", wanted " + limits
	case Incomplete:
		q.out.Sentence = q.title() + " is incomplete: " + strconv.Itoa(q.out.Have) + " of " + plural(q.out.Need, "reading", "readings") + ", so far " + words + " (" + limits + ")"
	default:
		q.out.Settle, q.out.Doubtful = w.reason, w.doubt
		q.out.Sentence = q.title() + " cannot be told: " + w.reason + " (" + words + "; " + limits + ")"
	}
}

// title names a quantity or a point by its feature: the characteristic's own name would say nothing.
func (q *inquiry) title() string { return subject(q.in.Spec) }

// judgeQuantity holds one value against the limits, exactly, in decimals.
func judgeQuantity(v spindle.Quantity, c spindle.Characteristic) (Outcome, string) {
	outcome, reason := Conforms, ""
	for _, limit := range []struct {
		q     *spindle.Quantity
		lower bool
	}{{c.LowerQ, true}, {c.UpperQ, false}} {
		if limit.q == nil {
			continue
		}
		if limit.q.Unit != v.Unit {
			return CannotBeTold, "the value is in " + v.Unit + " and the limit in " + limit.q.Unit + ": read it in the unit of the limit"
		}
		// inside < 0: beyond the limit; > 0: within.
		inside := compareDecimal(v, *limit.q)
		away := ">" // the bound that points into the tolerance
		if !limit.lower {
			inside, away = -inside, "<"
		}
		switch {
		case v.Bound == "" && inside < 0, v.Bound != "" && v.Bound != away && inside <= 0:
			return Fails, ""
		case v.Bound != "" && v.Bound != away, v.Bound == away && inside < 0:
			outcome, reason = CannotBeTold, "a reading beyond the range of the gauge does not show on which side of the limit the value lies: use a gauge that reaches it"
		}
	}
	return outcome, reason
}

// compareDecimal compares two decimals exactly, without their bounds.
func compareDecimal(a, b spindle.Quantity) int {
	signA, digitsA, exponentA := parts(a)
	signB, digitsB, exponentB := parts(b)
	if signA != signB || signA == 0 {
		return cmp.Compare(signA, signB)
	}
	order := cmp.Compare(len(digitsA)+exponentA, len(digitsB)+exponentB)
	if order == 0 {
		order = strings.Compare(digitsA, digitsB) // trailing zeros are gone, so a prefix is the smaller number
	}
	return signA * order
}

func parts(q spindle.Quantity) (sign int, digits string, exponent int) {
	if q.Value == 0 {
		return 0, "", 0
	}
	digits = strconv.FormatInt(q.Value, 10)
	sign = 1
	if digits[0] == '-' {
		sign, digits = -1, digits[1:]
	}
	exponent = q.Exp10
	for strings.HasSuffix(digits, "0") {
		digits, exponent = digits[:len(digits)-1], exponent+1
	}
	return sign, digits, exponent
}

// roomOf orders values of equal outcome: distance to the nearer limit, in the unit.
func roomOf(a answered, c spindle.Characteristic) float64 {
	v := float(*a.Reading.Quantity)
	room := v
	switch {
	case c.LowerQ != nil && c.UpperQ != nil:
		room = min(v-float(*c.LowerQ), float(*c.UpperQ)-v)
	case c.LowerQ != nil:
		room = v - float(*c.LowerQ)
	case c.UpperQ != nil:
		room = float(*c.UpperQ) - v
	}
	return room
}

// float is the nearest float64; reading it back from decimals rounds once, on every machine alike. An exponent out of range gives 0 or infinity in size.
func float(q spindle.Quantity) float64 {
	v, err := strconv.ParseFloat(strconv.FormatInt(q.Value, 10)+"e"+strconv.Itoa(q.Exp10), 64)
	if err != nil {
		return v // ±Inf: beyond every limit, as it should be
	}
	return v
}

// QuantityWords writes a quantity as it was typed: "> 2000 MΩ", "8.5 kN".
func QuantityWords(q spindle.Quantity) string {
	digits := strconv.FormatInt(q.Value, 10)
	sign := ""
	if strings.HasPrefix(digits, "-") {
		sign, digits = "−", digits[1:]
	}
	switch {
	case q.Exp10 > 0 && q.Value != 0 && q.Exp10 <= 18:
		digits += strings.Repeat("0", q.Exp10)
	case q.Exp10 < 0 && q.Exp10 >= -18:
		digits = strings.Repeat("0", max(0, 1-q.Exp10-len(digits))) + digits
		digits = digits[:len(digits)+q.Exp10] + "." + digits[len(digits)+q.Exp10:]
	}
	words := sign + digits + " " + q.Unit
	if q.Bound != "" {
		words = q.Bound + " " + words
	}
	return words
}

func quantityLimits(c spindle.Characteristic) string {
	switch {
	case c.LowerQ != nil && c.UpperQ != nil:
		return QuantityWords(*c.LowerQ) + " … " + QuantityWords(*c.UpperQ)
	case c.LowerQ != nil:
		return "at least " + QuantityWords(*c.LowerQ)
	case c.UpperQ != nil:
		return "at most " + QuantityWords(*c.UpperQ)
	}
	return "no limits"
}

// answerStations lists who answered where. A quantity has no length to show, so that the stations carry people and outcome only.
func (q *inquiry) answerStations(list []answered) []Station {
	var out []Station
	for _, a := range list {
		n := len(out) - 1
		if n < 0 || out[n].Plane != a.Reading.Plane || out[n].Angle != a.Reading.Angle {
			out = append(out, Station{Plane: a.Reading.Plane, Angle: a.Reading.Angle, Outcome: a.outcome})
			n++
		}
		out[n].N++
		out[n].IDs = append(out[n].IDs, a.ID)
		out[n].People = addNote(out[n].People, a.Person)
		if severity(a.outcome) < severity(out[n].Outcome) {
			out[n].Outcome = a.outcome
		}
	}
	return out
}
