package verdict

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"runtrue/internal/form"
	"runtrue/internal/portablemath"
	"runtrue/internal/spindle"
)

const notSeparable = "cannot tell eccentricity from lobing"

// circularRunOut judges max − min of each plane's sweep; the worst plane decides. Further stations can only add to it, so a part of a sweep can fail it.
func (q *inquiry) circularRunOut() {
	q.eachPlane("run-out", func(s sweep) estimate { return s.runOut() })
}

// axialRunOut is the same read axially on a face.
func (q *inquiry) axialRunOut() {
	q.eachPlane("axial run-out", func(s sweep) estimate { return s.runOut() })
	if d := diameterOf(q.in.Spec); d > 0 {
		q.note("read on a diameter of " + trimmed(d, "mm", 3) + " mm")
	}
}

// eachPlane concludes from one figure per plane.
func (q *inquiry) eachPlane(name string, figure func(sweep) estimate) {
	all, faults := q.sweeps(q.c.Name)
	planes, complete := q.preferred(all)
	findings := make([]finding, 0, len(planes))
	q.out.Figures = make([]Figure, 0, 6*len(planes))
	stations := 0
	for _, here := range planes {
		figures := make([]estimate, len(here))
		for i, s := range here {
			figures[i] = figure(s)
			stations += len(s.angles)
		}
		f := reconciled(here, figures, spotWords(here[0].plane))
		if n := fewestAngles(here); n < leastStations {
			f.lacking = "a run-out needs at least 4 stations round the part, here are " + strconv.Itoa(n)
		}
		findings = append(findings, f)
		q.figure(spaced(name+" of", planeWords(orAll(here[0].plane))), f.um, "µm", "largest minus smallest of "+plural(fewestAngles(here), "station", "stations"))
		q.sweepFigures(here)
	}
	q.conclude(findings, complete, faults)
	q.out.Stations = make([]Station, 0, stations)
	for i, here := range planes {
		for _, s := range here {
			q.out.Stations = s.show(q.out.Stations, &findings[i])
		}
	}
}

func fewestAngles(sweeps []sweep) int {
	n := len(sweeps[0].angles)
	for _, s := range sweeps {
		n = min(n, len(s.angles))
	}
	return n
}

// sweepFigures adds what the first of the sweeps at a plane shows beyond its run-out, and what it may have missed.
func (q *inquiry) sweepFigures(here []sweep) {
	s := here[0]
	round, err := form.CircularRunOut(s.stations())
	if err != nil {
		return // fewer than four stations: the finding says so
	}
	q.figure("what the stations may have missed", 100*round.UnseenShare, "%", "of a purely once-round run-out, from "+strconv.Itoa(round.N)+" stations; of more lobes possibly all")
	e, err := s.eccentricity()
	if err != nil {
		q.note(notSeparable + " from " + strconv.Itoa(round.N) + " stations: eight or more, equally spaced, can")
		return
	}
	if spindle.ReadAs(q.in.Spec.Geometry, q.c.Name) == spindle.AxialRunOut {
		q.figure("tilt", 2*e.EccentricityUm, "µm", "twice the first harmonic, least squares")
	} else {
		q.figure("eccentricity", e.EccentricityUm, "µm", "first harmonic, least squares")
	}
	q.highSpot(s, e)
	q.formFigures(e)
}

// highSpot gives the direction of the first harmonic with its uncertainty, or says that it is lost in that of the readings: turning parts against each other by a direction
// that is none adds their errors as often as not.
func (q *inquiry) highSpot(s sweep, e form.Eccentric) {
	if e.EccentricityUm < noDirection {
		return
	}
	u := e.Spectrum.AmplitudeU(s.estimate(0, 1).u())
	if e.EccentricityUm < u {
		q.note("the eccentricity of " + q.finely(e.EccentricityUm) + spaced(" of", planeWords(orAll(s.plane))) + " is less than its own uncertainty: its direction is not known")
		return
	}
	within := portablemath.Atan(u/e.EccentricityUm) * (180 / math.Pi)
	q.figure("high spot", e.HighSpotDeg, "°", "± "+strconv.FormatFloat(2*within, 'f', 0, 64)+"° (2u)")
}

func (q *inquiry) formFigures(e form.Eccentric) {
	q.figure("form, least squares", e.FormUm, "µm", "what remains without the first harmonic (ISO 12181, reference circle by least squares)")
	q.figure("form, minimum zone", e.ZoneUm, "µm", "the narrowest zone that holds the readings (ISO 12181)")
}

// roundness judges what remains of a radial sweep when eccentricity is taken out, about the least-squares circle. It needs stations enough to tell the two apart.
func (q *inquiry) roundness() {
	all, faults := q.sweeps(q.c.Name)
	planes, complete := q.preferred(all)
	var findings []finding
	most := 0
	for _, here := range planes {
		n := len(here[0].angles)
		most = max(most, n)
		var able []sweep
		var figures []estimate
		unsure := ""
		for _, s := range here {
			e, err := s.eccentricity()
			if err != nil {
				continue // said below, if no other sweep at the plane can
			}
			if slices.Contains(s.setup.Gauge.BlindTo, spindle.Roundness) {
				faults = addNote(faults, blindWords(s.setup.Gauge))
			}
			able = append(able, s)
			q.formFigures(e)
			if used, _, _ := vBlock(s.setup.Support); used {
				figure, why := q.roundnessInVBlock(s, e)
				figures, unsure = append(figures, figure), cmp.Or(unsure, why)
				continue
			}
			figures = append(figures, s.estimate(e.FormUm, math.Sqrt2))
		}
		if len(able) == 0 {
			faults = addNote(faults, plural(n, "station", "stations")+" "+spaced("of", planeWords(orAll(here[0].plane)))+" cannot separate eccentricity from lobing: read eight or more, equally spaced")
			continue
		}
		f := reconciled(able, figures, spotWords(here[0].plane))
		f.lacking = unsure
		findings = append(findings, f)
	}
	if len(findings) == 0 && len(planes) > 0 && complete {
		q.note(faults...)
		q.refuse(listed(faults))
		return
	}
	q.conclude(findings, complete, faults)
	q.note("lobes that come round more than " + strconv.Itoa(most/2) + " times are not seen by " + strconv.Itoa(most) + " stations")
}

// totalRunOut judges max − min over all planes under one indicator zero. Sweeps with zeros of their own only give the largest of the circular run-outs, which is less.
func (q *inquiry) totalRunOut() {
	all, faults := q.sweeps(q.c.Name)
	planes, complete := q.preferred(all)
	if len(planes) == 0 {
		q.conclude(nil, false, faults)
		return
	}
	var setups []string
	for _, s := range all {
		if !slices.Contains(setups, s.setup.ID) {
			setups = append(setups, s.setup.ID)
		}
	}
	var whole, part []sweep
	for _, id := range setups {
		joined, reached := join(all, id)
		enough := true
		for _, p := range plannedPlanes(q.in.Spec) {
			enough = enough && slices.Contains(reached, p.Name)
		}
		if enough && q.fully(all, id) {
			whole = append(whole, joined)
		} else {
			part = append(part, joined)
		}
	}
	if slices.ContainsFunc(whole, func(s sweep) bool { return s.doubt == "" }) {
		whole = slices.DeleteFunc(whole, func(s sweep) bool { return s.doubt != "" })
	}
	if len(whole) > 0 {
		figures := make([]estimate, len(whole))
		for i, s := range whole {
			figures[i] = s.runOut()
		}
		q.conclude([]finding{reconciled(whole, figures, "")}, complete, faults)
		return
	}
	// What no single zero spans can still fail: the total is at least what any of the set-ups saw.
	var findings []finding
	for _, s := range part {
		f := reconciled([]sweep{s}, []estimate{s.runOut()}, "set-up "+s.setup.ID)
		f.lacking = "the planes were swept under separate indicator zeros: a total run-out needs one zero over all planes, with at least 4 stations in each"
		findings = append(findings, f)
	}
	q.conclude(findings, complete, faults)
}

// join puts the sweeps of one set-up together; they share its indicator zero. The stations are kept as a list of values: nothing is fitted through them.
func join(all []sweep, setup string) (joined sweep, planes []string) {
	for _, s := range all {
		if s.setup.ID != setup {
			continue
		}
		if len(planes) == 0 {
			joined = newSweep(s.setup, "", s.repeat)
			joined.doubt, joined.notes, joined.often = s.doubt, s.notes, s.often
		}
		if joined.doubt == "" {
			joined.doubt = s.doubt
		}
		if s.repeat.s > joined.repeat.s {
			joined.repeat = repeatability{s.repeat.s, joined.repeat.known, s.repeat.cause}
		}
		joined.repeat.known = joined.repeat.known && s.repeat.known
		if s.drift != nil && (joined.drift == nil || math.Abs(*s.drift) > math.Abs(*joined.drift)) {
			joined.drift = s.drift
		}
		joined.often = min(joined.often, s.often)
		joined.values = append(joined.values, s.values...)
		planes = append(planes, s.plane)
	}
	return joined, planes
}

// fully reports whether each of a set-up's sweeps has its planned stations, and four at least.
func (q *inquiry) fully(all []sweep, setup string) bool {
	planned := q.in.Spec.AnglesFor(q.c.Name)
	for _, s := range all {
		if s.setup.ID == setup && (len(s.angles) < leastStations || (q.in.Spec.Plan.MinN == 0 && s.covers(planned) < len(planned))) {
			return false
		}
	}
	return true
}
