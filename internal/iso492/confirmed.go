package iso492

import "fmt"

// Status says in one term how well a value is confirmed by what publishers print.
type Status string

// From best to worst.
const (
	TwoOrMore       Status = "two_or_more"        // two or more independent publishers print it
	TwoWithHalfRule Status = "two_with_half_rule" // one prints it, another prints its double or half in the other edition
	HalfRule        Status = "half_rule"          // printed in the other edition only, as its double or half
	One             Status = "one"                // read from one publisher
	OneInchRounded  Status = "one_inch_rounded"   // an inch table rounded to 0.0001 in agrees, nothing finer
	Memory          Status = "memory"             // from memory of the standard, read nowhere
)

// Statuses returns every status from best to worst.
func Statuses() []Status {
	return []Status{TwoOrMore, TwoWithHalfRule, HalfRule, One, OneInchRounded, Memory}
}

// rank is the place in Statuses; -1 for a status that is none.
func (s Status) rank() int {
	for i, other := range Statuses() {
		if s == other {
			return i
		}
	}
	return -1
}

// Weakest is the worst status among the values; empty for no values.
func Weakest(values []Value) Status {
	var weakest Status
	for _, v := range values {
		if v.Status.rank() > weakest.rank() {
			weakest = v.Status
		}
	}
	return weakest
}

// Confirmed says in words how well the value is confirmed; for Memory it begins with "from memory", which every showing of the value repeats.
func (v Value) Confirmed() string {
	switch v.Status {
	case TwoOrMore:
		return fmt.Sprintf("%d independent publishers print it alike", v.Publishers)
	case TwoWithHalfRule:
		return "printed by one publisher, and by another as its double or half in the other edition"
	case HalfRule:
		return "printed in the other edition only; this one is its double or half"
	case One:
		return "read from one publisher"
	case OneInchRounded:
		return "only an inch table, rounded to 0.0001 in, agrees"
	}
	return "from memory of the standard; no print read has it"
}
