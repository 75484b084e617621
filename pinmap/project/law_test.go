package project_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/pinmap/project"
)

// bare gives a result's JSON without remedies.
func bare(t fataler, r *project.Result) string {
	t.Helper()
	c := *r
	c.Findings = slices.Clone(r.Findings)
	for i := range c.Findings {
		c.Findings[i].Remedies, c.Findings[i].RemediesLater = []arrange.Remedy{}, false
	}
	return toJSON(t, &c)
}

// TestSameInput: the same input gives the same bytes, whatever was worked out before, and remedies add themselves and nothing else.
func TestSameInput(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		first := derive(t, tn, s, log, false)
		with := derive(t, tn, s, log, true)
		if a, b := toJSON(t, first), bare(t, with); a != b {
			t.Fatalf("remedies change the result\n%s\n%s", a, b)
		}
		other := parse(t, `{"comb":{"teeth":5}}`)
		derive(t, tn, other, nil, true)
		if a, b := toJSON(t, with), toJSON(t, derive(t, tn, s, log, true)); a != b {
			t.Fatalf("the same input gives other bytes\n%s\n%s", a, b)
		}
		// As it is stored: the setup complete, the decisions as JSON.
		stored := parse(t, toJSON(t, s))
		var lines []arrange.Decision
		if err := json.Unmarshal([]byte(toJSON(t, log)), &lines); err != nil {
			t.Fatal(err)
		}
		if a, b := toJSON(t, first), toJSON(t, derive(t, tn, stored, lines, false)); a != b {
			t.Fatalf("what was stored gives other bytes\n%s\n%s", a, b)
		}
	})
}

// TestUndo: a decision and its undo leave the result as it was but for what can be made again; redo brings it back.
func TestUndo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		d := anyStep(t, tn, s)
		accepted, err := project.Accept(context.Background(), tn, s, log, d)
		if err != nil {
			t.Skip(err.Error())
		}
		log = slices.Clip(log)
		before := derive(t, tn, s, log, false)
		done := derive(t, tn, s, append(log, accepted), false)
		undone := derive(t, tn, s, append(log, accepted, arrange.Decision{Kind: arrange.Undo}), false)
		again := derive(t, tn, s, append(log, accepted, arrange.Decision{Kind: arrange.Undo}, arrange.Decision{Kind: arrange.Redo}), false)
		if !undone.CanRedo || !done.CanUndo || done.CanRedo {
			t.Fatalf("undone: can redo %v; done: can undo %v, can redo %v", undone.CanRedo, done.CanUndo, done.CanRedo)
		}
		undone.CanRedo = before.CanRedo
		if a, b := toJSON(t, before), toJSON(t, undone); a != b {
			t.Fatalf("undo after %s leaves\n%s\nof\n%s", toJSON(t, accepted), b, a)
		}
		if a, b := toJSON(t, done), toJSON(t, again); a != b {
			t.Fatalf("redo of %s gives\n%s\nin place of\n%s", toJSON(t, accepted), b, a)
		}
	})
}

// TestRelease: once released, a note is as if nothing had been decided about it.
func TestRelease(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn := read(t, anyTune(t))
		s := parse(t, string(anySetup(t, tn)))
		free, err := project.Derive(context.Background(), tn, s, nil, project.Options{})
		if err != nil {
			t.Skip(err.Error())
		}
		note := rapid.SampledFrom(free.Tune.Notes).Draw(t, "released note").ID
		var log []arrange.Decision
		for range rapid.IntRange(1, 4).Draw(t, "locks") {
			d := anyStep(t, tn, s)
			if d.Kind == arrange.Change || d.Writes() {
				continue
			}
			d.Note = note
			log = append(log, d)
		}
		log = append(log, arrange.Decision{Kind: arrange.Release, Note: note})
		released := derive(t, tn, s, log, false)
		released.Decisions, released.CanUndo = free.Decisions, false
		if a, b := toJSON(t, free), toJSON(t, released); a != b {
			t.Fatalf("after a release\n%s\nwithout decisions\n%s", b, a)
		}
	})
}

// TestRemedies: what a remedy promises is what happens when it is taken, and the finding that it mends is gone.
func TestRemedies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		checkRemedies(t, tn, s, log)
	})
}

func checkRemedies(t fataler, tn *tune.Tune, s project.Setup, log []arrange.Decision) {
	t.Helper()
	r := derive(t, tn, s, log, true)
	log = slices.Clip(log)
	for _, f := range r.Findings {
		for _, m := range f.Remedies {
			d, err := project.Accept(context.Background(), tn, s, log, m.Decision)
			if err != nil {
				t.Fatalf("%s: %q cannot be accepted: %v", f.ID, m.Label, err)
			}
			if a, b := toJSON(t, m.Decision), toJSON(t, d); a != b {
				t.Fatalf("%s: %q is accepted as %s, not %s", f.ID, m.Label, b, a)
			}
			then := derive(t, tn, s, append(log, d), false)
			if find(then, f.ID) != nil {
				t.Fatalf("%s: it stands after %q", f.ID, m.Label)
			}
			var clears, raises []string
			for _, id := range ids(r) {
				if !slices.Contains(ids(then), id) {
					clears = append(clears, id)
				}
			}
			for _, id := range ids(then) {
				if !slices.Contains(ids(r), id) {
					raises = append(raises, id)
				}
			}
			change := then.Arrangement.Objective - r.Arrangement.Objective
			if !slices.Equal(clears, m.Clears) || !slices.Equal(raises, m.Raises) || change-m.ValueChange > 1e-6 || m.ValueChange-change > 1e-6 {
				t.Fatalf("%s: %q promises %v, clears %v, raises %v; it gives %v, clears %v, raises %v", f.ID, m.Label,
					m.ValueChange, m.Clears, m.Raises, change, clears, raises)
			}
			if m.Effect.Empty() || m.Label.Empty() {
				t.Fatalf("%s: a remedy without words: %+v", f.ID, m)
			}
		}
	}
}

// TestAllRemedies: asked for one finding, its remedies are those of the whole, and more where some were left for later.
func TestAllRemedies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		r := derive(t, tn, s, log, true)
		if len(r.Findings) == 0 {
			t.Skip("nothing to mend")
		}
		f := rapid.SampledFrom(r.Findings).Draw(t, "finding")
		one, err := project.Derive(context.Background(), tn, s, log, project.Options{Remedies: true, Finding: f.ID})
		if err != nil {
			t.Fatal(err)
		}
		got := find(one, f.ID)
		if got.RemediesLater {
			t.Fatalf("%s still leaves remedies for later", f.ID)
		}
		for _, m := range f.Remedies {
			if !slices.ContainsFunc(got.Remedies, func(n arrange.Remedy) bool { return toJSON(t, n) == toJSON(t, m) }) {
				t.Fatalf("%s lacks %q when asked for alone", f.ID, m.Label)
			}
		}
		if !f.RemediesLater && len(got.Remedies) != len(f.Remedies) {
			t.Fatalf("%s has %d remedies alone, %d among all", f.ID, len(got.Remedies), len(f.Remedies))
		}
	})
}

// TestAccept: no decision makes Accept panic, refusals are about a field, and what is accepted is derived, and accepted again as it is stored.
func TestAccept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		d := anyStep(t, tn, s)
		switch rapid.IntRange(0, 4).Draw(t, "spoil") {
		case 0:
			d.Tooth = rapid.IntRange(-1, 30).Draw(t, "tooth")
		case 1:
			d.Pitch, d.Twin, d.Tooth = nil, 0, rapid.IntRange(1, 20).Draw(t, "tooth instead")
		case 2:
			d.Octaves, d.Ms, d.Setup = nil, nil, nil
		case 3:
			d = arrange.Decision{Kind: arrange.Several, Decisions: []arrange.Decision{d, anyStep(t, tn, s), anyStep(t, tn, s)}}
		}
		accepted, err := project.Accept(context.Background(), tn, s, log, d)
		if err != nil {
			var field *project.FieldError
			if !errors.As(err, &field) || field.Message.Empty() {
				t.Fatalf("the refusal of %s is %v", toJSON(t, d), err)
			}
			return
		}
		derive(t, tn, s, append(slices.Clip(log), accepted), false)
		if strings.Contains(toJSON(t, accepted), `"tooth"`) {
			t.Fatalf("%s names a tooth by its number", toJSON(t, accepted))
		}
		if again, err := project.Accept(context.Background(), tn, s, log, accepted); err != nil || toJSON(t, again) != toJSON(t, accepted) {
			t.Fatalf("%s is then accepted as %s, %v", toJSON(t, accepted), toJSON(t, again), err)
		}
	})
}

// TestStableFindings: a finding keeps its id when a decision far from it is made that changes nothing.
func TestStableFindings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		r := derive(t, tn, s, log, false)
		gone := arrange.Decision{Kind: arrange.Change, Setup: json.RawMessage(`{"title":"Another name"}`)}
		if a, b := fmt.Sprint(ids(r)), fmt.Sprint(ids(derive(t, tn, s, append(slices.Clip(log), gone), false))); a != b {
			t.Fatalf("a new title turns the findings %s into %s", a, b)
		}
	})
}

// TestProjectFile: a project comes back from its file as it was, and the file from the project.
func TestProjectFile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		done, _ := arrange.Fold(log)
		f := project.File{FileName: rapid.StringN(0, 40, 200).Draw(t, "fileName"), Tune: rapid.SliceOfN(rapid.Byte(), 1, 80).Draw(t, "tune"), Setup: s, Decisions: done}
		data := project.Encode(f)
		back, err := project.Decode(data)
		if err != nil {
			t.Fatalf("%v\n%s", err, data)
		}
		if back.FileName != f.FileName || string(back.Tune) != string(f.Tune) || toJSON(t, back.Setup) != toJSON(t, f.Setup) || len(back.Decisions) != len(done) {
			t.Fatalf("%+v becomes %+v", f, back)
		}
		if string(project.Encode(back)) != string(data) {
			t.Fatalf("the file changes when it is written again\n%s\n%s", data, project.Encode(back))
		}
		a, b := derive(t, tn, s, done, false), derive(t, tn, back.Setup, back.Decisions, false)
		if toJSON(t, a) != toJSON(t, b) {
			t.Fatalf("the project gives another result when it was read\n%s\n%s", toJSON(t, a), toJSON(t, b))
		}
	})
}
