package project_test

import (
	"context"
	"testing"

	"pinwright/fixtures"
	"pinwright/pinmap/project"
)

// TestCompare: tunes are ranked by what the comb keeps, each as it would be alone, and one comb for all keeps no more of
// any than a comb of its own.
func TestCompare(t *testing.T) {
	tunes := []project.Candidate{
		{FileName: "fast.mid", Tune: read(t, melody(played{0, c5}, played{60, c5}, played{120, c5}, played{180, c5}, played{240, d5}))},
		{FileName: "demo.mid", Tune: read(t, fixtures.DemoTune)},
		{FileName: "two notes.mid", Tune: read(t, melody(played{0, c5}, played{480, d5}))},
	}
	for _, row := range []struct{ name, setup string }{
		{"a comb to be cut", `{"comb": {"teeth": 8}}`},
		{"a given comb", `{"comb": {"mode": "fixed", "pitches": ["C5", "E5", "G5", "C6", "E6", "G6"]}}`},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := parse(t, row.setup)
			c, err := project.Compare(context.Background(), tunes, s)
			if err != nil {
				t.Fatal(err)
			}
			last := 1.0
			best := map[int]float64{}
			for _, w := range c.Tunes {
				alone := derive(t, tunes[w.File-1].Tune, s, nil, false)
				if a := alone.Arrangement; w.Kept > last || w.Objective != a.Objective || w.Transpose != a.Transpose || w.Played != len(a.Plucks) || w.FileName != tunes[w.File-1].FileName {
					t.Errorf("%+v, alone %v in key %+d", w, a.Objective, a.Transpose)
				}
				last, best[w.File] = w.Kept, w.Objective
			}
			sum := 0.0
			for i, w := range c.Together.Tunes {
				sum += w.Objective
				if w.File != i+1 || s.Comb.Mode == "cut" && w.Objective > best[w.File]+1e-9 {
					t.Errorf("together: %+v, alone %v", w, best[w.File])
				}
			}
			if !c.Together.Proven || sum < c.Together.Objective-1e-6 || sum > c.Together.Objective+1e-6 {
				t.Errorf("%v one by one, %v together, proven %v", sum, c.Together.Objective, c.Together.Proven)
			}
			t.Logf("%+v", c.Together)
		})
	}
	if _, err := project.Compare(context.Background(), tunes, parse(t, `{"parts": [{"id": "t9c1", "role": "lead"}]}`)); err == nil {
		t.Error("a part that no file has is taken")
	} else {
		t.Log(err)
	}
}
