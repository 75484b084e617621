package indexing

import (
	"cmp"
	"math"
	"slices"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// Repeat is two plucks of one tooth that follow each other round the circle.
type Repeat struct {
	A, B       int // indexes of the pins, B after A
	Tooth      int
	ComputedMs unit.Milliseconds // from A to B as computed
	HaveMs     unit.Milliseconds // as reached
	NeedMs     unit.Milliseconds
	AcrossSeam bool
}

// Repeats gives each two plucks of a tooth that follow each other round the circle, by tooth and angle. need gives the repeat time of a tooth.
// They are all that must be looked at: where two plucks with others between them come too near, so do the others. Rows must be those of the pins.
func Repeats(rows []Row, pins []pinmap.Pin, turnMs unit.Milliseconds, need func(tooth int) unit.Milliseconds) []Repeat {
	order := Order(pins)
	all := make([]Repeat, 0, len(pins))
	for from := 0; from < len(order); {
		to := from + 1
		for to < len(order) && pins[order[to]].Tooth == pins[order[from]].Tooth {
			to++
		}
		track := order[from:to]
		from = to
		if len(track) < 2 {
			continue
		}
		least := need(pins[track[0]].Tooth)
		for i, a := range track {
			b, seam, round := track[(i+1)%len(track)], i == len(track)-1, unit.Degrees(0)
			if seam {
				round = 360
			}
			apart := pins[b].AngleDeg - pins[a].AngleDeg + round
			all = append(all, Repeat{A: a, B: b, Tooth: pins[a].Tooth, AcrossSeam: seam, NeedMs: least, ComputedMs: unit.Milliseconds(apart/360) * turnMs,
				HaveMs: unit.Milliseconds((apart+rows[b].ErrorDeg-rows[a].ErrorDeg)/360) * turnMs})
		}
	}
	return all
}

// Broken gives what a method would break that holds as computed: repeats of a tooth (those of Repeats), and webs between holes of different
// tracks, with the distance as reached; those of one track are repeats, whose time leaves the web. n log n.
func Broken(rows []Row, pins []pinmap.Pin, c pinmap.Cylinder, turnMs unit.Milliseconds, need func(tooth int) unit.Milliseconds) (repeats []Repeat, webs []pinmap.Crowding) {
	for _, r := range Repeats(rows, pins, turnMs, need) {
		if least := r.NeedMs - comb.Slack; r.ComputedMs >= least && r.HaveMs < least {
			repeats = append(repeats, r)
		}
	}
	if c.ToothSpacingMm >= c.PinDiameterMm+c.HoleWebMm {
		return repeats, nil
	}
	reached, from := make([]pinmap.Pin, len(pins)), make([]int, len(pins))
	for i := range from {
		from[i] = i
	}
	slices.SortStableFunc(from, func(a, b int) int {
		return cmp.Or(cmp.Compare(rows[a].ReachedDeg, rows[b].ReachedDeg), cmp.Compare(pins[a].Tooth, pins[b].Tooth))
	})
	for i, at := range from {
		reached[i] = pins[at]
		reached[i].AngleDeg = rows[at].ReachedDeg
		reached[i].ArcMm = c.ArcMm(rows[at].ReachedDeg)
	}
	for _, w := range pinmap.Crowded(reached, c) {
		w.A, w.B = from[w.A], from[w.B]
		a, b := pins[w.A], pins[w.B]
		arc := math.Abs(float64(a.ArcMm - b.ArcMm))
		arc = min(arc, float64(c.CircumferenceMm())-arc)
		if !w.SameTrack && math.Hypot(arc, float64(a.AxialMm-b.AxialMm)) >= float64(w.NeedMm)-1e-6 {
			webs = append(webs, w)
		}
	}
	return repeats, webs
}
