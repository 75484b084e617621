package project_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	. "pinwright/arrange/tune/tunetest"
	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// blank reads a tune of bars alone.
func blank(t fataler, b tune.Blank) *tune.Tune {
	t.Helper()
	limits := tune.DefaultLimits
	limits.Silent = true
	tn, err := tune.Read(b.File(), limits)
	if err != nil {
		t.Fatalf("the blank cannot be read: %v", err)
	}
	return tn
}

// rewritten gives the tune as it stands after a log, by the definition of each kind: one list of notes, changed step by step. Times are
// the tune's own, which its reader's tests hold.
func rewritten(tn *tune.Tune, log []arrange.Decision) *tune.Tune {
	done, _ := arrange.Fold(log)
	t := *tn
	t.Notes, t.Parts = slices.Clone(tn.Notes), slices.Clone(tn.Parts)
	lowest, highest := tn.Bars[0].Number, tn.Bars[len(tn.Bars)-1].Number
	adds := 0
	for _, s := range arrange.Steps(done) {
		d := s.Decision
		at := slices.IndexFunc(t.Notes, func(n tune.Note) bool { return n.ID == d.Note })
		var n tune.Note
		switch {
		case d.Kind == "add":
			adds++
			n = tune.Note{ID: fmt.Sprint("a", adds), Part: len(tn.Parts)}
		case at < 0 || d.Kind != "move" && d.Kind != "remove":
			continue
		case d.Kind == "remove":
			t.Notes = slices.Delete(t.Notes, at, at+1)
			continue
		default:
			n = t.Notes[at]
		}
		if d.Pitch != nil {
			n.Pitch = d.Pitch.Pitch()
		}
		if d.Bar != nil {
			n.Bar = *d.Bar
		}
		if d.Beat != nil {
			n.Beat = *d.Beat
		}
		if d.Bar != nil || d.Beat != nil {
			if n.Bar < lowest || n.Bar > highest+200 {
				continue
			}
			in := tn.BarsTo(n.Bar)[n.Bar-lowest]
			if n.Beat > 1+(in.EndQuarter-in.StartQuarter)*float64(in.Unit)/4-0.001 {
				continue
			}
			n.OnsetMs, n.Quarter = tn.Moment(in, n.Beat)
			for _, m := range tn.Notes { // what is written at one place sounds at one time
				if math.Abs(float64(m.OnsetMs-n.OnsetMs)) <= 1e-6 {
					n.OnsetMs = m.OnsetMs
					break
				}
			}
			if len(t.Bars) < n.Bar-lowest+1 {
				t.Bars = tn.BarsTo(n.Bar)
			}
		}
		if d.Kind == "add" {
			t.Notes = append(t.Notes, n)
		} else {
			t.Notes[at] = n
		}
	}
	if adds > 0 || len(tn.Notes) == 0 {
		t.Parts = append(t.Parts, tune.Part{ID: "hand"})
	}
	slices.SortStableFunc(t.Notes, func(a, b tune.Note) int {
		switch {
		case a.OnsetMs != b.OnsetMs:
			return int(math.Copysign(1, float64(a.OnsetMs-b.OnsetMs)))
		case a.Pitch != b.Pitch:
			return int(a.Pitch - b.Pitch)
		}
		return a.Part - b.Part
	})
	return &t
}

// edited reports whether a tune is written by hand, so that it may be empty.
func edited(tn *tune.Tune, log []arrange.Decision) bool {
	done, _ := arrange.Fold(log)
	return len(tn.Notes) == 0 || slices.ContainsFunc(arrange.Steps(done), func(s arrange.Step) bool { return s.Decision.Writes() })
}

// note tells what a note of a result is, wherever the excerpt and the key have put it.
type note struct {
	Name string
	Bar  int
	Beat float64
}

// where gives the notes of a result by their ids, merged ones with the one that stands for them.
func where(r *project.Result) map[string]note {
	all := map[string]note{}
	for _, n := range r.Tune.Notes {
		for _, id := range append(n.Merged, n.ID) {
			all[id] = note{n.Name, n.Bar, n.Beat}
		}
	}
	return all
}

// TestIDsStay: whatever is decided later, an added note keeps its id, and undo and redo bring back the same; each note of the result is plucked or
// dropped, once.
func TestIDsStay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn := read(t, anyTune(t))
		if rapid.Bool().Draw(t, "from nothing") {
			tn = blank(t, tune.DefaultBlank)
		}
		s := parse(t, `{}`)
		session := project.NewSession(tn, s)
		ctx := context.Background()
		var log []arrange.Decision
		accept := func(d arrange.Decision) *project.Result {
			accepted, err := session.Accept(ctx, log, d)
			if err != nil {
				return nil
			}
			log = append(log, accepted)
			r, err := session.Derive(ctx, log, project.Options{})
			if err != nil {
				t.Fatalf("what was accepted is not derived: %v\n%s", err, toJSON(t, log))
			}
			if bad := recompute(t, tn, log, r); len(bad) > 0 {
				t.Fatal(strings.Join(bad, "\n"))
			}
			if fresh := derive(t, tn, s, log, false); toJSON(t, fresh) != toJSON(t, r) {
				t.Fatalf("remembered\n%s\nfresh\n%s", toJSON(t, r), toJSON(t, fresh))
			}
			return r
		}
		written := map[string]note{} // what was last written, by id
		adds := 0
		for range rapid.IntRange(1, 12).Draw(t, "decisions") {
			d := anyWriting(t, tn, adds)
			before, err := session.Derive(ctx, log, project.Options{})
			if err != nil {
				t.Fatal(err)
			}
			r := accept(d)
			if r == nil {
				continue
			}
			switch d.Kind {
			case arrange.Add:
				adds++
				id := fmt.Sprint("a", adds)
				if got := r.Decisions[len(r.Decisions)-1].Added; !slices.Equal(got, []string{id}) {
					t.Fatalf("%s says that it added %v, want %s", toJSON(t, d), got, id)
				}
				written[id] = note{d.Pitch.String(), *d.Bar, *d.Beat}
			case arrange.Move:
				if n, ok := written[d.Note]; ok {
					if d.Pitch != nil {
						n.Name = d.Pitch.String()
					}
					if d.Bar != nil {
						n.Bar = *d.Bar
					}
					if d.Beat != nil {
						n.Beat = *d.Beat
					}
					written[d.Note] = n
				}
			case arrange.Remove:
				delete(written, d.Note)
				if _, there := where(r)[d.Note]; there {
					t.Fatalf("%s is there after %s", d.Note, toJSON(t, d))
				}
			}
			for id, got := range where(r) {
				if want, ok := written[id]; ok && got.Name != want.Name {
					t.Fatalf("%s is %+v, want %+v", id, got, want)
				}
			}
			if rapid.IntRange(0, 2).Draw(t, "and back") == 0 {
				undone := accept(arrange.Decision{Kind: arrange.Undo})
				undone.CanRedo = before.CanRedo
				if a, b := toJSON(t, before), toJSON(t, undone); a != b {
					t.Fatalf("undo after %s leaves\n%s\nof\n%s", toJSON(t, d), b, a)
				}
				if a, b := toJSON(t, r), toJSON(t, accept(arrange.Decision{Kind: arrange.Redo})); a != b {
					t.Fatalf("redo of %s gives\n%s\nin place of\n%s", toJSON(t, d), b, a)
				}
			}
		}
	})
}

// anyWriting draws a decision that changes the tune as written, sensible or not, where so many notes were added.
func anyWriting(t *rapid.T, tn *tune.Tune, adds int) arrange.Decision {
	d := arrange.Decision{Kind: rapid.SampledFrom([]arrange.Kind{arrange.Add, arrange.Add, arrange.Move, arrange.Remove}).Draw(t, "kind of writing")}
	bar := tn.Bars[0].Number + rapid.IntRange(-1, len(tn.Bars)+2).Draw(t, "bar")
	beat := rapid.SampledFrom([]float64{1, 1, 2, 2.5, 1 + 1.0/3, 3.999, 5}).Draw(t, "beat")
	pitch := unit.NoteName(rapid.IntRange(55, 90).Draw(t, "written pitch"))
	if d.Kind == arrange.Add {
		d.Bar, d.Beat, d.Pitch = &bar, &beat, &pitch
		return d
	}
	d.Note = fmt.Sprint("n", rapid.IntRange(1, 1+len(tn.Notes)).Draw(t, "note of the file"))
	if adds > 0 && rapid.Bool().Draw(t, "an added one") {
		d.Note = fmt.Sprint("a", rapid.IntRange(1, adds).Draw(t, "added note"))
	}
	if d.Kind == arrange.Move {
		which := rapid.IntRange(1, 7).Draw(t, "fields")
		if which&1 > 0 {
			d.Bar = &bar
		}
		if which&2 > 0 {
			d.Beat = &beat
		}
		if which&4 > 0 {
			d.Pitch = &pitch
		}
	}
	return d
}

// TestMoveToItsPlace: a note that is written where it stands changes nothing but the list of decisions.
func TestMoveToItsPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		r := derive(t, tn, s, log, false)
		if len(r.Tune.Notes) == 0 {
			t.Skip("no note")
		}
		n := rapid.SampledFrom(r.Tune.Notes).Draw(t, "moved note")
		pitch := unit.NoteName(n.Pitch)
		if edited(tn, log) {
			t.Skip("it may have been written already, with notes on the same place")
		}
		then := derive(t, tn, s, append(slices.Clip(log), arrange.Decision{Kind: arrange.Move, Note: n.ID, Bar: &n.Bar, Beat: &n.Beat, Pitch: &pitch}), false)
		if a, b := toJSON(t, r.Tune.Notes)+toJSON(t, r.Arrangement)+toJSON(t, r.Findings), toJSON(t, then.Tune.Notes)+toJSON(t, then.Arrangement)+toJSON(t, then.Findings); a != b {
			t.Fatalf("%s written where it stands turns\n%s\ninto\n%s", n.ID, a, b)
		}
	})
}

// TestFromNothing: a tune of bars alone gives an empty arrangement everywhere, and its first note a sounding one.
func TestFromNothing(t *testing.T) {
	ctx := context.Background()
	for _, row := range []struct{ name, setup string }{
		{"as it comes", `{}`}, {"a comb from the drawer", `{"comb": {"mode": "fixed", "pitches": ["C5", "D5"]}}`},
		{"the written tempo", `{"tempo": {"mode": "written"}}`},
		{"bars chosen", `{"excerpt": {"fromBar": 3, "toBar": 4}}`}, {"the part by hand has a role", `{"parts": [{"id": "hand", "role": "lead"}]}`},
		{"it is off", `{"parts": [{"id": "hand", "role": "off"}]}`}, {"one key, far off", `{"transpose": {"min": 5, "max": 5}}`},
	} {
		tn, s := blank(t, tune.DefaultBlank), parse(t, row.setup)
		r, err := project.Derive(ctx, tn, s, nil, project.Options{Remedies: true})
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		for _, part := range []string{`"notes":[]`, `"plucks":[]`, `"dropped":[]`, `"pins":[]`, `"findings":[]`} {
			if !strings.Contains(toJSON(t, r), part) {
				t.Errorf("%s: the result lacks %s", row.name, part)
			}
		}
		if bad := recompute(t, tn, nil, r); len(bad) > 0 {
			t.Errorf("%s: %s", row.name, strings.Join(bad, "\n"))
		}
		if a, err := project.Advise(ctx, tn, s, nil); err != nil || a.Objective != 0 {
			t.Errorf("%s: advice %+v, %v", row.name, a, err)
		}
		if c, err := project.Settle(ctx, tn, s, nil); err != nil || c.Decision != nil {
			t.Errorf("%s: settlement %+v, %v", row.name, c, err)
		}
		other := project.Candidate{FileName: "b.mid", Tune: fiveNotes(t)}
		if s.Parts == nil || len(s.Parts) == 0 && s.Excerpt == nil {
			if c, err := project.Compare(ctx, []project.Candidate{{FileName: "a.mid", Tune: tn}, other}, s); err != nil || len(c.Tunes) != 2 {
				t.Errorf("%s: comparison %+v, %v", row.name, c, err)
			}
		}
		log := decide(t, `{"kind": "add", "pitch": "C5", "bar": 3, "beat": 2.5}`)
		if log[0], err = project.Accept(ctx, tn, s, nil, log[0]); err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		r = derive(t, tn, s, log, true)
		if bad := recompute(t, tn, log, r); len(bad) > 0 {
			t.Errorf("%s: %s", row.name, strings.Join(bad, "\n"))
		}
		off := row.name == "it is off"
		if (len(r.Tune.Notes) == 0) != off || off != (find(r, "unmet-a1") != nil) {
			t.Errorf("%s: after the first note %s", row.name, toJSON(t, r.Tune.Notes))
		}
		if !off && (r.Tune.Notes[0].ID != "a1" || r.Tune.Notes[0].Part != "hand" || r.Tune.Notes[0].Role != arrange.Lead) {
			t.Errorf("%s: the first note is %+v", row.name, r.Tune.Notes[0])
		}
	}
}

// TestRemovedNotLeftOut: a note that is left out stays in the tune, is told and can be taken back in; one that is removed is no part of the tune, and only
// undo brings it back.
func TestRemovedNotLeftOut(t *testing.T) {
	tn, s := fiveNotes(t), givenComb(t)
	whole := derive(t, tn, s, nil, false)
	left := derive(t, tn, s, decide(t, `{"kind": "leave-out", "note": "n2"}`), false)
	removed := derive(t, tn, s, decide(t, `{"kind": "octave", "note": "n2", "octaves": 0}`, `{"kind": "remove", "note": "n2"}`), false)
	if len(left.Tune.Notes) != len(whole.Tune.Notes) || find(left, "left-out-n2") == nil || left.Arrangement.TotalValue != whole.Arrangement.TotalValue {
		t.Errorf("left out: %s", toJSON(t, left.Arrangement))
	}
	if len(removed.Tune.Notes) != len(whole.Tune.Notes)-1 || len(removed.Findings) != len(whole.Findings) || removed.Arrangement.TotalValue >= whole.Arrangement.TotalValue {
		t.Errorf("removed: %s, findings %s", toJSON(t, removed.Arrangement), toJSON(t, removed.Findings))
	}
	if got := removed.Decisions[1].Text.String(); got != "D5 in bar 1 beat 2 taken out of the tune" {
		t.Errorf("the decision reads %q", got)
	}
}

// TestWrittenAndDecided: decisions about an added note hold as for any other, also within one decision, and after the note was moved.
func TestWrittenAndDecided(t *testing.T) {
	tn, s := fiveNotes(t), givenComb(t)
	d := decide(t, `{"kind": "several", "decisions": [{"kind": "add", "pitch": "C6", "bar": 1, "beat": 4.5}, {"kind": "octave", "note": "a1", "octaves": -1}, {"kind": "move", "note": "a1", "beat": 4.75}]}`)[0]
	log := []arrange.Decision{}
	accepted, err := project.Accept(context.Background(), tn, s, log, d)
	if err != nil {
		t.Fatal(err)
	}
	r := derive(t, tn, s, []arrange.Decision{accepted}, false)
	i := slices.IndexFunc(r.Arrangement.Plucks, func(p project.Pluck) bool { return p.Note == "a1" })
	if i < 0 || r.Arrangement.Plucks[i].Octaves != -1 || !r.Arrangement.Plucks[i].Locked || where(r)["a1"] != (note{"C6", 1, 4.75}) {
		t.Errorf("a1 is %+v in %s", where(r)["a1"], toJSON(t, r.Arrangement))
	}
	if !slices.Equal(r.Decisions[0].Added, []string{"a1"}) {
		t.Errorf("added: %v", r.Decisions[0].Added)
	}
	file := project.Encode(project.File{FileName: "x.mid", Tune: []byte("MThd"), Setup: s, Decisions: []arrange.Decision{accepted}})
	back, err := project.Decode(file)
	if err != nil || !bytes.Equal(project.Encode(back), file) {
		t.Errorf("the project file comes back as %s, %v", project.Encode(back), err)
	}
}

// TestUnplayed: a note that is written where nothing plays is told, with what would mend it.
func TestUnplayed(t *testing.T) {
	tn, s := fiveNotes(t), parse(t, `{"excerpt": {"fromBar": 1, "toBar": 1}}`)
	log := decide(t, `{"kind": "add", "pitch": "C5", "bar": 3, "beat": 1}`)
	r := derive(t, tn, s, log, true)
	f := find(r, "unmet-a1")
	if f == nil || f.Blocks || f.Text.String() != "C5 in bar 3 beat 1, which you wrote, is not played: bars 1 to 1 are." || len(f.Remedies) != 2 {
		t.Fatalf("the finding is %s", toJSON(t, f))
	}
	checkRemedies(t, tn, s, log)
}

var badWriting = []refused{
	{"an added note without pitch", `{"kind": "add", "bar": 1, "beat": 1}`, "/pitch", "needs it"},
	{"without bar", `{"kind": "add", "pitch": "C5", "beat": 1}`, "/bar", "needs it"},
	{"without beat", `{"kind": "add", "pitch": "C5", "bar": 1}`, "/beat", "needs it"},
	{"with an id of its own", `{"kind": "add", "note": "a7", "pitch": "C5", "bar": 1, "beat": 1}`, "/note", "does not have it"},
	{"half a bar", `{"kind": "add", "pitch": "C5", "bar": 1.5, "beat": 1}`, "/bar", "a whole number"},
	{"before the bar line", `{"kind": "add", "pitch": "C5", "bar": 1, "beat": 0.5}`, "/beat", "count from 1"},
	{"a beat in words", `{"kind": "add", "pitch": "C5", "bar": 1, "beat": "two"}`, "/beat", "a number"},
	{"a pitch that is none", `{"kind": "add", "pitch": "H5", "bar": 1, "beat": 1}`, "/pitch", "note name"},
	{"a move of nothing", `{"kind": "move", "bar": 1}`, "/note", "needs it"},
	{"a move nowhere", `{"kind": "move", "note": "n1"}`, "/bar", "at least one"},
	{"a move by ms", `{"kind": "move", "note": "n1", "bar": 1, "ms": 3}`, "/ms", "does not have it"},
	{"a removal of nothing", `{"kind": "remove"}`, "/note", "needs it"},
	{"a removal somewhere", `{"kind": "remove", "note": "n1", "bar": 1}`, "/bar", "does not have it"},
	{"a shift with a beat", `{"kind": "shift", "note": "n1", "ms": 1, "beat": 2}`, "/beat", "does not have it"},
}

// badWritingForWork can be read but not be kept with the tune of fiveNotes, of bars 1 to 2.
var badWritingForWork = []refused{
	{"a bar before the first", `{"kind": "add", "pitch": "C5", "bar": 0, "beat": 1}`, "/bar", "cannot be written in bar 0"},
	{"a bar far after the last", `{"kind": "add", "pitch": "C5", "bar": 2000, "beat": 1}`, "/bar", "up to 200"},
	{"a fifth beat of four", `{"kind": "add", "pitch": "C5", "bar": 1, "beat": 5}`, "/beat", "bar 1 has 4 beats"},
	{"a note of another tune", `{"kind": "move", "note": "n99", "bar": 1}`, "/note", "no note \"n99\""},
	{"a note that was not added", `{"kind": "remove", "note": "a1"}`, "/note", "no note \"a1\""},
	{"a note by another name", `{"kind": "remove", "note": "n01"}`, "/note", "no note \"n01\""},
	{"a beat that the new bar lacks", `{"kind": "move", "note": "n1", "beat": 4.9999}`, "/beat", "less than 5"},
	{"a note that is gone", `{"kind": "several", "decisions": [{"kind": "remove", "note": "n1"}, {"kind": "move", "note": "n1", "bar": 1}]}`, "/decisions/1/note", "was taken out"},
	{"a decision about one that is gone", `{"kind": "several", "decisions": [{"kind": "remove", "note": "n1"}, {"kind": "leave-out", "note": "n1"}]}`, "/decisions/1/note", "no note \"n1\""},
	{"a note that comes later", `{"kind": "several", "decisions": [{"kind": "move", "note": "a1", "bar": 1}, {"kind": "add", "pitch": "C5", "bar": 1, "beat": 1}]}`, "/decisions/0/note", "no note \"a1\""},
	{"a bad place in the second of several", `{"kind": "several", "decisions": [{"kind": "add", "pitch": "C5", "bar": 1, "beat": 1}, {"kind": "move", "note": "a1", "beat": 9}]}`, "/decisions/1/beat", "no beat 9"},
}

func TestBadWriting(t *testing.T) {
	for _, row := range badWriting {
		t.Run(row.name, func(t *testing.T) {
			_, err := project.ParseDecision([]byte(row.document))
			checkRefused(t, row, err)
		})
	}
	for _, row := range badWritingForWork {
		t.Run(row.name, func(t *testing.T) {
			_, err := project.Accept(context.Background(), fiveNotes(t), givenComb(t), nil, decide(t, row.document)[0])
			checkRefused(t, row, err)
		})
	}
}

// TestWrittenTooFast: where a note makes a turn that no cylinder makes, the decision is refused as a whole.
func TestWrittenTooFast(t *testing.T) {
	tn := read(t, File(96, Track(Tempo(0, 500_000), Note(0, 1, 72, 24))))
	s := parse(t, `{"tempo": {"mode": "written"}, "cylinder": {"gapDeg": 0}}`)
	d := decide(t, `{"kind": "several", "decisions": [{"kind": "leave-out", "note": "n1"}, {"kind": "move", "note": "n1", "beat": 4.9}]}`)[0]
	_, err := project.Accept(context.Background(), tn, s, nil, d)
	checkRefused(t, refused{"", toJSON(t, d), "/decisions/1", "no cylinder does"}, err)
}

// TestMovedNoteIsNamed: a note that is moved is named by the place in the file that it no longer has.
func TestMovedNoteIsNamed(t *testing.T) {
	tn := read(t, melody(played{0, 72}, played{96, 76}))
	s := project.DefaultSetup()
	added := decide(t, `{"kind":"add","bar":1,"beat":3,"pitch":"G5"}`, `{"kind":"move","note":"n2","bar":1,"beat":4}`, `{"kind":"move","note":"a1","bar":1,"beat":2.5}`)
	r := derive(t, tn, s, added, false)
	for i, want := range []string{"G5 added in bar 1 beat 3", "E5 in bar 1 beat 2 moved to bar 1 beat 4", "note a1 moved to bar 1 beat 2.5"} {
		if got := r.Decisions[i].Text.String(); got != want {
			t.Errorf("decision %d: %q, want %q", i+1, got, want)
		}
	}
}
