package verdict

import (
	"cmp"
	"math"
	"strconv"

	"runtrue/internal/form"
	"runtrue/internal/length"
)

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
		words, lacking := "", ""
		for i, s := range here {
			w, unsure := "", ""
			figures[i], w, unsure = q.tilt(s, diameter)
			words, lacking = cmp.Or(words, w), cmp.Or(lacking, unsure)
		}
		f := reconciled(here, figures, spotWords(here[0].plane))
		f.figures, f.lacking = words, lacking
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
			q.out.Stations = s.show(q.out.Stations, &findings[i])
		}
	}
}

// tilt returns the deciding figure of one sweep of a face, both figures in words, and why the tilt could not be found, if so.
func (q *inquiry) tilt(s sweep, diameter length.Length) (result estimate, words, unsure string) {
	result = s.runOut()
	words = "max − min " + q.finely(result.um)
	q.figure(spaced("max − min of", planeWords(orAll(s.plane))), result.um, "µm", "")
	if len(s.angles) < leastStations {
		return result, words, ""
	}
	radius := diameter.Millimetres() / 2
	if diameter == 0 {
		radius = 1 // any: only the angle depends on it, and that is not shown
	}
	face, err := form.EvaluateFace(s.stations(), radius)
	if err != nil {
		return result, words, err.Error()
	}
	words += ", tilt " + q.finely(face.SquarenessUm)
	over := ""
	if diameter > 0 {
		over = "over " + trimmed(diameter, length.Millimetres, 3) + " mm"
		words += " " + over + " (" + number(tenth(face.TiltSeconds)) + "″)"
		q.figure("squareness", face.TiltSeconds, "″", over)
	}
	q.figure("tilt", face.SquarenessUm, "µm", spaced("twice the first harmonic", over)+"; "+face.LooksLikeTilt)
	if face.SquarenessUm >= noDirection {
		q.figure("tilt direction", face.DirectionDeg, "°", "highest")
	}
	q.figure("form without tilt", face.FormUm, "µm", "")
	if len(s.angles) == leastStations {
		q.note("four stations cannot tell a tilt from three lobes")
	}
	weights, ok := firstWeights(2, s.degrees(), face.DirectionDeg)
	if !ok {
		return result, words, "the stations do not surround the face"
	}
	if face.SquarenessUm > result.um {
		squares := 0.0
		for _, w := range weights {
			squares += float64(w * w)
		}
		result = s.estimate(face.SquarenessUm, math.Sqrt(squares))
	}
	return result, words, ""
}
