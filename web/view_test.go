package web

import (
	"testing"

	"pinwright/arrange"
	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// TestCanMove: an octave is offered where the comb has, or may have, a tooth, at most two from the note's own.
func TestCanMove(t *testing.T) {
	for _, row := range []struct {
		name     string
		comb     project.Comb
		octaves  int // where the note, C5, is now
		up, down bool
	}{
		{"a comb to be cut, in its middle", project.Comb{Mode: "cut", Low: 60, High: 96}, 0, true, true},
		{"a comb to be cut, at its lowest", project.Comb{Mode: "cut", Low: 60, High: 96}, -1, true, false},
		{"a given comb with the octave above", project.Comb{Mode: "fixed", Pitches: []unit.NoteName{72, 84}}, 0, true, false},
		{"a given comb without", project.Comb{Mode: "fixed", Pitches: []unit.NoteName{72, 74}}, 0, false, false},
		{"two up already", project.Comb{Mode: "cut", Low: 60, High: 120}, 2, false, true},
	} {
		r := &project.Result{Setup: project.Setup{Comb: row.comb}, Tune: project.TuneView{Notes: []arrange.Note{{ID: "n1", Pitch: 72}}},
			Arrangement: project.Arrangement{Plucks: []project.Pluck{{Note: "n1", Octaves: row.octaves}}}}
		notes := Shown{}.viewNotes(r, nil, nil)
		if up, down := notes[0].CanMove(1), notes[0].CanMove(-1); up != row.up || down != row.down {
			t.Errorf("%s: up %v, down %v", row.name, up, down)
		}
	}
}
