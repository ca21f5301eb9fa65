package explain

import (
	"strconv"
	"strings"

	"runtrue/internal/portablemath"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

func limits(t verdict.Trace) Step {
	s := Step{Key: "limits", Title: "What is allowed", Source: t.LimitsFrom}
	row := func(name, value string) {
		if value != "" {
			s.Rows = append(s.Rows, Row{Cells: []string{name, value}})
		}
	}
	if t.Lower != nil {
		row("lower limit", signedFor(t.Name, t.Lower.Micrometres())+" µm")
	}
	if t.Upper != nil {
		row("upper limit", signedFor(t.Name, t.Upper.Micrometres())+" µm")
	}
	if t.Lower != nil && t.Upper != nil {
		row("tolerance T", um((*t.Upper-*t.Lower).Micrometres())+" µm")
	}
	if t.LowerQ != nil {
		row("lower limit", verdict.QuantityWords(*t.LowerQ))
	}
	if t.UpperQ != nil {
		row("upper limit", verdict.QuantityWords(*t.UpperQ))
	}
	if t.Margin != nil {
		row("margin", signed(t.Margin.Micrometres())+" µm (to the nearer limit, positive inside)")
	}
	if t.Conceded != "" {
		row("conceded by", t.Conceded)
	}
	return s
}

// decision works p_c out with its numbers.
func decision(t verdict.Trace) Step {
	s := Step{Key: "decision", Title: "The decision", Words: []string{"rule: " + t.Rule}}
	if t.PC != nil && t.Value != nil && t.U != nil {
		s.Formula, s.Source = "p_c = Φ((T_U − y)/u) − Φ((T_L − y)/u)", "JCGM 106:2012, 7.2"
		y, u := t.Value.Micrometres(), t.U.Micrometres()/2
		side := func(limit float64) string { return "Φ((" + um(limit) + " − " + bracketed(y) + ")/" + um(u) + ")" }
		var words string
		switch {
		case t.Lower != nil && t.Upper != nil:
			words = side(t.Upper.Micrometres()) + " − " + side(t.Lower.Micrometres())
		case t.Upper != nil:
			words = side(t.Upper.Micrometres())
		case t.Lower != nil:
			words = "1 − " + side(t.Lower.Micrometres())
		}
		s.Words = append(s.Words, "p_c = "+words+" = "+strconv.FormatFloat(*t.PC, 'f', 6, 64))
		if strings.HasPrefix(t.Rule, "guarded") {
			s.Words = append(s.Words, "conforms from p_c = 0.95; fails where one tail alone is 0.95; the guard at one limit is 1.645·u = 0.82·U = "+um(portablemath.NormalQuantile(0.95)*u)+" µm")
		}
	}
	if t.Doubtful != "" {
		s.Words = append(s.Words, "in doubt: "+t.Doubtful)
	}
	s.Words = append(s.Words, "so it "+verb(t.Outcome))
	return s
}

func bracketed(x float64) string {
	if x < 0 {
		return "(" + um(x) + ")"
	}
	return um(x)
}

func verb(o verdict.Outcome) string {
	switch o {
	case verdict.Conforms, verdict.Fails, verdict.CannotBeTold:
		return string(o)
	}
	return "is " + string(o)
}

func settle(t verdict.Trace) Step {
	s := Step{Key: "settle", Title: "What would settle it"}
	if t.Outcome != verdict.CannotBeTold {
		return s
	}
	if t.Settle != "" {
		s.Words = append(s.Words, t.Settle)
	}
	if len(t.SettleBy) > 0 {
		s.Head = []string{"act", "U then, µm", ""}
	}
	for _, by := range t.SettleBy {
		enough := "helps"
		if by.Enough {
			enough = "is enough"
		}
		s.Rows = append(s.Rows, Row{Cells: []string{by.Act, um(by.U.Micrometres()), enough}})
	}
	return s
}

func mend(t verdict.Trace) Step {
	s := Step{Key: "mend", Title: "What would mend it"}
	if t.Mend == nil {
		return s
	}
	m := t.Mend
	if t.Name == spindle.Size {
		s.Formula, s.Source = "from the worst size to the limits drawn in by 1.645·u, aim in the middle", "the same guard as the decision"
	}
	s.Rows = []Row{{Cells: []string{string(m.Direction), "from " + um(m.From.Micrometres()) + " to " + um(m.To.Micrometres()) + " µm, aim " + um(m.Aim.Micrometres()) + " µm"}}}
	allowed := "not allowed: "
	if m.Allowed {
		allowed = "allowed: "
	}
	s.Words = []string{allowed + m.Why}
	return s
}

func notes(t verdict.Trace) Step {
	return Step{Key: "notes", Title: "To be borne in mind", Words: t.Notes}
}
