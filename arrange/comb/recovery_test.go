package comb_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
)

// TestRecover: a default compact movement, computed by hand from design values.
//
//	T      = 60 000/4.125 = 14545.4545 ms;  R = 13/2 + 0.9 = 7.4 mm
//	φ      = asin(0.45/7.4) = 0.0608483 rad = 3.486353°
//	contact = T·φ/2π = 140.8627 ms
//	C5     523.2511 Hz: damp = 15 000/523.2511 = 28.6669 ms; 140.8627 + 28.6669 + 60 = 229.5296 ms
//	hole   = T·0.6/(π·13) = 213.6905 ms
//	C4     57.3338 → 258.1965;  C7: 7.1667 → 208.0294, so its holes govern
//
// Tolerance 1e-3 ms.
func TestRecover(t *testing.T) {
	model := comb.Action{ContactMs: 140.8627, HoleMs: 213.6905, DampingCycles: comb.DefaultDampingCycles, LeastRingMs: comb.DefaultLeastRingMs}
	measured := model
	measured.Measured = map[unit.Pitch]unit.Milliseconds{72: 250, 60: 100}
	for _, row := range []struct {
		name       string
		action     comb.Action
		pitch      unit.Pitch
		damp       float64
		recovery   float64
		repeat     float64
		governedBy comb.Governor
	}{
		{"C5, its damper", model, 72, 28.6669, 229.5296, 229.5296, comb.Damper},
		{"C4, its damper", model, 60, 57.3338, 258.1965, 258.1965, comb.Damper},
		{"C7, its holes", model, 96, 7.1667, 208.0294, 213.6905, comb.Holes},
		{"C5, measured", measured, 72, 28.6669, 250, 250, comb.Measured},
		{"C4, measured but the holes are wider", measured, 60, 57.3338, 100, 213.6905, comb.Holes},
		{"D5, not measured", measured, 74, 25.5393, 226.4020, 226.4020, comb.Damper},
	} {
		r := row.action.Recover(row.pitch)
		for _, f := range []struct {
			name      string
			got, want float64
		}{{"damping", float64(r.DampMs), row.damp}, {"recovery", float64(r.RecoveryMs), row.recovery}, {"repeat", float64(r.RepeatMs), row.repeat}} {
			if math.Abs(f.got-f.want) > 1e-3 {
				t.Errorf("%s: %s %v ms, want %v", row.name, f.name, f.got, f.want)
			}
		}
		if r.GovernedBy != row.governedBy {
			t.Errorf("%s: governed by %s, want %s", row.name, r.GovernedBy, row.governedBy)
		}
	}
}

// TestRoundTheCircle: at most half a turn, the same both ways and from any turn.
func TestRoundTheCircle(t *testing.T) {
	for _, row := range []struct {
		name           string
		a, b, turn, at unit.Milliseconds
	}{
		{"next to each other", 100, 350, 1000, 250}, {"across the datum line", 50, 980, 1000, 70}, {"half a turn", 0, 500, 1000, 500},
		{"the same", 7, 7, 1000, 0}, {"a turn apart", 0, 1000, 1000, 0}, {"before the start", -20, 990, 1000, 10},
	} {
		if got := comb.RoundTheCircle(row.a, row.b, row.turn); math.Abs(float64(got-row.at)) > 1e-9 {
			t.Errorf("%s: %v, want %v", row.name, got, row.at)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		turn := unit.Milliseconds(rapid.Float64Range(200, 60_000).Draw(t, "turn"))
		a := turn * unit.Milliseconds(rapid.Float64Range(0, 1).Draw(t, "a"))
		b := turn * unit.Milliseconds(rapid.Float64Range(0, 1).Draw(t, "b"))
		got := comb.RoundTheCircle(a, b, turn)
		if got < 0 || got > turn/2+1e-9 {
			t.Fatalf("%v lies outside half a turn", got)
		}
		if other := comb.RoundTheCircle(b, a, turn); other != got {
			t.Fatalf("%v one way, %v the other", got, other)
		}
		if other := comb.RoundTheCircle(a+turn, b, turn); math.Abs(float64(other-got)) > 1e-6 {
			t.Fatalf("%v, a turn later %v", got, other)
		}
	})
}
