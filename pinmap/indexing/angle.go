package indexing

import (
	"math"
	"math/bits"

	"pinwright/arrange/unit"
)

// Angle is an angle as a part of a turn, in whole numbers, so that it is compared with the stops of a tool without rounding.
type Angle struct {
	num, den uint64 // of a turn
}

// billionths is one turn in billionths of a degree.
const billionths = 360_000_000_000

// Deg gives an angle of 0° to 360° to a billionth of a degree.
func Deg(d unit.Degrees) Angle { return Angle{uint64(math.Round(float64(d) * 1e9)), billionths} }

// Parts gives an angle of num/den degrees, exactly. Domain: 0 ≤ num ≤ 360·den, 0 < den ≤ 10⁹.
func Parts(num, den int) Angle { return Angle{uint64(num), 360 * uint64(den)} }

// nearest gives the nearest of n equal parts of the turn, from 0 to n, the farther of two as near, and how far it lies off in
// parts of n·den of a turn; off by no more than a billionth of a degree it lies on the angle.
func (a Angle) nearest(n uint64) (k uint64, off int64) {
	hi, lo := bits.Mul64(a.num, n)
	lo, carry := bits.Add64(lo, a.den/2, 0)
	k, _ = bits.Div64(hi+carry, lo, a.den)
	off = int64(k*a.den - a.num*n) // both products may overflow, their difference does not
	if math.Abs(float64(off))*billionths <= float64(n)*float64(a.den) {
		off = 0
	}
	return k, off
}

// degrees gives what nearest says that the part lies off in degrees.
func (a Angle) degrees(off int64, n uint64) unit.Degrees {
	return unit.Degrees(float64(off) / float64(n) / float64(a.den) * 360)
}

// nearer compares two distances that nearest gives for one angle, or for two of one den: of n equal parts and of m.
func nearer(off int64, n uint64, than int64, m uint64) int {
	hi1, lo1 := bits.Mul64(magnitude(off), m)
	hi2, lo2 := bits.Mul64(magnitude(than), n)
	switch {
	case hi1 < hi2 || hi1 == hi2 && lo1 < lo2:
		return -1
	case hi1 == hi2 && lo1 == lo2:
		return 0
	}
	return 1
}

func magnitude(v int64) uint64 { return uint64(max(v, -v)) }
