package pinmap

import (
	"cmp"
	"iter"
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

// Crowded gives all pairs that EachCrowded does.
func Crowded(pins []Pin, c Cylinder) []Crowding { return slices.Collect(EachCrowded(pins, c)) }

// EachCrowded gives one by one all pairs of holes whose centres lie nearer than d + w on the unrolled surface, round the circle.
// Pins must be sorted by angle, and tracks that follow one another lie a tooth spacing or more apart. Each pin looks only at the tracks within d + w of its own, and there only at those within d + w
// of arc behind it: n log n for the pins, and the pairs that are found.
func EachCrowded(pins []Pin, c Cylinder) iter.Seq[Crowding] {
	return func(yield func(Crowding) bool) { crowded(pins, c, yield) }
}

func crowded(pins []Pin, c Cylinder, yield func(Crowding) bool) {
	need := c.PinDiameterMm + c.HoleWebMm
	around := c.CircumferenceMm()
	last := 0
	for _, p := range pins {
		last = max(last, p.Tooth)
	}
	tracks := make([][]int, last+1) // pins of each tooth, by angle
	for i, p := range pins {
		tracks[p.Tooth] = append(tracks[p.Tooth], i)
	}
	reach := int(math.Ceil(float64(need / c.ToothSpacingMm)))
	for b, pin := range pins {
		for t := max(pin.Tooth-reach, 1); t <= min(pin.Tooth+reach, last); t++ {
			track := tracks[t]
			next, _ := slices.BinarySearch(track, b)
			for back := 1; back <= len(track); back++ {
				a, seam := 0, next < back
				if seam {
					a = track[next-back+len(track)]
				} else {
					a = track[next-back]
				}
				arc := pin.ArcMm - pins[a].ArcMm
				if seam {
					arc += around
				}
				if arc >= need || a == b {
					break
				}
				distance := unit.Millimetres(math.Hypot(float64(arc), float64(pin.AxialMm-pins[a].AxialMm)))
				if distance < need-1e-6 && !yield(Crowding{A: a, B: b, DistanceMm: distance, NeedMm: need,
					SameTrack: t == pin.Tooth, AcrossSeam: seam}) {
					return
				}
			}
		}
	}
}
