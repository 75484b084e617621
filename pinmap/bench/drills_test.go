package bench

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/unit"
)

// TestNumberDrill holds the drills to ANSI B94.11M, the list from memory, agreeing with a public table; exact in inch, mm = inch · 25.4.
func TestNumberDrill(t *testing.T) {
	mm := map[int]float64{80: 0.3429, 79: 0.3683, 78: 0.4064, 77: 0.4572, 76: 0.508, 75: 0.5334, 74: 0.5715, 73: 0.6096, 72: 0.635, 71: 0.6604,
		70: 0.7112, 69: 0.74168, 68: 0.7874, 67: 0.8128, 66: 0.8382, 65: 0.889, 64: 0.9144, 63: 0.9398, 62: 0.9652, 61: 0.9906, 60: 1.016}
	if len(numberDrills) != len(mm) {
		t.Fatalf("%d drills are listed, want %d", len(numberDrills), len(mm))
	}
	for number, want := range mm {
		if got, d, ok := NumberDrill(unit.Millimetres(want)); !ok || got != number || !near(float64(d), want, 1e-6) {
			t.Errorf("the drill of %v mm is number %d of %v mm, %v; want %d", want, got, d, ok, number)
		}
	}
	for name, row := range map[string]struct {
		d    unit.Millimetres
		want int // 0: none
	}{
		"a pin of a small movement":      {0.35, 80},
		"between two":                    {0.39, 78},
		"as near to both, the thicker":   {0.35560, 79},
		"thinner than the thinnest":      {0.331, 80},
		"thicker than the thickest":      {1.028, 60},
		"too thin for a number":          {0.33, 0},
		"too thick for a number of ours": {1.03, 0},
		"far too thick":                  {5, 0},
	} {
		if got, _, ok := NumberDrill(row.d); got != row.want || ok != (row.want != 0) {
			t.Errorf("%s: %v mm is drill %d, %v; want %d", name, row.d, got, ok, row.want)
		}
	}
}

func TestMetricDrill(t *testing.T) {
	for d, want := range map[unit.Millimetres]unit.Millimetres{0.35: 0.35, 0.36: 0.35, 0.375: 0.4, 0.374: 0.35, 0.05: 0.05, 0.01: 0.05, 0.825: 0.85, 2: 2, 4.98: 5} {
		if got := MetricDrill(d); got != want {
			t.Errorf("the metric drill nearest to %v mm is %v, want %v", d, got, want)
		}
	}
}

// TestDrillLaws checks that no other drill is nearer.
func TestDrillLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0.05, 5).Draw(t, "mm")
		if _, mm, ok := NumberDrill(unit.Millimetres(d)); ok {
			for _, inch := range numberDrills {
				if math.Abs(inch*25.4-d) < math.Abs(float64(mm)-d)-1e-6 {
					t.Fatalf("%v mm: the drill of %v inch is nearer than that of %v mm", d, inch, mm)
				}
			}
		}
		if off := math.Abs(float64(MetricDrill(unit.Millimetres(d))) - d); off > 0.025+1e-6 {
			t.Fatalf("the metric drill nearest to %v mm is %v off", d, off)
		}
	})
}
