package pinmap_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

const turn = 60_000 / 4.125 // ms, of the default movement

// TestDefaultCylinder: figures of design section 3 computed by hand. Tolerance 1e-4 of each unit.
//
//	circumference π·13 = 40.840704;  wrap π·13.1 = 41.154864
//	R = 7.4;  φ = asin(0.45/7.4) = 3.486353°;  contact = 14545.4545·3.486353/360 = 140.8627 ms
//	hole 14545.4545·0.6/40.840704 = 213.6905 ms;  sounding 14545.4545·0.95 = 13818.1818 ms
//	length of 18 teeth: 1.5 + 17·1 + 1.5 = 20
func TestDefaultCylinder(t *testing.T) {
	c := pinmap.DefaultCylinder()
	for _, row := range []struct {
		name      string
		got, want float64
	}{
		{"circumference", float64(c.CircumferenceMm()), 40.840704},
		{"wrap", float64(c.WrapMm()), 41.154864},
		{"tip radius", float64(c.TipRadiusMm()), 7.4},
		{"contact angle", float64(c.Contact()), 3.486353},
		{"contact", float64(c.ContactMs(turn)), 140.8627},
		{"hole", float64(c.HoleMs(turn)), 213.6905},
		{"sounding", float64(c.SoundingMs(turn)), 13818.1818},
		{"length", float64(c.LeastLengthMm(18)), 20},
		{"length of no teeth", float64(c.LeastLengthMm(0)), 3},
		{"angle of the first onset", float64(c.AngleDeg(0, turn)), 9},
		{"angle after half a turn", float64(c.AngleDeg(turn/2, turn)), 189},
		{"angle across the datum line", float64(c.AngleDeg(-turn/18, turn)), 349},
		{"angle of a hair before the datum line", float64(c.AngleDeg(-turn/40-1e-13, turn)), 0},
		{"arc of half a turn", float64(c.ArcMm(180)), 20.420352},
		{"axial of tooth 1", float64(c.AxialMm(1)), 1.5},
		{"axial of tooth 18", float64(c.AxialMm(18)), 18.5},
	} {
		if math.Abs(row.got-row.want) > 1e-4 {
			t.Errorf("%s: %v, want %v", row.name, row.got, row.want)
		}
	}
}

func TestAxialRunsUp(t *testing.T) {
	for _, row := range []struct {
		end  pinmap.Side
		turn pinmap.Turn
		up   bool
	}{{pinmap.Left, pinmap.Up, true}, {pinmap.Right, pinmap.Up, false}, {pinmap.Left, pinmap.Down, false}, {pinmap.Right, pinmap.Down, true}} {
		if got := (pinmap.Cylinder{BassEnd: row.end, Turns: row.turn}).AxialRunsUp(); got != row.up {
			t.Errorf("bass end %s, turning %s: %v, want %v", row.end, row.turn, got, row.up)
		}
	}
}

// anyCylinder draws a cylinder within the bounds of a setup.
func anyCylinder(t *rapid.T) pinmap.Cylinder {
	c := pinmap.DefaultCylinder()
	c.DiameterMm = unit.Millimetres(rapid.Float64Range(3, 60).Draw(t, "diameterMm"))
	c.PinDiameterMm = unit.Millimetres(rapid.Float64Range(0.05, 1).Draw(t, "pinDiameterMm"))
	c.HoleWebMm = unit.Millimetres(rapid.Float64Range(0, 1).Draw(t, "holeWebMm"))
	c.ToothSpacingMm = unit.Millimetres(rapid.Float64Range(0.1, 2).Draw(t, "toothSpacingMm"))
	c.GapDeg = unit.Degrees(rapid.SampledFrom([]float64{0, 18, 90}).Draw(t, "gapDeg"))
	return c
}

func anyPins(t *rapid.T) []pinmap.Pin {
	n := rapid.IntRange(0, 40).Draw(t, "pins")
	pins := make([]pinmap.Pin, n)
	for i := range pins {
		pins[i] = pinmap.Pin{Note: fmt.Sprint("n", i), Tooth: rapid.IntRange(1, 9).Draw(t, "tooth"),
			TimeMs: turn * unit.Milliseconds(rapid.IntRange(0, 200).Draw(t, "place")) / 201}
	}
	return pins
}

// TestCrowded holds the pairs of crowded holes against all pairs tried one by one on the unrolled surface and its copy one turn on.
func TestCrowded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCylinder(t)
		c.GapDeg = 0
		pins := anyPins(t)
		pinmap.Layout(pins, c, turn)
		around := math.Pi * float64(c.DiameterMm)
		need := float64(c.PinDiameterMm + c.HoleWebMm)
		if need*4 > around {
			t.Skip("the pins do not suit the cylinder")
		}
		var want, got []string
		for i, p := range pins {
			for j := i + 1; j < len(pins); j++ {
				arc := math.Abs(float64(p.ArcMm - pins[j].ArcMm))
				axial := float64(c.ToothSpacingMm) * float64(p.Tooth-pins[j].Tooth)
				if math.Hypot(min(arc, around-arc), axial) < need-1e-6 {
					want = append(want, fmt.Sprint(i, j, arc > around/2, p.Tooth == pins[j].Tooth))
				}
			}
		}
		for _, k := range pinmap.Crowded(pins, c) {
			if k.AcrossSeam != (k.A > k.B) {
				t.Fatalf("%+v does not say truly whether it lies across the seam", k)
			}
			got = append(got, fmt.Sprint(min(k.A, k.B), max(k.A, k.B), k.AcrossSeam, k.SameTrack))
		}
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Fatalf("crowded %v, want %v", got, want)
		}
	})
}

// TestLayout: pins are numbered by angle, then tooth, angle grows with time, and none is lost.
func TestLayout(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCylinder(t)
		pins := anyPins(t)
		before := len(pins)
		pinmap.Layout(pins, c, turn)
		seen := map[string]bool{}
		for i, p := range pins {
			seen[p.Note] = true
			if p.Pin != i+1 || p.AngleDeg < 0 || p.AngleDeg >= 360 {
				t.Fatalf("pin %d: %+v", i+1, p)
			}
			if i > 0 && (p.AngleDeg < pins[i-1].AngleDeg || p.AngleDeg == pins[i-1].AngleDeg && p.Tooth < pins[i-1].Tooth) {
				t.Fatalf("pin %d comes before pin %d", p.Pin, i)
			}
			if want := float64(c.GapDeg)/2 + 360*float64(p.TimeMs/turn); math.Abs(math.Mod(want, 360)-float64(p.AngleDeg)) > 1e-9 {
				t.Fatalf("pin %d stands at %v, want %v", p.Pin, p.AngleDeg, want)
			}
		}
		if len(seen) != before {
			t.Fatalf("%d notes of %d are on the cylinder", len(seen), before)
		}
	})
}
