package verdict

import (
	"math"
	"strconv"

	"runtrue/internal/spindle"
	"runtrue/internal/uncertainty"
)

// repeatability is how well the gauge repeats on the set-up, from its study and from real repeats.
type repeatability struct {
	s     float64 // standard deviation of one reading, µm
	known bool
	cause *cause // nil where s is 0 or not known
}

// repeats makes a repeatability of a standard deviation in µm with its degrees of freedom; from says in words where it comes from.
func repeats(gauge string, s float64, nu int, from string) repeatability {
	r := repeatability{s: s, known: true}
	if s > 0 {
		r.cause = &cause{source: "repeatability on " + gauge + from, given: exact(toLength(s)), distribution: "normal", u: s, unit: "µm", nu: nu, remedy: "more readings at the station", kind: ofRepeats}
	}
	return r
}

// studied is what the gauge's own study says.
func studied(g spindle.Gauge) repeatability {
	if g.SPooled <= 0 {
		return repeatability{}
	}
	nu := max(g.Nu, 1)
	return repeats(g.ID, g.SPooled.Micrometres(), nu, ", from its study (ν = "+strconv.Itoa(nu)+")")
}

// poolRepeats finds how well each set-up repeats. With a study of the gauge (s_p, ν) every pair of repeats adds to it; without one only stations
// with three or more repeats count, since two alone say next to nothing (t = 12.7). Readings at different stations are form, not repeats.
func poolRepeats(stations []station) repeatPools {
	var pools repeatPools
	for i := range stations {
		for j := range stations[i].groups {
			g := &stations[i].groups[j]
			pools.add(g.setup, g.raw)
		}
	}
	for i := range pools {
		pools[i].close()
	}
	return pools
}

// repeatPool is what the repeats of one set-up say.
type repeatPool struct {
	setup   *SetupState
	squares float64
	nu      int
	study   bool
	repeatability
}

type repeatPools []repeatPool

// of returns the repeatability on a set-up that was pooled.
func (p repeatPools) of(s *SetupState) repeatability {
	for i := range p {
		if p[i].setup == s {
			return p[i].repeatability
		}
	}
	return repeatability{}
}

// add takes in the readings of one station.
func (p *repeatPools) add(s *SetupState, raw []float64) {
	i := 0
	for i < len(*p) && (*p)[i].setup != s {
		i++
	}
	if i == len(*p) {
		one := repeatPool{setup: s}
		if sp := s.Gauge.SPooled; sp > 0 {
			one.nu, one.study = max(s.Gauge.Nu, 1), true
			one.squares = float64(float64(one.nu) * float64(sp.Micrometres()*sp.Micrometres()))
		}
		*p = append(*p, one)
	}
	one := &(*p)[i]
	n := len(raw)
	if n < 2 || (n < 3 && !one.study) {
		return
	}
	_, squares := uncertainty.Spread(raw)
	one.squares += squares
	one.nu += n - 1
}

func (p *repeatPool) close() {
	if p.nu == 0 {
		return
	}
	from := ", from repeats (ν = "
	if p.study {
		from = ", from its study and repeats (ν = "
		if p.nu == max(p.setup.Gauge.Nu, 1) {
			from = ", from its study (ν = "
		}
	}
	p.repeatability = repeats(p.setup.Gauge.ID, math.Sqrt(p.squares/float64(p.nu)), p.nu, from+strconv.Itoa(p.nu)+")")
}
