package indexing

import (
	"slices"
	"strconv"

	"pinwright/arrange/unit"
)

// Crank is how far the crank of a dividing head is turned: full turns, and then holes more on one circle of its plate.
type Crank struct {
	Turns, Holes, Circle int
}

// String gives it in words, such as "3 turns 16 holes on the 18 circle"; full turns need no circle.
func (c Crank) String() string {
	holes := counted(int64(c.Holes), "hole", "holes") + " on the " + strconv.Itoa(c.Circle) + " circle"
	switch turns := counted(int64(c.Turns), "turn", "turns"); {
	case c.Holes == 0:
		return turns
	case c.Turns == 0:
		return holes
	default:
		return turns + " " + holes
	}
}

// Stop is where a dividing head comes nearest to an angle.
type Stop struct {
	Crank
	ErrorDeg unit.Degrees // of the cylinder: where it stands less where it should; 0: exact, to a billionth of a degree
}

// OnCircle gives the stop of one circle that is nearest to an angle, the farther of two as near: of ratio·circle stops round the
// cylinder. Domain: ratio and circle at least 1.
func OnCircle(a Angle, ratio, circle int) Stop {
	n := uint64(ratio) * uint64(circle)
	k, off := a.nearest(n)
	return Stop{crank(int64(k), circle), a.degrees(off, n)}
}

// BestCircle gives the stop that is nearest to an angle of all circles, on that with the fewest holes among equals. Domain: at least one circle.
func BestCircle(a Angle, ratio int, circles []int) Stop {
	circle, least, among := 0, int64(0), uint64(1)
	for _, c := range circles {
		n := uint64(ratio) * uint64(c)
		_, off := a.nearest(n)
		if by := nearer(off, n, least, among); circle == 0 || by < 0 || by == 0 && c < circle {
			circle, least, among = c, off, n
		}
	}
	return OnCircle(a, ratio, circle)
}

// OneCircle gives the circle whose stops are nearest to all angles, by the worst of them: an exact one where there is one, and that with the
// fewest holes among equals. Angles must all be made by Deg. Cost: angles times circles.
func OneCircle(angles []Angle, ratio int, circles []int) int {
	circle, least, among := 0, int64(0), uint64(1)
	for _, c := range circles {
		n, worst := uint64(ratio)*uint64(c), int64(0)
		for _, a := range angles {
			_, off := a.nearest(n)
			worst = max(worst, off, -off)
		}
		if by := nearer(worst, n, least, among); circle == 0 || by < 0 || by == 0 && c < circle {
			circle, least, among = c, worst, n
		}
	}
	return circle
}

// Stops gives how many places one turn of the crank has on all circles together, and the widest step from one to the next in degrees of the
// cylinder: no angle lies farther than half of it from a stop. Cost: n log n in the holes of all circles.
func Stops(ratio int, circles []int) (distinct int, widest unit.Degrees) {
	type part struct{ hole, circle int }
	var all []part
	for _, c := range circles {
		for h := range c {
			all = append(all, part{h, c})
		}
	}
	compare := func(a, b part) int { return a.hole*b.circle - b.hole*a.circle }
	slices.SortFunc(all, compare)
	all = slices.CompactFunc(all, func(a, b part) bool { return compare(a, b) == 0 })
	for i, p := range all {
		next := 1.0
		if i+1 < len(all) {
			next = float64(all[i+1].hole) / float64(all[i+1].circle)
		}
		widest = max(widest, unit.Degrees((next-float64(p.hole)/float64(p.circle))*360/float64(ratio)))
	}
	return len(all), widest
}

func crank(count int64, circle int) Crank {
	return Crank{int(count / int64(circle)), int(count % int64(circle)), circle}
}
