package solid

import (
	"math"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// Of the discs, in mm: a starting point of our own, to be changed in a CAD program.
const (
	flangeMm  = 2.0 // thickness of the part outside the cylinder
	spigotMm  = 3.0 // length of the part in the bore
	fitMm     = 0.1 // room all round between printed parts that go together
	arborMm   = 3.0 // greatest diameter of the arbor
	apartMm   = 5.0 // between parts that are printed side by side
	leastBore = 2.0 // below which a disc has no spigot
)

// arbor gives the diameter of the arbor that discs and trial base are made for: 3 mm, where that is less than half the bore, or a third of the cylinder.
func arbor(c pinmap.Cylinder, bore unit.Millimetres) float64 {
	if bore >= leastBore {
		return min(arborMm, float64(bore)/2)
	}
	return min(arborMm, float64(c.DiameterMm)/3)
}

// EndDiscs gives two discs that close a printed or tubular cylinder, as wide as it is, lying side by side. Each has a hole for an arbor, with a keyway
// a third as wide as the arbor and a sixth deep, and, where the bore is 2 mm or more, a spigot that goes into the bore. A starting point.
func EndDiscs(c pinmap.Cylinder, length, bore unit.Millimetres) *Mesh {
	m := &Mesh{}
	radius, hole := float64(c.DiameterMm)/2, arbor(c, bore)/2
	deep := hole * 4 / 3 // bottom of the keyway, from the axis
	radii := []float64{hole, deep, radius}
	heights := []float64{0, flangeMm}
	if bore >= leastBore {
		spigot := float64(bore)/2 - fitMm
		radii = []float64{hole, deep, spigot, radius}
		heights = append(heights, flangeMm+min(spigotMm, float64(max(length, c.PinDiameterMm))/4))
	}
	// Cells are sectors of rings. The first sectors of the innermost are the keyway.
	key := math.Asin(1.0 / 3)
	step := min(widestDeg*math.Pi/180, 2*math.Acos(1-surfaceMm/radius))
	keys, others := int(math.Ceil(2*key/step)), int(math.Ceil(2*(math.Pi-key)/step))
	for _, x := range []float64{radius, 3*radius + apartMm} {
		grid{
			cells: [3]int{len(radii) - 1, keys + others, len(heights) - 1},
			round: true,
			full: func(i, j, k int) bool {
				return (i > 0 || j >= keys) && (k == 0 || i < len(radii)-2)
			},
			at: func(i, j, k int) (float64, float64, float64) {
				angle := key * (2*float64(j)/float64(keys) - 1)
				switch {
				case j > keys:
					angle = key + 2*(math.Pi-key)*float64(j-keys)/float64(others)
				case i == 1: // the keyway's walls are parallel
					angle = math.Asin(math.Sin(angle) * hole / deep)
				}
				return x + radii[i]*math.Cos(angle), radius + radii[i]*math.Sin(angle), heights[k]
			},
		}.mesh(m)
	}
	return m
}
