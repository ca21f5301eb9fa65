package form

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// Offset is a displacement across the axis: an eccentricity with its direction. Offsets add as vectors; their magnitudes do not.
type Offset struct{ XUm, YUm float64 }

// OffsetAt returns the offset of a magnitude in µm towards an angle in degrees.
func OffsetAt(um, deg float64) Offset {
	sin, cos := portablemath.SincosDegrees(deg)
	return Offset{float64(um * cos), float64(um * sin)}
}

// Um returns the magnitude.
func (o Offset) Um() float64 { return portablemath.Hypot(o.XUm, o.YUm) }

// Deg returns the direction in [0, 360) degrees; 0 for no offset.
func (o Offset) Deg() float64 { return direction(o.XUm, o.YUm) }

// Minus returns o − p.
func (o Offset) Minus(p Offset) Offset { return Offset{o.XUm - p.XUm, o.YUm - p.YUm} }

// Centre is the centre of a section at its place along the axis, all measured to one axis of rotation with the same zero and sense of angle.
type Centre struct {
	ZMm float64
	Offset
}

// Axis is a straight line through centres.
type Axis struct {
	ZMm    float64 // where At holds
	At     Offset
	PerMm  Offset  // change per millimetre of z, µm/mm
	RestUm float64 // greatest distance of a centre from the line; 0 for two
}

// FitAxis returns the line through two centres, or the least-squares line through more. At least two different places.
func FitAxis(centres []Centre) (Axis, error) {
	if len(centres) < 2 {
		return Axis{}, StationError{"axis", len(centres), "it needs the centres of two planes or more", ErrTooFewStations}
	}
	var x, y, z []float64
	mean := 0.0
	for _, c := range centres {
		x, y, z = append(x, c.XUm), append(y, c.YUm), append(z, c.ZMm)
		mean += c.ZMm
	}
	mean /= float64(len(centres))
	inX, err := FitLine(z, x, mean)
	if err != nil {
		return Axis{}, fmt.Errorf("axis: %w", err)
	}
	inY, err := FitLine(z, y, mean)
	if err != nil {
		return Axis{}, fmt.Errorf("axis: %w", err)
	}
	a := Axis{ZMm: mean, At: Offset{inX.Intercept, inY.Intercept}, PerMm: Offset{inX.Slope, inY.Slope}}
	if len(centres) > 2 {
		for i := range centres {
			a.RestUm = math.Max(a.RestUm, portablemath.Hypot(inX.Residuals[i], inY.Residuals[i]))
		}
	}
	return a, nil
}

// Centre returns where the axis is at z.
func (a Axis) Centre(zMm float64) Offset {
	d := zMm - a.ZMm
	return Offset{a.At.XUm + float64(a.PerMm.XUm*d), a.At.YUm + float64(a.PerMm.YUm*d)}
}

// TiltSeconds returns the angle between this axis and the axis of rotation, seconds of arc.
func (a Axis) TiltSeconds() float64 { return float64(portablemath.Atan(a.PerMm.Um()/1000) * radian) }

// Coaxiality is how far centres lie from a datum axis.
type Coaxiality struct {
	ZoneUm  float64  // diameter of the cylinder about the datum axis that holds the centres: twice the largest distance (ISO 1101)
	WorstMm float64  // z of the centre that is furthest off
	Offsets []Offset // of each centre from the datum axis, in the order given
}

// CoaxialityTo returns the coaxiality of one or more centres to the datum axis.
func CoaxialityTo(datum Axis, centres []Centre) (Coaxiality, error) {
	if len(centres) == 0 {
		return Coaxiality{}, StationError{"coaxiality", 0, "give the centre of at least one plane", ErrTooFewStations}
	}
	var c Coaxiality
	for _, at := range centres {
		o := at.Offset.Minus(datum.Centre(at.ZMm))
		c.Offsets = append(c.Offsets, o)
		if zone := float64(2 * o.Um()); zone > c.ZoneUm || len(c.Offsets) == 1 {
			c.ZoneUm, c.WorstMm = zone, at.ZMm
		}
	}
	return c, nil
}
