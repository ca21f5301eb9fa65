package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"runtrue/internal/jobfile"
	"runtrue/internal/length"
	"runtrue/internal/list"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

const assessUsage = `usage: runtrue assess FILE [READINGS.csv] [--json | --csv] [--explain]

Says of every component in a job file whether it is reused, reworked, replaced,
measured again or decided by a person, and why.

  FILE          job file (JSON); - reads standard input
  READINGS.csv  more readings, one a line, beside those in the job file; may be -

  --json   print one JSON object; lengths in µm, U is expanded (2u)
  --csv    print one line a characteristic
  --explain  after that, work every verdict out: readings, corrections,
           formulas, uncertainty budget, limits, decision, with their sources;
           with --json print these instead, one JSON object
  --help   print this

`

// runAssess answers `runtrue assess`. Exit status: 0 done, whatever the verdict; 1 the input cannot be read or contradicts itself, with nothing
// on stdout; 2 wrong usage.
func runAssess(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	words, options := separate(args)
	flags := flag.NewFlagSet("assess", flag.ContinueOnError)
	flags.SetOutput(io.Discard) // the messages are printed here, once
	asJSON := flags.Bool("json", false, "")
	asCSV := flags.Bool("csv", false, "")
	explained := flags.Bool("explain", false, "")
	wrong := func(words string) int {
		fmt.Fprintf(stderr, "runtrue assess: %s\n%s", words, assessUsage)
		return exitUsage
	}
	if err := flags.Parse(options); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			fmt.Fprint(stdout, assessUsage)
			return exitDone
		}
		return wrong(err.Error())
	}
	switch {
	case len(words) == 0:
		return wrong("a job file is needed, such as: runtrue assess job.json")
	case len(words) > 2:
		return wrong("one job file and at most one file of readings are taken")
	case *asJSON && *asCSV:
		return wrong("--json and --csv exclude each other")
	case *explained && *asCSV:
		return wrong("--explain goes with text or --json, not with --csv")
	case len(words) == 2 && words[0] == "-" && words[1] == "-":
		return wrong("standard input is one file, not two")
	}
	file, err := readJob(words, stdin, stderr)
	if err != nil {
		for _, line := range strings.Split(err.Error(), "\n") {
			fmt.Fprintf(stderr, "runtrue assess: %s\n", line)
		}
		return exitFault
	}
	result := file.Assess()
	var out bytes.Buffer
	switch {
	case *explained:
		if err := writeExplained(&out, file, result, *asJSON); err != nil {
			fmt.Fprintf(stderr, "runtrue assess: %v\n", err)
			return exitFault
		}
	case *asJSON:
		out.Write(result.JSON())
	case *asCSV:
		out.Write(list.CharacteristicsCSV(result))
	default:
		writeAssessed(&out, result)
	}
	if _, err := stdout.Write(out.Bytes()); err != nil {
		fmt.Fprintf(stderr, "runtrue assess: writing the answer: %v\n", err)
		return exitFault
	}
	return exitDone
}

// readJob reads the job file and the readings beside it. Long input tells how far it is.
func readJob(words []string, stdin io.Reader, stderr io.Writer) (*jobfile.File, error) {
	reader := jobfile.Reader{Progress: func(name string, readings int) {
		fmt.Fprintf(stderr, "runtrue assess: %s: %d readings read\n", name, readings)
	}}
	name, data, err := slurp(words[0], stdin)
	if err != nil {
		return nil, err
	}
	file, err := reader.Read(name, data)
	if err != nil || len(words) == 1 {
		return file, err
	}
	name, data, err = slurp(words[1], stdin)
	if err != nil {
		return nil, err
	}
	return reader.ReadCSV(file, name, data)
}

func slurp(name string, stdin io.Reader) (string, []byte, error) {
	if name == "-" {
		data, err := io.ReadAll(stdin)
		if err != nil {
			return "", nil, fmt.Errorf("reading standard input: %w", err)
		}
		return "standard input", data, nil
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return "", nil, fmt.Errorf("%w; name a job file, or - for standard input", err)
	}
	return name, data, nil
}

// writeAssessed prints a line for each component, and under it one for each characteristic.
func writeAssessed(out *bytes.Buffer, result jobfile.Result) {
	counts := map[verdict.Action]int{}
	for _, c := range result.Components {
		counts[c.Proposal.Action]++
		fmt.Fprintf(out, "%s  %s\n", strings.ToUpper(string(c.Proposal.Action)), titleOf(c.Component))
		fmt.Fprintf(out, "  %s\n", c.Proposal.Reason)
		rows := [][]string{}
		for _, f := range c.Features {
			for _, k := range f.Characteristics {
				rows = append(rows, []string{f.Feature, k.Name, string(k.Outcome), measured(k), allowed(k)})
			}
		}
		writeColumns(out, rows)
		out.WriteByte('\n')
	}
	plural := "components"
	if len(result.Components) == 1 {
		plural = "component"
	}
	fmt.Fprintf(out, "%d %s:", len(result.Components), plural)
	for i, a := range []verdict.Action{verdict.Reuse, verdict.Rework, verdict.Replace, verdict.Measure, verdict.Decide} {
		separator := ","
		if i == 0 {
			separator = ""
		}
		fmt.Fprintf(out, "%s %d %s", separator, counts[a], a)
	}
	out.WriteString("\nU is expanded, 2u. A proposal is advice; people who are qualified decide.\n")
}

func titleOf(c spindle.Component) string {
	words := c.ID
	if c.Name != c.ID {
		words += ", " + c.Name
	}
	if c.Place != "" {
		words += ", " + c.Place
	}
	if c.Serial != "" {
		words += ", serial " + c.Serial
	}
	return words
}

// measured is the value with its uncertainty: "+4.0 ± 1.0 µm".
func measured(k verdict.Characteristic) string {
	switch {
	case k.Value != nil:
		words := signedFor(k.Name, length.Format(*k.Value, length.Micrometres, 1), *k.Value)
		if k.U == nil {
			return words
		}
		return strings.TrimSuffix(words, " µm") + " ± " + length.Format(*k.U, length.Micrometres, 1)
	case k.Quantity != nil:
		return strings.TrimSpace(k.Quantity.Bound + " " + jobfile.QuantityText(*k.Quantity) + " " + k.Quantity.Unit)
	case k.Have > 0:
		return fmt.Sprintf("%d of %d read", k.Have, k.Need)
	}
	return "not measured"
}

// signedFor puts a plus sign before what is a deviation. Run-outs and their like have no sign.
func signedFor(characteristic, printed string, l length.Length) string {
	if l > 0 && (characteristic == spindle.Size || characteristic == spindle.TaperChar) {
		return "+" + printed
	}
	return printed
}

// allowed is the limits, exactly: "+2 … +10 µm".
func allowed(k verdict.Characteristic) string {
	lower, upper, unit := "", "", "µm"
	for _, limit := range []struct {
		l  *length.Length
		q  *spindle.Quantity
		to *string
	}{{k.Lower, k.LowerQ, &lower}, {k.Upper, k.UpperQ, &upper}} {
		switch {
		case limit.q != nil:
			*limit.to, unit = jobfile.QuantityText(*limit.q), limit.q.Unit
		case limit.l != nil:
			number := jobfile.Micrometres{Length: limit.l}.String()
			*limit.to = signedFor(k.Name, strings.Replace(number, "-", "−", 1), *limit.l)
		}
	}
	switch {
	case lower != "" && upper != "":
		return lower + " … " + upper + " " + unit
	case upper != "":
		return "at most " + upper + " " + unit
	case lower != "":
		return "at least " + lower + " " + unit
	}
	return ""
}

// writeColumns sets the rows in columns as wide as they need.
func writeColumns(out *bytes.Buffer, rows [][]string) {
	var widths []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range rows {
		line := "   "
		for i, cell := range row {
			line += " " + cell + strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell)+1)
		}
		out.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}
