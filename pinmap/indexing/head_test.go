package indexing_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
)

// plates are the circles of three usual plates (Machinery's Handbook, 1916).
var plates = pinmap.DefaultBench().HeadCircles

// TestDividingHead holds the cases of 1°, 35° and 11½° of Machinery's Handbook, 1916, indexing for angles, and those of 24′ and 54′ of the US
// Army ordnance training text OD1644; every case recomputed over all circles. Exact; approximations to 1e-3 minute of arc.
func TestDividingHead(t *testing.T) {
	for _, test := range []struct {
		name                 string
		angle                indexing.Angle
		turns, holes, circle int
		errorMinutes         float64
		also                 []indexing.Crank
	}{
		{"1°", indexing.Deg(1), 0, 2, 18, 0, []indexing.Crank{{0, 3, 27}}},
		{"35°", indexing.Deg(35), 3, 16, 18, 0, []indexing.Crank{{3, 24, 27}}},
		{"11½°", indexing.Deg(11.5), 1, 5, 18, 0, nil},
		{"20′", indexing.Parts(20, 60), 0, 1, 27, 0, nil},
		{"20′ as a float", indexing.Deg(20. / 60), 0, 1, 27, 0, nil},
		{"54′", indexing.Parts(54, 60), 0, 2, 20, 0, nil},
		{"54′ as a float", indexing.Deg(54. / 60), 0, 2, 20, 0, nil},
		{"2920′", indexing.Parts(2920, 60), 5, 11, 27, 0, nil},
		{"24′, which needs a circle of 45", indexing.Parts(24, 60), 0, 1, 23, -0.521739, nil},
		{"one of 127 parts", indexing.Parts(360, 127), 0, 6, 19, 0.447576, nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := indexing.BestCircle(test.angle, 40, plates)
			if want := (indexing.Crank{Turns: test.turns, Holes: test.holes, Circle: test.circle}); s.Crank != want {
				t.Errorf("%v, want %v", s.Crank, want)
			}
			if (s.ErrorDeg == 0) != (test.errorMinutes == 0) || math.Abs(float64(s.ErrorDeg)*60-test.errorMinutes) > 1e-3 {
				t.Errorf("off by %v′, want %v′", s.ErrorDeg*60, test.errorMinutes)
			}
			for _, also := range test.also {
				if s := indexing.OnCircle(test.angle, 40, also.Circle); s.Crank != also || s.ErrorDeg != 0 {
					t.Errorf("%v, off by %v°, want %v", s.Crank, s.ErrorDeg, also)
				}
			}
		})
	}
	if s := indexing.BestCircle(indexing.Parts(24, 60), 40, append([]int{45}, plates...)); s.ErrorDeg != 0 || s.Circle != 45 {
		t.Errorf("24′ with a circle of 45 holes: %v, off by %v°", s.Crank, s.ErrorDeg)
	}
}

// TestStops holds what was counted over all circles of the same plates: 478 places a turn, none farther than 5.511′ from an angle.
func TestStops(t *testing.T) {
	distinct, widest := indexing.Stops(40, plates)
	if distinct != 478 || math.Abs(float64(widest)*60-11.020408) > 1e-6 {
		t.Errorf("%d places, the widest step %v′", distinct, widest*60)
	}
	if distinct, widest := indexing.Stops(40, []int{15}); distinct != 15 || math.Abs(float64(widest)-0.6) > 1e-12 {
		t.Errorf("a circle of 15 has %d places, %v° apart", distinct, widest)
	}
}

// TestNoAngleIsFar holds the best of all circles to half the widest step, and to the best of each circle.
func TestNoAngleIsFar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ratio := rapid.SampledFrom([]int{40, 60, 90, 1}).Draw(t, "ratio")
		circles := rapid.SliceOfN(rapid.IntRange(1, 60), 1, 6).Draw(t, "circles")
		den := rapid.IntRange(1, 1000).Draw(t, "den")
		angle := indexing.Parts(rapid.IntRange(0, 360*den).Draw(t, "num"), den)
		best := indexing.BestCircle(angle, ratio, circles)
		off := math.Abs(float64(best.ErrorDeg))
		if _, widest := indexing.Stops(ratio, circles); off > float64(widest)/2+1e-9 {
			t.Errorf("off by %v°, more than half of %v°", off, widest)
		}
		for _, c := range circles {
			switch own := math.Abs(float64(indexing.OnCircle(angle, ratio, c).ErrorDeg)); {
			case own < off-1e-12:
				t.Errorf("the %d circle is off by %v°, the best by %v°", c, own, off)
			case own == 0 && off == 0 && c < best.Circle:
				t.Errorf("the %d circle is exact with fewer holes than the %d", c, best.Circle)
			}
		}
	})
}
