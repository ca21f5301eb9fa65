package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/seat"
)

const seatUsage = `usage: runtrue seat PART SIZE --bearing-class CLASS [options]

Proposes what a bearing seat and its neighbours must be where the drawing is
silent, from what bearing makers print. Everything printed is a proposal, not
the drawing's: it is valid once an inspector has accepted it.

  PART   shaft, housing, inner-spacer, outer-spacer or nut
  SIZE   nominal seat diameter of a shaft or beside a nut, bore of a housing or
         an inner spacer, outside diameter of an outer spacer; bare numbers in mm

  --bearing-class CLASS  Normal, 6, 5, 4, 2, P4S, or C (precision tapered)
  --maker NAME           one maker; without it every maker, side by side
  --position POSITION    fixed or floating end
  --load LOAD            light, normal or heavy
  --rotating RING        the ring that turns against the load: inner (default), outer
  --type TYPE            angular-contact ball (default), cylindrical roller,
                         double direction angular-contact thrust ball,
                         tapered roller, screw support
  --demand DEMAND        for class Normal: normal or higher running accuracy
  --seat-distance SIZE   of the two seats, where coaxiality is given per length
  --json                 print one JSON object; keys end in their unit
  --help                 print this

`

// runSeat answers `runtrue seat`. Exit status: 0 done; 1 a word or the size is malformed, out of range, or nothing is proposed, with nothing
// on stdout; 2 wrong usage.
func runSeat(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("seat", flag.ContinueOnError)
	flags.SetOutput(io.Discard) // the messages are printed here, once
	asJSON := flags.Bool("json", false, "")
	class := flags.String("bearing-class", "", "")
	maker := flags.String("maker", "", "")
	position := flags.String("position", "", "")
	load := flags.String("load", "", "")
	rotating := flags.String("rotating", "", "")
	kind := flags.String("type", "", "")
	demand := flags.String("demand", "", "")
	distance := flags.String("seat-distance", "", "")
	words, options := separate(joinValues(args, flags))
	if err := flags.Parse(options); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			fmt.Fprint(stdout, seatUsage)
			return exitDone
		}
		fmt.Fprintf(stderr, "runtrue seat: %v\n%s", err, seatUsage)
		return exitUsage
	}
	fields := strings.Fields(strings.Join(words, " "))
	if len(fields) < 2 || *class == "" {
		fmt.Fprintf(stderr, "runtrue seat: a part, a size and a bearing class are needed, such as: runtrue seat shaft 70 --bearing-class 4\n%s", seatUsage)
		return exitUsage
	}
	fail := func(err error) int {
		fmt.Fprintf(stderr, "runtrue seat: %v\n", err)
		return exitFault
	}
	request := seat.Request{Part: seat.Part(strings.ReplaceAll(fields[0], "-", " ")), Type: seat.BearingType(*kind), Rotating: seat.Rotation(*rotating),
		Position: seat.Position(*position), Load: seat.Load(*load), Demand: seat.Demand(*demand), Maker: *maker}
	var err error
	if request.Nominal, err = length.ParseIn(strings.Join(fields[1:], " "), length.Millimetres); err != nil {
		return fail(fmt.Errorf("size %w", err))
	}
	if request.Class, err = seat.ParseBearingClass(*class); err != nil {
		return fail(err)
	}
	if *distance != "" {
		if request.SeatDistance, err = length.ParseIn(*distance, length.Millimetres); err != nil {
			return fail(fmt.Errorf("seat distance %w", err))
		}
	}
	proposals, err := seat.Propose(request)
	if err != nil {
		return fail(err)
	}
	var out bytes.Buffer
	if *asJSON {
		err = writeSeatJSON(&out, request, proposals)
	} else {
		writeSeat(&out, request, proposals)
	}
	if err == nil {
		_, err = stdout.Write(out.Bytes())
	}
	if err != nil {
		return fail(fmt.Errorf("writing the answer: %w", err))
	}
	return exitDone
}

// joinValues writes "--load", "heavy" as "--load=heavy", so that an option's value is not taken for a word of the question.
func joinValues(args []string, flags *flag.FlagSet) []string {
	var joined []string
	for i := 0; i < len(args); i++ {
		if args[i] == "--" {
			return append(joined, args[i:]...)
		}
		option := flags.Lookup(strings.TrimLeft(args[i], "-"))
		takesValue := strings.HasPrefix(args[i], "-") && option != nil && option.Name != "json"
		if takesValue && i+1 < len(args) {
			joined = append(joined, args[i]+"="+args[i+1])
			i++
			continue
		}
		joined = append(joined, args[i])
	}
	return joined
}

func writeSeat(out *bytes.Buffer, r seat.Request, proposals []seat.Proposal) {
	fmt.Fprintf(out, "%s %s, bearing class %s: proposals, not from the drawing; valid once an inspector has accepted them\n", r.Part, millimetres(r.Nominal), r.Class)
	var makers []string
	for _, p := range proposals {
		if p.Open == "" && !slices.Contains(makers, p.Maker) {
			makers = append(makers, p.Maker)
		}
	}
	if len(makers) > 1 {
		fmt.Fprintf(out, "%d makers, who disagree: take one and name it with --maker, never a mixture\n", len(makers))
	}
	for i, p := range proposals {
		if i == 0 || p.Group != proposals[i-1].Group {
			fmt.Fprintf(out, "%s\n", p.Group)
		}
		if p.Open != "" {
			what := ""
			if p.Characteristic != "" {
				what = p.Characteristic + ", "
			}
			fmt.Fprintf(out, "  %s: %sopen: %s\n", p.Maker, what, p.Open)
			continue
		}
		fmt.Fprintf(out, "  %s: %s %s", p.Maker, p.Characteristic, seatValue(p))
		if p.Condition != "" {
			fmt.Fprintf(out, ", %s", p.Condition)
		}
		out.WriteByte('\n')
		if p.Fit != nil {
			fmt.Fprintf(out, "    with a ring of the class: %s %s to %s\n", p.Fit.Is, micrometres(p.Fit.Min), micrometres(p.Fit.Max))
		}
		fmt.Fprintf(out, "    %s; %s; %s\n", p.Words(), p.Basis, p.Mark.InWords())
		if p.Note != "" {
			fmt.Fprintf(out, "    note: %s\n", p.Note)
		}
	}
}

// seatValue prints what is proposed: limits with their class where there is one, a fit aimed at, or a greatest value.
func seatValue(p seat.Proposal) string {
	switch {
	case !p.Limits:
		return "≤ " + strings.TrimPrefix(micrometres(p.Max), "+")
	case p.Group == seat.Mounted && p.Lower == p.Upper:
		return bareMicrometres(p.Upper) + " µm"
	case p.Group == seat.Mounted:
		return bareMicrometres(p.Lower) + " to " + bareMicrometres(p.Upper) + " µm"
	}
	limits := micrometres(p.Upper) + " / " + micrometres(p.Lower)
	if p.ToleranceClass != "" {
		return p.ToleranceClass + ", " + limits
	}
	return limits
}

// seatJSON is the answer for programs. Numbers are exact as printed, for the reason given at limitsJSON.
type seatJSON struct {
	Part      seat.Part         `json:"part"`
	Size      string            `json:"size_mm"`
	Class     seat.BearingClass `json:"bearing_class"`
	Proposals []proposalJSON    `json:"proposals"`
}

// proposalJSON has either open, the reason why there is no value; or value_um, a greatest value; or upper_um and lower_um.
type proposalJSON struct {
	Group          seat.Group `json:"group"`
	Characteristic string     `json:"characteristic,omitempty"`
	Maker          string     `json:"maker"`
	Open           string     `json:"open,omitempty"`
	ToleranceClass string     `json:"tolerance_class,omitempty"`
	Upper          *float64   `json:"upper_um,omitempty"`
	Lower          *float64   `json:"lower_um,omitempty"`
	Value          *float64   `json:"value_um,omitempty"`
	Fit            *fitJSON   `json:"fit,omitempty"`
	Condition      string     `json:"condition,omitempty"`
	Source         string     `json:"source,omitempty"`
	Basis          string     `json:"basis,omitempty"`
	Mark           seat.Mark  `json:"mark,omitempty"`
	Confirmed      string     `json:"confirmed,omitempty"`
	Note           string     `json:"note,omitempty"`
	Words          string     `json:"words,omitempty"` // what every showing says
}

type fitJSON struct {
	Is  string  `json:"is"`
	Min float64 `json:"min_um"`
	Max float64 `json:"max_um"`
}

func writeSeatJSON(out *bytes.Buffer, r seat.Request, proposals []seat.Proposal) error {
	size := strings.TrimSuffix(strings.TrimRight(length.Decimal(r.Nominal, length.Millimetres, 9), "0"), ".")
	answer := seatJSON{Part: r.Part, Size: size, Class: r.Class, Proposals: []proposalJSON{}}
	for _, p := range proposals {
		j := proposalJSON{Group: p.Group, Characteristic: p.Characteristic, Maker: p.Maker, Open: p.Open}
		if p.Open == "" {
			j.ToleranceClass, j.Condition, j.Source, j.Basis, j.Mark, j.Confirmed, j.Note, j.Words = p.ToleranceClass, p.Condition, p.Source, p.Basis, p.Mark, p.Mark.InWords(), p.Note, p.Words()
			upper, lower, greatest := p.Upper.Micrometres(), p.Lower.Micrometres(), p.Max.Micrometres()
			if p.Limits {
				j.Upper, j.Lower = &upper, &lower
			} else {
				j.Value = &greatest
			}
			if p.Fit != nil {
				j.Fit = &fitJSON{p.Fit.Is, p.Fit.Min.Micrometres(), p.Fit.Max.Micrometres()}
			}
		}
		answer.Proposals = append(answer.Proposals, j)
	}
	encoder := json.NewEncoder(out)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	return encoder.Encode(answer)
}
