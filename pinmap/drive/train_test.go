package drive_test

import (
	"math"
	"testing"

	"pinwright/arrange/unit"
	"pinwright/pinmap/drive"
)

// TestDefault: the train of a small movement, common practice, no published source; the products computed elsewhere.
// Tolerance 1e-9 relative.
func TestDefault(t *testing.T) {
	d := drive.Default()
	turn := d.RevolutionMs()
	speeds := d.Speeds(turn)
	for _, row := range []struct {
		name      string
		got, want float64
	}{
		{"ratio of the whole train", d.Ratio(), 2390.85},
		{"cylinder rpm", float64(d.CylinderRpm()), 4.125},
		{"revolution, 60 000/4.125", float64(turn), 60_000 / 4.125},
		{"governor turns for one of the cylinder", d.Ratio() / d.CylinderRatio(), 869.4},
		{"great wheel rpm", float64(speeds[0]), 1.5},
		{"cylinder arbor", float64(speeds[1]), 4.125},
		{"governor rpm", float64(speeds[4]), 3586.275},
	} {
		if math.Abs(row.got/row.want-1) > 1e-9 {
			t.Errorf("%s: %v, want %v", row.name, row.got, row.want)
		}
	}
	if len(speeds) != 5 {
		t.Errorf("%d arbors, want 5", len(speeds))
	}
	if math.Abs(float64(turn)-14545.454545) > 1e-6 { // the reference's figure
		t.Errorf("one turn takes %v ms, want 14545.454545", turn)
	}
}

// TestSpeeds: a cylinder on the great wheel's own arbor, and one that turns slower than its drive would have it.
func TestSpeeds(t *testing.T) {
	d := drive.Train{GreatWheelRpm: 2, Stages: []float64{10, 5}, CylinderStage: 0}
	if got := d.RevolutionMs(); got != 30_000 {
		t.Errorf("a cylinder on the great wheel turns in %v ms, want 30000", got)
	}
	d.CylinderStage = 2 // 100 rev/min
	got := d.Speeds(1200)
	for i, want := range []unit.Rpm{0.5 * 2, 10, 50} { // 1200 ms is 50 rev/min
		if math.Abs(float64(got[i]-want)) > 1e-9 {
			t.Errorf("arbor %d turns at %v rev/min, want %v", i, got[i], want)
		}
	}
}
