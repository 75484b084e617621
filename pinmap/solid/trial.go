package solid

import (
	"math"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// Of the trial, in mm: a starting point of our own.
const (
	teethMm   = 12.0 // length of the teeth
	plateMm   = 8.0  // depth of the plate that they stand on
	thickMm   = 0.8  // of the comb
	wallMm    = 3.0  // thickness of floor and walls
	underMm   = 2.0  // between the floor and the pins
	toothPart = 0.7  // of the spacing that is tooth; the rest is gap
)

// CombTrial gives a comb and a base to check positions with, not to hear: the teeth are straight bars, all alike, one on each track. The comb lies flat
// beside the base, each as it is printed.
//
// The base is a tray. The arbor of a cylinder with its end discs lies in the slots of the side walls. The comb lies on the ledge, its back against the
// rear wall and its ends between the side walls. Its tips are then √((D/2 + h)² − δ²) from the axis, where pins let go after a lift of δ, and the side that
// pins touch is level with the axis. x runs along the axis, such that the bass end lies as the hand of the movement says; y from the axis to the comb.
func CombTrial(c pinmap.Cylinder, length, bore unit.Millimetres, teeth int) *Mesh {
	teeth = max(teeth, 1)
	long := float64(max(length, c.LeastLengthMm(teeth), c.PinDiameterMm))
	width := float64(c.ToothSpacingMm) * toothPart
	beyond := max(flangeMm+fitMm*2, width/2-float64(c.FirstTrackMm)+1) // from the cylinder's ends to the side walls
	tip := float64(c.TipRadiusMm())
	line := math.Sqrt(tip*tip - float64(c.LiftMm*c.LiftMm))
	ledge := 0.0
	if c.Turns == pinmap.Down {
		ledge = -thickMm
	}
	slot := arbor(c, bore)/2 + fitMm
	front, seat, rear := -tip-1, line+teethMm, line+teethMm+plateMm
	floor, top := -tip-underMm, max(slot+1, thickMm+1)
	// The floor's underside stands at z = 0 and its corner at x = y = 0.
	move := func(b box) box {
		for axis, by := range [3]float64{beyond + wallMm, -front, wallMm - floor} {
			b.low[axis] += by
			b.high[axis] += by
		}
		return b
	}
	left, right := -beyond, long+beyond
	base := []box{
		move(box{[3]float64{left - wallMm, front, floor - wallMm}, [3]float64{right + wallMm, rear + wallMm, floor}}),
		move(box{[3]float64{left - wallMm, front, floor}, [3]float64{left, rear + wallMm, top}}),
		move(box{[3]float64{right, front, floor}, [3]float64{right + wallMm, rear + wallMm, top}}),
		move(box{[3]float64{left, rear, floor}, [3]float64{right, rear + wallMm, top}}),
		move(box{[3]float64{left, seat, floor}, [3]float64{right, rear, ledge}}),
	}
	slots := []box{move(box{[3]float64{left - wallMm, -slot, fitMm - slot}, [3]float64{right + wallMm, slot, top}})}

	// The comb as it lies in the base, moved to the bed and clear of the base.
	lay := func(b box) box {
		b = move(b)
		for _, y := range []*float64{&b.low[1], &b.high[1]} {
			*y += rear + wallMm - front + apartMm - (line - front)
		}
		b.low[2], b.high[2] = 0, thickMm
		return b
	}
	comb := []box{lay(box{[3]float64{left + fitMm, seat, 0}, [3]float64{right - fitMm, rear, 0}})}
	for k := 1; k <= teeth; k++ {
		x := float64(c.AxialMm(k))
		if c.BassEnd == pinmap.Left {
			x = long - x
		}
		comb = append(comb, lay(box{[3]float64{x - width/2, line, 0}, [3]float64{x + width/2, seat, 0}}))
	}
	m := &Mesh{}
	m.boxes(base, slots)
	m.boxes(comb, nil)
	return m
}
