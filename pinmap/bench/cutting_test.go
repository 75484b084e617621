package bench

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// TestNewCutting: the arithmetic n = 1000·v/(πd) is exact to three figures; what a material bears is common practice, no published source. The
// speeds are the slow ends of the ranges that are printed for drills of high-speed steel: brass 150 to 300 feet a minute, aluminium 200 to 300, mild steel
// 80 to 110, plastics 100 to 300.
func TestNewCutting(t *testing.T) {
	for name, row := range map[string]struct {
		change   func(*pinmap.Bench)
		d, depth unit.Millimetres
		want     Cutting
	}{
		"default, held by the spindle": {func(*pinmap.Bench) {}, 0.35, 1, Cutting{10_000, 52.5, 0.35, 40_900}},
		"brass, a fast spindle":        {func(b *pinmap.Bench) { b.MostRpm = 60_000 }, 0.35, 1, Cutting{40_900, 215, 0.35, 40_900}},
		"steel, 1 mm":                  {func(b *pinmap.Bench) { b.Material = "steel" }, 1, 3, Cutting{7640, 76.4, 0.5, 7640}},
		"aluminium, 2 mm":              {func(b *pinmap.Bench) { b.Material = "aluminium" }, 2, 3, Cutting{9550, 287, 1, 9550}},
		"plastic, 1 mm":                {func(b *pinmap.Bench) { b.Material = "plastic" }, 1, 3, Cutting{9550, 191, 1, 9550}},
		"the feed follows the spindle": {func(b *pinmap.Bench) { b.SpindleRpm = 2000 }, 0.35, 1, Cutting{2000, 10.5, 0.35, 40_900}},
		"the maker's own":              {func(b *pinmap.Bench) { b.SpindleRpm, b.FeedMmPerMin, b.PeckMm = 3000, 20, 0.2 }, 0.35, 1, Cutting{3000, 20, 0.2, 40_900}},
		"more than the spindle turns":  {func(b *pinmap.Bench) { b.SpindleRpm = 20_000 }, 0.35, 1, Cutting{10_000, 52.5, 0.35, 40_900}},
		"a peck deeper than the hole":  {func(b *pinmap.Bench) { b.PeckMm = 4 }, 0.35, 1, Cutting{10_000, 52.5, 1, 40_900}},
		"next to nothing":              {func(b *pinmap.Bench) { b.SpindleRpm, b.FeedMmPerMin, b.PeckMm = 1e-9, 1e-9, 1e-9 }, 0.35, 1, Cutting{1e-9, 0.1, 0.01, 40_900}},
	} {
		b := pinmap.DefaultBench()
		row.change(&b)
		if got := NewCutting(b, row.d, row.depth); got != row.want {
			t.Errorf("%s: %+v, want %+v", name, got, row.want)
		}
	}
	for material, feet := range map[string]float64{"brass": 150, "aluminium": 200, "steel": 80, "plastic": 100} {
		if speed, _, _ := bears(material); speed != math.Floor(feet*0.3048) {
			t.Errorf("%s: %v m/min is not %v feet a minute, in whole metres", material, speed, feet)
		}
	}
}

func TestCuttingLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBench(t)
		d := unit.Millimetres(rapid.Float64Range(0.05, 5).Draw(t, "pinDiameterMm"))
		depth := unit.Millimetres(rapid.Float64Range(0.05, 50).Draw(t, "holeDepthMm"))
		c := NewCutting(b, d, depth)
		if c.SpindleRpm > b.MostRpm || !(c.SpindleRpm > 0) || !(c.FeedMmPerMin >= 0.1) || c.FeedMmPerMin > 2000 || c.PeckMm < 0.01 || c.PeckMm > depth {
			t.Fatalf("%+v for %v mm, %v mm deep, with %+v", c, d, depth, b)
		}
		if b.SpindleRpm == 0 && b.MostRpm > c.BearsRpm {
			if speed, _, _ := bears(b.Material); !near(math.Pi*float64(d)*float64(c.SpindleRpm)/1000, speed, 0.005*speed) {
				t.Fatalf("%v rev/min of %v mm is not the %v m/min that %s bears", c.SpindleRpm, d, speed, b.Material)
			}
		}
	})
}

// anyBench draws what the setup allows of speeds and heights.
func anyBench(t *rapid.T) pinmap.Bench {
	b := pinmap.DefaultBench()
	b.Material = rapid.SampledFrom(pinmap.Materials()).Draw(t, "material")
	b.MostRpm = unit.Rpm(rapid.Float64Range(100, 200_000).Draw(t, "mostRpm"))
	b.ClearMm = unit.Millimetres(rapid.Float64Range(0.5, 100).Draw(t, "clearMm"))
	b.SpindleRpm = unit.Rpm(rapid.SampledFrom([]float64{0, 0.5, 3000, 200_000}).Draw(t, "spindleRpm"))
	b.FeedMmPerMin = rapid.SampledFrom([]float64{0, 1e-7, 20, 2000}).Draw(t, "feedMmPerMin")
	b.PeckMm = unit.Millimetres(rapid.SampledFrom([]float64{0, 1e-7, 0.2, 50}).Draw(t, "peckMm"))
	return b
}
