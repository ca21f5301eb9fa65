package verdict

import (
	"cmp"
	"strconv"

	"runtrue/internal/spindle"
)

// attribute judges a question answered by yes (good) or no. Both answers at one place are a conflict, whoever gave them.
func (q *inquiry) attribute() {
	q.out.Rule = "yes is good"
	list := q.answers(func(r spindle.Reading) bool { return r.Yes != nil })
	complete := q.tally(list)
	question := cmp.Or(q.c.Ask, subject(q.in.Spec))
	if len(list) == 0 {
		q.out.Outcome = Incomplete
		q.out.Sentence = subject(q.in.Spec) + " is not looked at: " + question
		return
	}
	outcome, where := Conforms, list[0]
	for i := range list {
		a := &list[i]
		a.outcome = Conforms
		if !*a.Reading.Yes {
			a.outcome = Fails
		}
		if a.doubt != "" {
			a.outcome = CannotBeTold
		}
		for j := range list[:i] {
			if at(list[j]) == at(*a) && *list[j].Reading.Yes != *a.Reading.Yes && list[j].doubt == "" && a.doubt == "" {
				a.outcome, list[j].outcome = InConflict, InConflict
			}
		}
	}
	for _, a := range list {
		if severity(a.outcome) < severity(outcome) {
			outcome, where = a.outcome, a
		}
	}
	if severity(outcome) > severity(Incomplete) && !complete {
		outcome = Incomplete
	}
	q.out.Outcome = outcome
	q.out.Stations = q.answerStations(list)
	switch outcome {
	case Conforms:
		q.out.Sentence = subject(q.in.Spec) + " is good: " + question + " Yes"
	case Fails:
		q.out.Sentence = subject(q.in.Spec) + " is not good: " + question + " No" + by(where.Person)
	case InConflict:
		q.out.Sentence = subject(q.in.Spec) + " is in conflict: " + question + " was answered by yes and by no" + "; look again and strike one"
	case Incomplete:
		q.out.Sentence = subject(q.in.Spec) + " is incomplete: " + strconv.Itoa(q.out.Have) + " of " + strconv.Itoa(q.out.Need) + " answered: " + question
	default:
		q.out.Settle, q.out.Doubtful = where.doubt, where.doubt
		q.out.Sentence = subject(q.in.Spec) + " cannot be told: " + where.doubt
	}
}

func by(person string) string {
	if person == "" {
		return ""
	}
	return ", says " + person
}
