// Package indexing gives how a maker turns the cylinder to each hole with the tools at hand, and how far the hole then lies from where it
// was computed. Every setting is worked out from the datum line, and a move is the difference of two settings, so that errors never add up.
package indexing

import (
	"cmp"
	"math"
	"slices"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// Row is how one hole is set.
type Row struct {
	Pin   int // index of its pin
	Order int // in which it is drilled, from 1
	Turn  int // full turns that the cylinder has made before, from 0: one a track, always the same way
	// Count is the setting in the method's units from the datum line: marks of the scale, holes of the whole cylinder's circle (crank turns times its
	// holes and holes more), divisions of the wheel, steps; 0 for the wrap. The count of a full turn is the datum line again.
	Count int64
	// Move is how many units the tool moves on from the hole drilled before, for the first from the datum line; past the datum line on a new track.
	// Moves up to a hole add up to the units of its Turn and its Count. 0 for what is read on a scale or measured.
	Move       int64
	ReachedDeg unit.Degrees      // [0, 360)
	ErrorDeg   unit.Degrees      // reached less computed
	ErrorMm    unit.Millimetres  // the same along the arc at the bare surface
	ErrorMs    unit.Milliseconds // the same in time
	Alone      Stop              // of a dividing head: the best circle for this hole alone
}

// Table is how all holes of a cylinder are set with one method.
type Table struct {
	Method pinmap.Method
	Circle int  // of a dividing head: the best for the whole cylinder, else 0
	Exact  bool // reports whether every hole is where it was computed, to a billionth of a degree
	Rows   []Row

	WorstDeg, RMSDeg unit.Degrees // RMS: root of the mean square
	WorstMm, RMSMm   unit.Millimetres
	WorstMs, RMSMs   unit.Milliseconds

	bench pinmap.Bench
	whole int64   // units of a turn where they are whole, else 0
	units float64 // units of a turn
}

// Of gives how each pin's hole is set with a bench's method, in the order of the pins. Circles of a dividing head are chosen as OneCircle and
// BestCircle do. The bench must be one that was parsed. n log n, times the circles of a head.
//
// A scale begins anew at the datum line, also where its marks do not divide the circle. A stepper counts on: where its steps do not divide the
// circle, the step at the datum line is the nearest one in each turn, and Count counts from there.
func Of(b pinmap.Bench, c pinmap.Cylinder, turnMs unit.Milliseconds, pins []pinmap.Pin) Table {
	t := Table{Method: b.Method, Exact: true, Rows: make([]Row, len(pins)), bench: b}
	angles := make([]Angle, len(pins))
	for i, p := range pins {
		angles[i] = Deg(p.AngleDeg)
	}
	switch b.Method {
	case pinmap.Degrees:
		t.units = 360 / float64(b.LeastDeg)
	case pinmap.Sixties:
		t.units = 360 * 3600 / b.LeastSec
	case pinmap.Head:
		t.Circle = OneCircle(angles, b.HeadRatio, b.HeadCircles)
		t.units = float64(b.HeadRatio) * float64(t.Circle)
	case pinmap.Wheel:
		t.units = float64(b.WheelDivisions)
	case pinmap.Stepper:
		t.units = float64(b.MotorSteps) * b.MotorRatio
	case pinmap.Vernier:
		t.units = float64(c.CircumferenceMm() / b.LeastMm)
	}
	if near := math.Round(t.units); math.Abs(t.units-near) <= 1e-9+1e-12*near {
		t.whole = int64(near)
	}
	turn, track, moved := -1, pinmap.Pin{Tooth: -1}, int64(0)
	var deg float64
	for n, i := range Order(pins) {
		p := pins[i]
		if p.AxialMm != track.AxialMm || p.Tooth != track.Tooth {
			turn, track = turn+1, p
		}
		r := Row{Pin: i, Order: n + 1, Turn: turn, ReachedDeg: p.AngleDeg}
		if b.Method != pinmap.Wrap {
			t.set(&r, angles[i], p.AngleDeg)
		}
		if t.Counts() {
			total := t.datum(turn) + r.Count
			r.Move, moved = total-moved, total
		}
		if b.Method == pinmap.Head {
			r.Alone = BestCircle(angles[i], b.HeadRatio, b.HeadCircles)
		}
		r.ErrorMm, r.ErrorMs = c.ArcMm(r.ErrorDeg), unit.Milliseconds(r.ErrorDeg/360)*turnMs
		t.Exact = t.Exact && r.ErrorDeg == 0
		t.WorstDeg = max(t.WorstDeg, r.ErrorDeg, -r.ErrorDeg)
		deg += float64(r.ErrorDeg * r.ErrorDeg)
		t.Rows[i] = r
	}
	t.RMSDeg = unit.Degrees(math.Sqrt(deg / float64(max(len(pins), 1))))
	t.WorstMm, t.RMSMm = c.ArcMm(t.WorstDeg), c.ArcMm(t.RMSDeg)
	t.WorstMs, t.RMSMs = unit.Milliseconds(t.WorstDeg/360)*turnMs, unit.Milliseconds(t.RMSDeg/360)*turnMs
	return t
}

// Units gives the number of the method's units in a turn, not whole where they do not divide it; 0 for the wrap.
func (t *Table) Units() float64 { return t.units }

// Order gives the indices of the pins in the order in which their holes are drilled: track by track from the bass end, on each from the datum line on
// by angle. The cylinder always turns the same way, over the datum line to the next track, so that backlash does not matter, and the axial setting
// changes once a track.
func Order(pins []pinmap.Pin) []int {
	order := make([]int, len(pins))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(pins[a].AxialMm, pins[b].AxialMm), cmp.Compare(pins[a].Tooth, pins[b].Tooth), cmp.Compare(pins[a].AngleDeg, pins[b].AngleDeg), cmp.Compare(a, b))
	})
	return order
}

// Counts reports whether the method is moved on by a count, not read on a scale.
func (t *Table) Counts() bool {
	return t.Method == pinmap.Head || t.Method == pinmap.Wheel || t.Method == pinmap.Stepper
}

// datum gives the count at the datum line after a number of turns.
func (t *Table) datum(turn int) int64 {
	if t.whole > 0 {
		return int64(turn) * t.whole
	}
	return int64(math.Round(float64(turn) * t.units))
}

// set works out the setting of a hole.
func (t *Table) set(r *Row, a Angle, computed unit.Degrees) {
	if t.whole > 0 {
		k, off := a.nearest(uint64(t.whole))
		r.Count, r.ErrorDeg = int64(k), a.degrees(off, uint64(t.whole))
		r.ReachedDeg = unit.Degrees(float64(int64(k)%t.whole) * 360 / float64(t.whole))
		return
	}
	at := float64(computed/360) * t.units
	count := math.Round(at)
	switch t.Method {
	case pinmap.Stepper:
		at = float64(float64(r.Turn)*t.units) + at - float64(t.datum(r.Turn))
		count = math.Round(at)
	case pinmap.Degrees, pinmap.Sixties:
		last := math.Floor(t.units)
		if at > last && t.units-at <= at-last { // beyond the last mark comes the datum line
			r.ReachedDeg, r.ErrorDeg = 0, unit.Degrees((t.units-at)/t.units*360)
			return
		}
		count = min(count, last)
	}
	r.Count = int64(count)
	if off := math.Remainder((count-at)/t.units*360, 360); math.Abs(off) > 1e-9 {
		r.ErrorDeg = unit.Degrees(off)
	}
	r.ReachedDeg = computed + r.ErrorDeg
	r.ReachedDeg -= 360 * unit.Degrees(math.Floor(float64(r.ReachedDeg/360))) // a stepper may stand before the datum line, a vernier beyond it
	if r.ReachedDeg >= 360 {                                                  // of one a rounding error before it
		r.ReachedDeg = 0
	}
}
