package engine

import (
	"fmt"
	"strconv"
	"strings"

	"runtrue/internal/hold"
	"runtrue/internal/length"
	"runtrue/internal/list"
	"runtrue/internal/record"
	"runtrue/internal/sheet"
	"runtrue/internal/slip"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

func (e *Engine) build(a jobArgs) (*sheet.Sheet, error) {
	l, err := e.get(a.Job)
	if err != nil {
		return nil, err
	}
	return sheet.FromState(l.fold(), judge(l, a)), nil
}

func (e *Engine) sheet(a jobArgs) (*sheet.Sheet, error) { return e.build(a) }

func (e *Engine) line(a jobArgs) (sheet.JobLine, error) {
	s, err := e.build(a)
	if err != nil {
		return sheet.JobLine{}, err
	}
	return s.Line(), nil
}

func (e *Engine) shop() *record.Shop {
	l := e.jobs[record.ShopJob]
	if l == nil {
		l = &loaded{job: record.NewJob(record.ShopJob)}
	}
	return record.FoldShop(l.job)
}

type exportArgs struct {
	jobArgs
	Format string `json:"format"`
}

type exported struct {
	Name string `json:"name"`
	Type string `json:"type"`
	Text string `json:"text"`
}

func (e *Engine) export(a exportArgs) (exported, error) {
	s, err := e.build(a.jobArgs)
	if err != nil {
		return exported{}, err
	}
	name, kind, body, err := list.Export(s, a.Format)
	if err != nil {
		return exported{}, err
	}
	return exported{Name: name, Type: kind, Text: string(body)}, nil
}

type understandArgs struct {
	Job            string          `json:"job"`
	Feature        string          `json:"feature"`
	Characteristic string          `json:"characteristic"`
	Setup          record.ID       `json:"setup"`
	Text           string          `json:"text"`
	Unit           string          `json:"unit"`
	Means          spindle.Meaning `json:"means"`
}

// Understood is what was typed, as it will be kept.
type Understood struct {
	OK    bool   `json:"ok"`
	Words string `json:"words"` // where not ok: what is wrong and what would be read
	// Value is what was read; Deviation is that as deviation from nominal (sizes) or plain value, before any correction.
	Value     *length.Length `json:"value_pm,omitempty"`
	Shown     string         `json:"shown,omitempty"`
	Deviation *length.Length `json:"deviation_pm,omitempty"`
	Ask       string         `json:"ask,omitempty"` // a question to put before keeping; never a refusal
	// Questions are all of them, the likeliest first (the first is Ask), each with what was probably meant.
	Questions []slip.Question   `json:"questions,omitempty"`
	Quantity  *spindle.Quantity `json:"quantity,omitempty"`
}

func (e *Engine) understand(a understandArgs) (Understood, error) {
	l, err := e.get(a.Job)
	if err != nil {
		return Understood{}, err
	}
	if a.Means == spindle.MeansQuantity {
		out := quantity(a)
		if f := l.fold().Feature(a.Feature); f != nil && out.OK {
			if c, ok := f.Spec().Characteristic(a.Characteristic); ok {
				out.ask(slip.AskQuantity(*out.Quantity, c.LowerQ, c.UpperQ))
			}
		}
		return out, nil
	}
	value, err := length.ParseIn(a.Text, length.Unit(a.Unit))
	if err != nil {
		return Understood{Words: err.Error()}, nil
	}
	out := Understood{OK: true, Value: &value}
	f := l.fold().Feature(a.Feature)
	if f == nil {
		if a.Feature != spindle.MasterFeature {
			return Understood{Words: fmt.Sprintf("the job has no feature %s", a.Feature)}, nil
		}
		out.Deviation = &value
		out.Shown = length.FormatSigned(value, length.Micrometres, 2)
		out.ask(slip.Ask(l.zero(a)))
		return out, nil
	}
	spec := f.Spec()
	deviation := value
	switch a.Means {
	case spindle.MeansSize:
		deviation = value - spec.Nominal
	case spindle.MeansFromMaster:
		if setup := l.setup(a.Setup); setup != nil && setup.Master != nil {
			deviation = setup.Master.Certified + value - spec.Nominal
		}
	}
	out.Deviation = &deviation
	out.Shown = length.FormatSigned(deviation, length.Micrometres, 2)
	out.ask(slip.Ask(l.typed(a, spec)))
	return out, nil
}

func (u *Understood) ask(questions []slip.Question) {
	if len(questions) > 0 {
		u.Ask, u.Questions = questions[0].Ask, questions
	}
}

func (l *loaded) setup(id record.ID) *spindle.Setup {
	for _, f := range l.fold().Setups {
		if f.First.ID == id {
			constants := f.Constants()
			return &constants
		}
	}
	return nil
}

// quantity reads a decimal number with an optional bound, digit for digit.
func quantity(a understandArgs) Understood {
	text := strings.ReplaceAll(strings.TrimSpace(a.Text), ",", ".")
	q := spindle.Quantity{Unit: a.Unit}
	if text != "" && (text[0] == '>' || text[0] == '<') {
		q.Bound, text = text[:1], strings.TrimSpace(text[1:])
	}
	text = strings.Replace(text, "−", "-", 1)
	whole, decimals, _ := strings.Cut(text, ".")
	n, err := strconv.ParseInt(whole+decimals, 10, 64)
	if err != nil || strings.Contains(decimals, ".") || strings.ContainsAny(decimals, "+-") {
		return Understood{Words: fmt.Sprintf("%q is not a number in %s", a.Text, a.Unit)}
	}
	q.Value, q.Exp10 = n, -len(decimals)
	if err := q.Check(); err != nil {
		return Understood{Words: err.Error()}
	}
	return Understood{OK: true, Quantity: &q, Shown: a.Text + " " + a.Unit}
}

type capableArgs struct {
	Job            string        `json:"job"`
	Feature        string        `json:"feature"`
	Characteristic string        `json:"characteristic"`
	Setup          spindle.Setup `json:"setup"`
}

type capable struct {
	Can    bool          `json:"can"`
	BestPC float64       `json:"best_pc"`
	BoundU length.Length `json:"bound_U_pm"`
	Words  string        `json:"words"`
}

// capable says before the first reading whether the set-up can ever decide the characteristic.
func (e *Engine) capable(a capableArgs) (capable, error) {
	l, err := e.get(a.Job)
	if err != nil {
		return capable{}, err
	}
	f := l.fold().Feature(a.Feature)
	if f == nil {
		return capable{}, fmt.Errorf("%w: the job has no feature %s", errInput, a.Feature)
	}
	can, best, bound, words := verdict.GaugeCanDecide(f.Spec(), a.Characteristic, verdict.SetupState{Setup: a.Setup})
	return capable{Can: can, BestPC: best, BoundU: bound, Words: words}, nil
}

func judge(l *loaded, a jobArgs) *hold.Judgement { return hold.Judge(l.fold(), a.Overlay) }
