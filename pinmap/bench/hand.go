package bench

import (
	"math"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// axialUp reports whether the distance from the bass-end face runs up the paper; arc always runs to the right.
//
// The map is the outside of the cylinder, unrolled. Take the view from the comb, which sees the outside. With the bass
// end at the left and the surface moving up, later pins still lie below: arc runs down and axial to the right. A
// quarter turn counter-clockwise, which mirrors nothing, lays arc to the right and axial up. Moving the bass end to
// the right mirrors that picture, and so does turning the other way; both together are half a turn of the paper. So
// axial runs up where the bass end is left and the turning up, or both are the other way, and down otherwise.
func axialUp(c pinmap.Cylinder) bool { return (c.BassEnd == pinmap.Left) == (c.Turns == pinmap.Up) }

// surface places things on the unrolled surface as it is printed: u runs right along the printed arc from the datum
// line, v runs down the paper from the upper edge of the map, both in mm.
type surface struct {
	wrap   float64 // π(D + p), at which the paper closes
	length float64
	up     bool
}

func printedSurface(c project.CylinderView) surface {
	return surface{
		wrap:   math.Pi * float64(c.DiameterMm+c.PaperMm),
		length: float64(c.LengthMm),
		up:     axialUp(c.Cylinder),
	}
}

// u gives the printed arc of an angle, angle/360·π(D + p).
func (s surface) u(a unit.Degrees) float64 { return float64(a) / 360 * s.wrap }

// v gives the distance down the paper of an axial distance from the bass-end face.
func (s surface) v(axial unit.Millimetres) float64 {
	if s.up {
		return s.length - float64(axial)
	}
	return float64(axial)
}

// endNames gives the ends of the cylinder at the upper and the lower edge of the map.
func (s surface) endNames() (upper, lower string) {
	if s.up {
		return "treble end", "bass end"
	}
	return "bass end", "treble end"
}

// angleAt gives the angle that is at the comb's release point at a time on the cylinder, g/2 + 360·t/T.
func angleAt(c project.CylinderView, t unit.Milliseconds) unit.Degrees {
	return c.GapDeg/2 + unit.Degrees(360*float64(t)/float64(c.RevolutionMs))
}
