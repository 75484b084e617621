package project_test

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/fixtures"
	"pinwright/pinmap/project"
)

// standing reads how a result stands.
func standing(r *project.Result) project.Standing {
	s := project.Standing{Objective: r.Arrangement.Objective, TotalValue: r.Arrangement.TotalValue, Proven: r.Arrangement.Proven, Findings: len(r.Findings), ClearToDrill: r.ClearToDrill}
	for _, f := range r.Findings {
		if f.Blocks {
			s.Blocking++
		}
	}
	return s
}

// checkSettlement settles everything and sees whether that brings what the preview says.
func checkSettlement(t fataler, tn *tune.Tune, s project.Setup, log []arrange.Decision) *project.Settlement {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 4*patience) // it derives many results
	defer cancel()
	got, err := project.Settle(ctx, tn, s, log)
	if err != nil {
		t.Fatalf("settle: %v", err)
	}
	before := derive(t, tn, s, log, false)
	if got.Before != standing(before) {
		t.Fatalf("before stands %+v, told as %+v", standing(before), got.Before)
	}
	if (got.Decision == nil) != (len(got.Steps) == 0) {
		t.Fatalf("%d steps make the decision %s", len(got.Steps), toJSON(t, got.Decision))
	}
	then, log := before, slices.Clip(log)
	if got.Decision != nil {
		d, err := project.Accept(context.Background(), tn, s, log, *got.Decision)
		if err != nil {
			t.Fatalf("%s is refused: %v", toJSON(t, got.Decision), err)
		}
		if a, b := toJSON(t, got.Decision), toJSON(t, d); a != b {
			t.Fatalf("%s is accepted as %s", a, b)
		}
		then = derive(t, tn, s, append(log, d), false)
		undone := derive(t, tn, s, append(log, d, arrange.Decision{Kind: arrange.Undo}), false)
		if undone.CanRedo = before.CanRedo; toJSON(t, undone) != toJSON(t, before) {
			t.Fatalf("one undo leaves\n%s\nof\n%s", toJSON(t, undone), toJSON(t, before))
		}
		checkGentle(t, before, then, d)
	}
	if got.After != standing(then) || toJSON(t, got.Left) != toJSON(t, then.Findings) {
		t.Fatalf("promised is %+v with %s, what comes is %+v with %s", got.After, toJSON(t, got.Left), standing(then), toJSON(t, then.Findings))
	}
	if got.After.Blocking > got.Before.Blocking {
		t.Fatalf("%d stood in the way, %d do after it", got.Before.Blocking, got.After.Blocking)
	}
	sum := got.Before.Objective
	for _, step := range got.Steps {
		if step.Label.Empty() || step.Text.Empty() || step.Effect.Empty() {
			t.Fatalf("a step without words: %+v", step)
		}
		if !step.Blocks && step.ValueChange < -1e-6 {
			t.Fatalf("nothing had to be given up for %+v", step)
		}
		sum += step.ValueChange
	}
	if math.Abs(sum-got.After.Objective) > 1e-4 {
		t.Fatalf("the steps lead to %v, the whole to %v", sum, got.After.Objective)
	}
	return got
}

// checkGentle: no limit is raised, and with nothing in the way the setup and what the user decided stay.
func checkGentle(t fataler, before, then *project.Result, d arrange.Decision) {
	t.Helper()
	if before.Setup.Limits != then.Setup.Limits {
		t.Fatalf("settling changes the limits from %+v to %+v", before.Setup.Limits, then.Setup.Limits)
	}
	if standing(before).Blocking > 0 {
		return
	}
	if a, b := toJSON(t, before.Setup), toJSON(t, then.Setup); a != b {
		t.Fatalf("nothing is in the way, and the setup changes from %s to %s", a, b)
	}
	decided := map[string]bool{}
	for _, step := range arrange.Steps(decisionsOf(before)) {
		decided[step.Decision.Note] = true
	}
	for _, part := range d.Decisions {
		if decided[part.Note] {
			t.Fatalf("nothing is in the way, and %s overrides what the user decided", toJSON(t, part))
		}
	}
}

func decisionsOf(r *project.Result) []arrange.Decision {
	var all []arrange.Decision
	for _, d := range r.Decisions {
		all = append(all, d.Decision)
	}
	return all
}

// TestSettlement: the preview of settling everything is what comes of it.
func TestSettlement(t *testing.T) {
	steps, cleared := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		got := checkSettlement(t, tn, s, log)
		steps += len(got.Steps)
		if got.Before.Blocking > got.After.Blocking {
			cleared++
		}
		if got.Decision != nil {
			checkSettlement(t, tn, s, append(slices.Clip(log), *got.Decision)) // and once more, from there
		}
	})
	t.Logf("%d steps; fewer in the way in %d cases", steps, cleared)
	if steps == 0 || cleared == 0 {
		t.Errorf("%d steps, fewer in the way in %d cases: the cases ask for nothing", steps, cleared)
	}
}

// TestSettlementOfTheDemo: what stands in the way of the demo is settled in one step, at the cost of one note of the lead an octave away.
func TestSettlementOfTheDemo(t *testing.T) {
	var log []arrange.Decision
	if err := json.Unmarshal(fixtures.DemoDecisions, &log); err != nil {
		t.Fatal(err)
	}
	got := checkSettlement(t, read(t, fixtures.DemoTune), parse(t, string(fixtures.DemoSetup)), log)
	if got.Before.Blocking == 0 || got.After.Blocking != 0 || !got.After.ClearToDrill || got.Before.Objective-got.After.Objective > 4+1e-6 {
		t.Errorf("%+v becomes %+v", got.Before, got.After)
	}
}
