package project_test

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/fixtures"
	"pinwright/pinmap/project"
)

// checkAdvice takes each piece of advice and sees whether it brings what it says.
func checkAdvice(t fataler, tn *tune.Tune, s project.Setup, log []arrange.Decision) *project.Advice {
	t.Helper()
	a, err := project.Advise(context.Background(), tn, s, log)
	if err != nil {
		t.Fatalf("%v", err)
	}
	now := derive(t, tn, s, log, false)
	follow := func(what string, d arrange.Decision, change float64, proven bool) {
		then := derive(t, tn, s, append(log[:len(log):len(log)], d), false)
		if got := then.Arrangement.Objective - now.Arrangement.Objective; proven && math.Abs(got-change) > 1e-6 {
			t.Fatalf("%s: promised %v, brings %v", what, change, got)
		}
	}
	if m := a.OneMore; m != nil {
		follow("one more tooth", m.Decision, m.ValueChange, m.Proven)
	}
	before := 0.0
	for i, r := range a.Retunings {
		if len(r.Added) != len(r.Removed) || len(r.Added) > i+1 || r.ValueChange <= before {
			t.Fatalf("retuning %d: %+v", i+1, r)
		}
		before = r.ValueChange
		follow("a retuning", r.Decision, r.ValueChange, r.Proven)
	}
	for _, k := range a.Keys {
		if k.Proven && k.ValueChange > 1e-9 || k.Transpose == now.Arrangement.Transpose {
			t.Fatalf("a better key: %+v", k)
		}
		follow("another key", k.Decision, k.ValueChange, k.Proven)
	}
	last := 0.0
	for i, p := range a.Line {
		if p.Teeth != 72-len(a.Line)+i+1 || p.Proven && p.Objective < last-1e-9 && len(log) == 0 { // where there are fewer teeth, locks may have to go
			t.Fatalf("the line falls at %d teeth", p.Teeth)
		}
		last = p.Objective
		if now.Comb.Mode == "cut" && p.Teeth == now.Setup.Comb.Teeth && p.Proven && now.Arrangement.Proven && math.Abs(p.Objective-now.Arrangement.Objective) > 1e-6 {
			t.Fatalf("the line has %v at %d teeth, the project %v", p.Objective, p.Teeth, now.Arrangement.Objective)
		}
	}
	for _, w := range a.Teeth {
		if w.Proven && w.Value < -1e-9 && len(log) == 0 {
			t.Fatalf("a tooth in the way: %+v", w)
		}
	}
	if m := a.Tempo; m != nil {
		then := derive(t, tn, s, append(log[:len(log):len(log)], m.Decision), false)
		left := 0
		for _, f := range then.Findings {
			if f.Kind == arrange.Repeat || f.Kind == arrange.Seam {
				left++
			}
		}
		if left != m.Left || then.Cylinder.RevolutionMs != m.RevolutionMs {
			t.Fatalf("the tempo leaves %d repeats, not %d", left, m.Left)
		}
	}
	if len(a.Sentences) == 0 {
		t.Fatalf("no words")
	}
	return a
}

// TestAdvice: advice about any project comes true.
func TestAdvice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		checkAdvice(t, tn, s, log)
	})
}

// TestAdviceForTheDemo: the demo has something to say about each question.
func TestAdviceForTheDemo(t *testing.T) {
	s, err := project.ParseSetup(fixtures.DemoSetup)
	if err != nil {
		t.Fatal(err)
	}
	a := checkAdvice(t, read(t, fixtures.DemoTune), s, nil)
	for _, line := range a.Sentences {
		t.Log(line)
	}
}
