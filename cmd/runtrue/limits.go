package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"

	"runtrue/internal/iso286"
	"runtrue/internal/length"
)

const limitsUsage = `usage: runtrue limits SIZE CLASS [--json]

Prints the limits that an ISO 286 tolerance class allows at a nominal size, the
tolerance, the fundamental deviation, and where each number came from.

  SIZE   nominal size, above 0 up to 3150 mm; a bare number is in mm,
         other units are written behind it: 70, 69,998, 2.7559in, "2.7559 in"
  CLASS  letters and grade; capitals are a hole, small letters a shaft: k4, JS5

Both may be one argument: "70 k4".

  --json   print one JSON object; keys end in their unit
  --help   print this

`

// runLimits answers `runtrue limits`. Exit status: 0 done; 1 the size or class is malformed, out of range or not defined, with nothing on
// stdout; 2 wrong usage.
func runLimits(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	words, options := separate(args)
	flags := flag.NewFlagSet("limits", flag.ContinueOnError)
	flags.SetOutput(io.Discard) // the messages are printed here, once
	asJSON := flags.Bool("json", false, "")
	if err := flags.Parse(options); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			fmt.Fprint(stdout, limitsUsage)
			return exitDone
		}
		fmt.Fprintf(stderr, "runtrue limits: %v\n%s", err, limitsUsage)
		return exitUsage
	}
	fields := strings.Fields(strings.Join(words, " "))
	if len(fields) < 2 {
		fmt.Fprintf(stderr, "runtrue limits: a size and a class are needed, such as: runtrue limits 70 k4\n%s", limitsUsage)
		return exitUsage
	}
	size, class := strings.Join(fields[:len(fields)-1], " "), fields[len(fields)-1]
	nominal, unit, err := length.ParseWithUnit(size, length.Millimetres)
	if err != nil {
		fmt.Fprintf(stderr, "runtrue limits: size %v\n", err)
		return exitFault
	}
	limits, err := iso286.Lookup(nominal, class)
	if err != nil {
		fmt.Fprintf(stderr, "runtrue limits: %v\n", err)
		return exitFault
	}
	var out bytes.Buffer
	if *asJSON {
		err = writeLimitsJSON(&out, limits)
	} else {
		writeLimits(&out, limits, unit)
	}
	if err == nil {
		_, err = stdout.Write(out.Bytes())
	}
	if err != nil {
		fmt.Fprintf(stderr, "runtrue limits: writing the answer: %v\n", err)
		return exitFault
	}
	return exitDone
}

// separate takes options from among the words, so that they may stand before or after them. A minus before a digit, point or comma is a
// negative number, which the size's own message answers better than "unknown flag"; after -- nothing is an option.
func separate(args []string) (words, options []string) {
	for i, arg := range args {
		switch {
		case arg == "--":
			return append(words, args[i+1:]...), options
		case len(arg) > 1 && arg[0] == '-' && !strings.ContainsRune("0123456789.,", rune(arg[1])):
			options = append(options, arg)
		default:
			words = append(words, arg)
		}
	}
	return words, options
}

func writeLimits(out *bytes.Buffer, l iso286.Limits, unit length.Unit) {
	side, upper, lower := "shaft", "es", "ei"
	if l.Class.Hole() {
		side, upper, lower = "hole", "ES", "EI"
	}
	fmt.Fprintf(out, "%s %s, a %s\n", millimetres(l.Nominal), l.Class, side)
	for _, limit := range []struct {
		name, symbol    string
		deviation, size length.Length
	}{{"upper", upper, l.Upper, l.UpperSize()}, {"lower", lower, l.Lower, l.LowerSize()}} {
		fmt.Fprintf(out, "%s limit  %s = %s, size %s", limit.name, limit.symbol, micrometres(limit.deviation), millimetres(limit.size))
		if unit.Imperial() {
			fmt.Fprintf(out, " (%s)", length.Format(limit.size, length.Inches, 6))
		}
		out.WriteByte('\n')
	}
	fmt.Fprintf(out, "tolerance    %s\n", strings.TrimPrefix(micrometres(l.Tolerance), "+"))
	fmt.Fprintf(out, "fundamental deviation  %s = %s\n", l.Which, micrometres(l.Fundamental))
	fmt.Fprintf(out, "how well confirmed     %s\n", l.Status)
	for _, remark := range l.Remarks {
		fmt.Fprintf(out, "  note: %s\n", remark)
	}
	out.WriteString("where from\n")
	for i, p := range l.Provenance {
		value := micrometres(p.Value)
		if i == 0 { // the tolerance, which has no sign
			value = strings.TrimPrefix(value, "+")
		}
		fmt.Fprintf(out, "  %s = %s: %s, nominal sizes %s; %s\n", p.What, value, p.Table, p.Step, p.Confirmed)
		if len(p.Sources) > 0 {
			fmt.Fprintf(out, "    read from: %s\n", strings.Join(p.Sources, "; "))
		}
	}
}

// micrometres prints a deviation exactly, with sign and at least one decimal.
func micrometres(l length.Length) string {
	return exactly(length.FormatSigned(l, length.Micrometres, 6), 1)
}

// millimetres prints a size exactly, with at least three decimals.
func millimetres(l length.Length) string {
	return exactly(length.Format(l, length.Millimetres, 9), 3)
}

// exactly drops trailing zeros of a printed length, down to the given number of decimals.
func exactly(printed string, least int) string {
	number, unit, _ := strings.Cut(printed, " ")
	whole, decimals, _ := strings.Cut(number, ".")
	shortened := strings.TrimRight(decimals[least:], "0")
	return whole + "." + decimals[:least] + shortened + " " + unit
}

// limitsJSON is the answer for programs. Its numbers are exact as printed: none has more than 13 significant digits (3150 mm in pm), and the
// float64 nearest to a decimal of up to 15 digits prints as that decimal.
type limitsJSON struct {
	Nominal       float64          `json:"nominal_mm"`
	Class         string           `json:"class"`
	Upper         float64          `json:"upper_um"`
	Lower         float64          `json:"lower_um"`
	UpperSize     float64          `json:"upper_size_mm"`
	LowerSize     float64          `json:"lower_size_mm"`
	Tolerance     float64          `json:"tolerance_um"`
	FundamentalIs string           `json:"fundamental"` // es, ei, ES or EI
	Fundamental   float64          `json:"fundamental_um"`
	Status        iso286.Status    `json:"status"`
	Remarks       []string         `json:"remarks"`
	Provenance    []provenanceJSON `json:"provenance"`
}

type provenanceJSON struct {
	What      string        `json:"what"`
	Value     float64       `json:"value_um"`
	Table     string        `json:"table"`
	Over      float64       `json:"above_mm"`
	Upto      float64       `json:"up_to_mm"`
	Sources   []string      `json:"sources"`
	Confirmed string        `json:"confirmed"`
	Status    iso286.Status `json:"status"`
}

func writeLimitsJSON(out *bytes.Buffer, l iso286.Limits) error {
	answer := limitsJSON{
		Nominal: l.Nominal.Millimetres(), Class: l.Class.String(),
		Upper: l.Upper.Micrometres(), Lower: l.Lower.Micrometres(),
		UpperSize: l.UpperSize().Millimetres(), LowerSize: l.LowerSize().Millimetres(),
		Tolerance: l.Tolerance.Micrometres(), FundamentalIs: l.Which, Fundamental: l.Fundamental.Micrometres(),
		Status: l.Status, Remarks: append([]string{}, l.Remarks...),
	}
	for _, p := range l.Provenance {
		answer.Provenance = append(answer.Provenance, provenanceJSON{
			What: p.What, Value: p.Value.Micrometres(), Table: p.Table,
			Over: p.Step.Over.Millimetres(), Upto: p.Step.Upto.Millimetres(),
			Sources: append([]string{}, p.Sources...), Confirmed: p.Confirmed, Status: p.Status,
		})
	}
	encoder := json.NewEncoder(out)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	return encoder.Encode(answer)
}
