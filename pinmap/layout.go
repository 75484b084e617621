package pinmap

import (
	"cmp"
	"math"
	"slices"

	"pinwright/arrange/unit"
)

// Layout sets the angle, arc and axial distance of each pin from its time and tooth, numbers the pins by angle, then
// tooth, and sorts them so. n log n.
func Layout(pins []Pin, c Cylinder, revolution unit.Milliseconds) {
	for i := range pins {
		p := &pins[i]
		p.AngleDeg = c.AngleDeg(p.TimeMs, revolution)
		p.ArcMm = c.ArcMm(p.AngleDeg)
		p.AxialMm = c.AxialMm(p.Tooth)
	}
	slices.SortStableFunc(pins, func(a, b Pin) int {
		return cmp.Or(cmp.Compare(a.AngleDeg, b.AngleDeg), cmp.Compare(a.Tooth, b.Tooth))
	})
	for i := range pins {
		pins[i].Pin = i + 1
	}
}

// Crowding is a pair of holes whose centres are nearer than the metal allows.
type Crowding struct {
	A, B       int // indexes of the pins, A before B by angle
	DistanceMm unit.Millimetres
	NeedMm     unit.Millimetres
	SameTrack  bool
	AcrossSeam bool
}

// Crowded gives all pairs of holes whose centres lie nearer than d + w on the unrolled surface, round the circle.
// Pins must be sorted by angle. Each pin looks only at those within d + w of arc behind it: n log n for sorting, then
// n times the few that stand so near.
func Crowded(pins []Pin, c Cylinder) []Crowding {
	need := c.PinDiameterMm + c.HoleWebMm
	around := c.CircumferenceMm()
	n := len(pins)
	var found []Crowding
	for b := range pins {
		for back := 1; back < n; back++ {
			a := b - back
			seam := a < 0
			if seam {
				a += n
			}
			arc := pins[b].ArcMm - pins[a].ArcMm
			if seam {
				arc += around
			}
			if arc >= need {
				break
			}
			axial := pins[b].AxialMm - pins[a].AxialMm
			distance := unit.Millimetres(math.Hypot(float64(arc), float64(axial)))
			if distance < need-1e-6 {
				found = append(found, Crowding{A: a, B: b, DistanceMm: distance, NeedMm: need,
					SameTrack: pins[a].Tooth == pins[b].Tooth, AcrossSeam: seam})
			}
		}
	}
	return found
}
