package verdict

import (
	"math"
	"strconv"

	"runtrue/internal/length"
)

// arcSeconds converts a small slope to seconds of arc.
const arcSeconds = 180 * 3600 / math.Pi

// squareness judges the perpendicularity of a face to its datum axis (and the parallelism of a face read under one indicator zero), over the diameter 2ρ on which its stations lie.
//
// The tilt is twice the first harmonic, 2·C₁: max − min can miss up to 29 % of it with four stations. But the tolerance zone of ISO 1101 holds the form of the face as well,
// which max − min shows. The larger of the two decides; the sentence names both.
func (q *inquiry) squareness() {
	all, faults := q.sweeps(q.c.Name)
	planes, complete := q.preferred(all)
	diameter := diameterOf(q.in.Spec)
	var findings []finding
	for _, here := range planes {
		figures := make([]estimate, len(here))
		words := ""
		for i, s := range here {
			var w string
			figures[i], w = q.tilt(s, diameter)
			if i == 0 {
				words = w
			}
		}
		f := reconciled(here, figures, spotWords(here[0].plane))
		f.figures = words
		if n := fewestAngles(here); n < leastStations {
			f.lacking = q.c.Name + " needs at least 4 stations round the face, here are " + strconv.Itoa(n)
		}
		findings = append(findings, f)
	}
	if diameter == 0 && len(planes) > 0 {
		q.note("no radius of the stations is given: the tilt cannot be put in seconds of arc")
	}
	q.conclude(findings, complete, faults)
	for i, here := range planes {
		for _, s := range here {
			q.out.Stations = append(q.out.Stations, s.shown(findings[i])...)
		}
	}
}

// tilt returns the deciding figure of one sweep of a face, and both figures in words.
func (q *inquiry) tilt(s sweep, diameter length.Length) (estimate, string) {
	result := s.runOut()
	words := "max − min " + q.finely(result.um)
	q.figure(spaced("max − min of", planeWords(orAll(s.plane))), result.um, "µm", "")
	fit, ok := fitFirst(s.degrees(), s.values)
	if !ok || len(s.angles) < leastStations {
		return result, words
	}
	tilt := 2 * fit.amplitude()
	squares := 0.0
	for _, w := range fit.weights(2) {
		squares += float64(w * w)
	}
	words += ", tilt " + q.finely(tilt)
	over := ""
	if diameter > 0 {
		over = "over " + trimmed(diameter, length.Millimetres, 3) + " mm"
		slope := tilt / diameter.Micrometres() * arcSeconds
		words += " " + over + " (" + number(tenth(slope)) + "″)"
		q.figure("squareness", slope, "″", over)
	}
	q.figure("tilt", tilt, "µm", spaced("twice the first harmonic", over))
	if fit.amplitude() >= 1e-6 {
		q.figure("tilt direction", fit.direction(), "°", "highest")
	}
	form, _, _ := extent(fit.residuals(s.values))
	q.figure("form without tilt", form, "µm", "")
	if len(s.angles) == leastStations {
		q.note("four stations cannot tell a tilt from three lobes")
	}
	if tilt > result.um {
		return s.estimate(tilt, math.Sqrt(squares)), words
	}
	return result, words
}
