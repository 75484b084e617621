package project_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// fromHole gives the distance of a pin, moved on round the cylinder, from a hole, on the unrolled surface.
func fromHole(r *project.Result, pin int, by unit.Degrees, at project.Drilled) float64 {
	p := r.Pins[pin]
	arc := math.Remainder(float64(p.AngleDeg+by-at.AngleDeg), 360) / 360 * math.Pi * float64(r.Cylinder.DiameterMm)
	return math.Hypot(arc, float64(p.AxialMm-at.AxialMm))
}

// TestSpoiledHoles drills a hole anywhere on its track, after others that were drilled right, and looks at each way out.
func TestSpoiledHoles(t *testing.T) {
	seen := map[project.WayKind]int{}
	rapid.Check(t, func(t *rapid.T) {
		tn, setup, log := anyCase(t)
		session := project.NewSession(tn, setup)
		r, err := session.Derive(context.Background(), log, project.Options{})
		if err != nil || len(r.Pins) == 0 {
			t.Skip("no pin stands")
		}
		pin := rapid.IntRange(0, len(r.Pins)-1).Draw(t, "pin")
		p := r.Pins[pin]
		off := rapid.SampledFrom([]float64{0.05, -0.3, 0.6, 2, 11, 180}).Draw(t, "off")
		wrong := project.Drilled{AxialMm: p.AxialMm, AngleDeg: unit.Degrees(math.Mod(float64(p.AngleDeg)+off+360, 360))}
		var drilled []project.Drilled
		for _, q := range r.Pins[:rapid.IntRange(0, pin).Draw(t, "drilled")] {
			drilled = append(drilled, project.Drilled{AxialMm: q.AxialMm, AngleDeg: q.AngleDeg})
		}
		ways, err := session.Spoiled(context.Background(), log, p.Pin, wrong.AngleDeg, drilled)
		if err != nil {
			t.Fatal(err)
		}
		least := float64(r.Cylinder.PinDiameterMm + r.Cylinder.HoleWebMm)
		free := true
		for i := range r.Pins {
			free = free && fromHole(r, i, 0, wrong) >= least-1e-6
		}
		if !slices.ContainsFunc(ways, func(w project.WayOut) bool { return w.Kind == project.Plug }) {
			t.Fatal("a plug is not offered")
		}
		for _, w := range ways {
			seen[w.Kind]++
			if w.Kind == project.Plug {
				least, near := float64(r.Cylinder.PinDiameterMm+r.Cylinder.HoleWebMm), false
				for i := range drilled {
					near = near || fromHole(r, i, 0, wrong) < least-1e-6 && i != pin
				}
				if said := strings.Contains(w.Text.String(), "nearer than the metal allows"); near && !said {
					t.Fatalf("%s says nothing of the hole that it breaks into", w.Text)
				}
			}
			if w.Text.Empty() {
				t.Fatalf("%s says nothing", w.Kind)
			}
			switch w.Kind {
			case project.LeaveEmpty:
				if !free {
					t.Fatalf("the hole is left empty though a pin comes near: %s", w.Text)
				}
			case project.UseHole, project.UseTwin:
				accepted, err := session.Accept(context.Background(), log, *w.Decision)
				if err != nil {
					t.Fatalf("%s is refused: %v", toJSON(t, w.Decision), err)
				}
				then, err := project.NewSession(tn, setup).Derive(context.Background(), append(slices.Clip(log), accepted), project.Options{})
				if err != nil {
					t.Fatal(err)
				}
				at := slices.IndexFunc(then.Pins, func(q pinmap.Pin) bool { return q.Note == p.Note })
				if at < 0 {
					t.Fatalf("with %s the note has no pin", w.Text)
				}
				for _, hole := range drilled {
					if !slices.ContainsFunc(then.Pins, func(q pinmap.Pin) bool {
						return q.AxialMm == hole.AxialMm && math.Abs(float64(q.AngleDeg-hole.AngleDeg)) < 1e-3
					}) {
						t.Fatalf("%s leaves the hole at %v without its pin", w.Text, hole)
					}
				}
				if q := then.Pins[at]; w.Kind == project.UseHole && math.Abs(math.Remainder(float64(q.AngleDeg-wrong.AngleDeg), 360)) > 1e-3 || w.Kind == project.UseTwin && q.Tooth == p.Tooth {
					t.Fatalf("%s puts the pin on tooth %d at %v; the hole is on tooth %d at %v", w.Text, q.Tooth, q.AngleDeg, p.Tooth, wrong.AngleDeg)
				}
			case project.NewDatum:
				for _, hole := range append(slices.Clone(drilled), wrong) {
					for i := range r.Pins {
						if d := fromHole(r, i, *w.DatumDeg, hole); d < least-1e-6 {
							t.Fatalf("with the datum line at %v° pin %d comes to %.3f mm of a hole; %.3f are needed", *w.DatumDeg, i+1, d, least)
						}
					}
				}
			}
		}
		if free != slices.ContainsFunc(ways, func(w project.WayOut) bool { return w.Kind == project.LeaveEmpty }) {
			t.Fatalf("no pin comes near: %v; ways %v", free, toJSON(t, ways))
		}
	})
	for _, kind := range []project.WayKind{project.LeaveEmpty, project.UseHole, project.UseTwin, project.Plug, project.NewDatum} {
		if seen[kind] == 0 {
			t.Errorf("%s was never offered", kind)
		}
	}
}

func TestSpoiledHolesThatCannotBe(t *testing.T) {
	session := project.NewSession(fiveNotes(t), givenComb(t))
	r, err := session.Derive(context.Background(), nil, project.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name    string
		pin     int
		angle   unit.Degrees
		pointer string
	}{
		{"no such hole", len(r.Pins) + 1, 10, "/pin"},
		{"hole 0", 0, 10, "/pin"},
		{"beyond the turn", 1, 361, "/angleDeg"},
		{"no angle", 1, unit.Degrees(math.NaN()), "/angleDeg"},
		{"where it belongs", 1, r.Pins[0].AngleDeg, "/angleDeg"},
	} {
		t.Run(row.name, func(t *testing.T) {
			ways, err := session.Spoiled(context.Background(), []arrange.Decision{}, row.pin, row.angle, nil)
			var field *project.FieldError
			if !errors.As(err, &field) || field.Pointer != row.pointer {
				t.Errorf("%v, %v; want a fault of %s", ways, err, row.pointer)
			}
		})
	}
}
