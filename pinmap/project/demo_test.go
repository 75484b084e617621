package project_test

import (
	"context"
	"testing"

	"pinwright/arrange/tune"
	"pinwright/fixtures"
	"pinwright/pinmap/project"
)

func TestDemo(t *testing.T) {
	tn, err := tune.Read(fixtures.DemoTune, tune.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	s, err := project.ParseSetup(fixtures.DemoSetup)
	if err != nil {
		t.Fatal(err)
	}
	r, err := project.Derive(context.Background(), tn, s, nil, project.Options{Remedies: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range r.Tune.Notes {
		t.Log(n.ID, n.Name, n.Bar, n.Beat, n.Role)
	}
	for _, f := range r.Findings {
		t.Log(f.ID, f.Blocks, f.Bar, f.Beat, f.Text, f.RemediesLater)
		for _, m := range f.Remedies {
			t.Log("    ", m.Label, m.ValueChange, m.Effect, m.Clears, m.Raises)
		}
	}
	t.Log(r.Tune.Excerpt, r.Tune.WrittenBPM, r.Tune.PlayedBPM)
}
