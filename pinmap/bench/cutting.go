package bench

import (
	"math"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// Cutting is how a hole is drilled.
type Cutting struct {
	SpindleRpm   unit.Rpm
	FeedMmPerMin float64
	PeckMm       unit.Millimetres // depth after which the drill comes out to clear its chips
	BearsRpm     unit.Rpm         // what drill and material would bear
}

// bears gives what a material and a drill of high-speed steel bear: the speed of the cut in m/min, the feed of one turn and the depth of a
// peck as parts of the drill's diameter. Common practice, no published source: the slow end of what is printed for such drills, with the light feed that
// keeps a drill below a millimetre whole.
func bears(material string) (metresPerMin, chip, peck float64) {
	switch material {
	case "aluminium":
		return 60, 0.015, 0.5 // its chips stick in the flutes
	case "plastic":
		return 30, 0.02, 1
	case "brass":
		return 45, 0.015, 1
	}
	return 24, 0.01, 0.5 // steel, which asks for the most care
}

// NewCutting gives the speeds for holes of diameter d and a depth: what the maker set, else the spindle 1000·v/(πd), the feed chip·d of each turn
// and the peck that the material bears, each to three figures. The spindle never exceeds mostRpm, and the feed follows the spindle. A feed is at least
// 0.1 and at most 2000 mm/min, and a peck at least 0.01 mm, so that a drill does not stand in the hole.
func NewCutting(b pinmap.Bench, d, depth unit.Millimetres) Cutting {
	speed, chip, peck := bears(b.Material)
	c := Cutting{SpindleRpm: b.SpindleRpm, FeedMmPerMin: b.FeedMmPerMin, PeckMm: b.PeckMm}
	c.BearsRpm = unit.Rpm(significant(1000 * speed / (math.Pi * float64(d))))
	if c.SpindleRpm == 0 {
		c.SpindleRpm = c.BearsRpm
	}
	c.SpindleRpm = min(c.SpindleRpm, b.MostRpm)
	if c.FeedMmPerMin == 0 {
		c.FeedMmPerMin = significant(chip * float64(d) * float64(c.SpindleRpm))
	}
	if c.PeckMm == 0 {
		c.PeckMm = unit.Millimetres(significant(peck * float64(d)))
	}
	c.FeedMmPerMin = min(max(c.FeedMmPerMin, 0.1), 2000)
	c.PeckMm = min(max(c.PeckMm, 0.01), depth)
	return c
}

// significant rounds v > 0 to three figures.
func significant(v float64) float64 {
	step := math.Pow(10, math.Floor(math.Log10(v))-2)
	return unit.Round(math.Round(v/step) * step)
}
