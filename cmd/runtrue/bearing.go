package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"runtrue/internal/iso492"
	"runtrue/internal/length"
)

const bearingUsage = `usage: runtrue bearing RING SIZE CLASS [--json]

Prints every tolerance that ISO 492 gives a ring of a radial rolling bearing
(tapered rollers excluded), and how well each value is confirmed.

  RING   inner or outer
  SIZE   nominal bore of an inner ring (0.6 to 400 mm), nominal outside diameter
         of an outer ring (2.5 to 400 mm); a bare number is in mm
  CLASS  Normal, 6, 5, 4 or 2; also ABEC 1 to ABEC 9, P0 to P2

  --json   print one JSON object; keys end in their unit
  --help   print this

`

// runBearing answers `runtrue bearing`. Exit status: 0 done; 1 the ring, size or class is malformed, out of range or not defined, with
// nothing on stdout; 2 wrong usage.
func runBearing(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	words, options := separate(args)
	flags := flag.NewFlagSet("bearing", flag.ContinueOnError)
	flags.SetOutput(io.Discard) // the messages are printed here, once
	asJSON := flags.Bool("json", false, "")
	if err := flags.Parse(options); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			fmt.Fprint(stdout, bearingUsage)
			return exitDone
		}
		fmt.Fprintf(stderr, "runtrue bearing: %v\n%s", err, bearingUsage)
		return exitUsage
	}
	fields := strings.Fields(strings.Join(words, " "))
	if len(fields) < 3 {
		fmt.Fprintf(stderr, "runtrue bearing: a ring, a size and a class are needed, such as: runtrue bearing inner 70 4\n%s", bearingUsage)
		return exitUsage
	}
	question, err := readBearingQuestion(fields)
	if err == nil {
		question.values, err = iso492.Lookup(question.ring, question.size, question.class)
	}
	if err != nil {
		fmt.Fprintf(stderr, "runtrue bearing: %v\n", err)
		return exitFault
	}
	var out bytes.Buffer
	if *asJSON {
		err = writeBearingJSON(&out, question)
	} else {
		err = writeBearing(&out, question)
	}
	if err == nil {
		_, err = stdout.Write(out.Bytes())
	}
	if err != nil {
		fmt.Fprintf(stderr, "runtrue bearing: writing the answer: %v\n", err)
		return exitFault
	}
	return exitDone
}

// bearingAnswer is a ring with its tolerances.
type bearingAnswer struct {
	ring   iso492.Ring
	size   length.Length
	class  iso492.Class
	values []iso492.Value
}

// readBearingQuestion reads ring, size and class. A class may be two words (ABEC 7, class 4) and a size may have its unit apart (70 mm).
func readBearingQuestion(fields []string) (bearingAnswer, error) {
	var q bearingAnswer
	var err error
	if q.ring, err = iso492.ParseRing(fields[0]); err != nil {
		return q, err
	}
	rest := fields[1:]
	words := 1 // of the class
	if before := strings.ToLower(rest[len(rest)-2]); len(rest) > 2 && (before == "abec" || before == "rbec" || before == "class") {
		words = 2
	}
	size, class := strings.Join(rest[:len(rest)-words], " "), strings.Join(rest[len(rest)-words:], " ")
	if q.size, _, err = length.ParseWithUnit(size, length.Millimetres); err != nil {
		return q, fmt.Errorf("size %w", err)
	}
	q.class, err = iso492.ParseClass(class)
	return q, err
}

func writeBearing(out *bytes.Buffer, a bearingAnswer) error {
	what := "bore"
	if a.ring == iso492.Outer {
		what = "outside diameter"
	}
	fmt.Fprintf(out, "%s ring, %s %s, class %s (%s), ISO 492\n", a.ring, what, millimetres(a.size), a.class, a.class.ABEC())
	table := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "symbol\tseries\tedition\tµm\twhat it is\thow well confirmed")
	for _, v := range a.values {
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\t%s\n", v.Symbol, v.Series, v.Edition, bearingLimits(v), iso492.Meaning(v.Symbol), v.Confirmed())
	}
	if err := table.Flush(); err != nil {
		return err
	}
	if a.ring == iso492.Outer {
		out.WriteString("note: the width deviation is that of the inner ring of the same bearing")
		if a.class == iso492.Normal || a.class == iso492.Class6 {
			out.WriteString(", and so is the variation VCs")
		}
		out.WriteByte('\n')
		if a.class != iso492.Normal && a.class != iso492.Class6 {
			out.WriteString("note: SD of the 2002 edition is a full run-out reading, SD of 2014 a perpendicularity and half of it; never hold one against the other's limit\n")
		}
	}
	for _, v := range a.values {
		if v.Status == iso492.Memory {
			fmt.Fprintf(out, "note: %s [%s] is %s\n", v.Symbol, v.Series, v.Confirmed())
		}
	}
	out.WriteString("where from\n")
	for _, v := range a.values {
		from := strings.Join(v.Sources, "; ")
		if from == "" {
			from = v.Confirmed()
		}
		fmt.Fprintf(out, "  %s [%s] %s, nominal sizes %s: %s\n", v.Symbol, v.Series, bearingLimits(v), v.Step, from)
	}
	return nil
}

// bearingLimits prints the limits of a deviation or the greatest value of a variation, in micrometres.
func bearingLimits(v iso492.Value) string {
	if !v.Deviation {
		return bareMicrometres(v.Max)
	}
	return bareMicrometres(v.Upper) + " / " + bareMicrometres(v.Lower)
}

// bareMicrometres prints a length in micrometres exactly, without its unit and without trailing zeros; deviations carry their sign.
func bareMicrometres(l length.Length) string {
	number, _, _ := strings.Cut(length.Format(l, length.Micrometres, 6), " ")
	return strings.TrimSuffix(strings.TrimRight(number, "0"), ".")
}

// bearingJSON is the answer for programs. Numbers are exact as printed, for the reason given at limitsJSON.
type bearingJSON struct {
	Ring            iso492.Ring             `json:"ring"`
	Size            string                  `json:"size_mm"`
	Class           iso492.Class            `json:"class"`
	Characteristics []bearingCharacteristic `json:"characteristics"`
}

// bearingCharacteristic has either value_um, a greatest value, or upper_um and lower_um.
type bearingCharacteristic struct {
	Symbol  string        `json:"symbol"`
	Series  string        `json:"series"`
	Edition string        `json:"edition"`
	Value   *float64      `json:"value_um,omitempty"`
	Upper   *float64      `json:"upper_um,omitempty"`
	Lower   *float64      `json:"lower_um,omitempty"`
	Status  iso492.Status `json:"status"`
}

func writeBearingJSON(out *bytes.Buffer, a bearingAnswer) error {
	size := strings.TrimSuffix(strings.TrimRight(length.Decimal(a.size, length.Millimetres, 9), "0"), ".")
	answer := bearingJSON{Ring: a.ring, Size: size, Class: a.class, Characteristics: []bearingCharacteristic{}}
	for _, v := range a.values {
		c := bearingCharacteristic{Symbol: v.Symbol, Series: v.Series, Edition: v.Edition, Status: v.Status}
		if v.Deviation {
			upper, lower := v.Upper.Micrometres(), v.Lower.Micrometres()
			c.Upper, c.Lower = &upper, &lower
		} else {
			greatest := v.Max.Micrometres()
			c.Value = &greatest
		}
		answer.Characteristics = append(answer.Characteristics, c)
	}
	encoder := json.NewEncoder(out)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	return encoder.Encode(answer)
}
