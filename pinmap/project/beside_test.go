package project_test

import (
	"cmp"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// inner writes a project as it stands in a setup.
func inner(t fataler, tune []byte, setup string, decisions ...string) string {
	t.Helper()
	return string(project.Encode(project.File{FileName: "other.mid", Tune: tune, Setup: parse(t, setup), Decisions: decide(t, decisions...)}))
}

// sharing writes the change of a setup that puts projects beside a tune.
func sharing(layout string, projects ...string) string {
	return `{"beside": {"layout": "` + layout + `", "projects": [` + strings.Join(projects, ", ") + `]}}`
}

func with(t fataler, s project.Setup, changes ...string) project.Setup {
	t.Helper()
	for _, c := range changes {
		var err error
		if s, err = s.With([]byte(c)); err != nil {
			t.Fatalf("%.200s cannot be used: %v", c, err)
		}
	}
	return s
}

// onFive is a setup with five teeth C5 to G5 in the written key, a turn of 4 s and a gap of 90°, so that a bar of four quarter
// notes takes 3 s: they lie 750 ms or 67.5° apart, from 45° on.
const onFive = `{"comb": {"mode": "fixed", "pitches": ["C5", "D5", "E5", "F5", "G5"]}, "transpose": {"min": 0, "max": 0}, "excerpt": {"fromBar": 1, "toBar": 1},
	"tempo": {"revolutionMs": 4000}, "cylinder": {"gapDeg": 90, "toothSpacingMm": 2}}`

// quarters writes a tune of quarter notes, 0 for a rest.
func quarters(pitches ...byte) []byte {
	var notes []played
	for i, p := range pitches {
		if p > 0 {
			notes = append(notes, played{i * 96, p})
		}
	}
	return melody(notes...)
}

// TestSideways: three tunes on one comb, computed by hand: tracks at 1.5 + 2(k − 1) + i·2/3 mm, angles from 45° in steps of 67.5°.
func TestSideways(t *testing.T) {
	s := with(t, parse(t, onFive), sharing("shift", inner(t, quarters(g5, 0, 0, c5), `{"title": "Second", "excerpt": {"fromBar": 1, "toBar": 1}, "transpose": {"min": 0, "max": 0}}`),
		inner(t, quarters(d5, 0, 71), `{"excerpt": {"fromBar": 1, "toBar": 1}, "transpose": {"min": 0, "max": 0}}`, `{"kind": "setup", "setup": {"title": "Third", "comb": {"teeth": 3}}}`)))
	r := derive(t, read(t, quarters(c5, d5, 0, e5)), s, nil, false)
	if len(r.Beside) != 2 || r.Beside[0].Title != "Second" || r.Beside[1].Title != "Third" || r.Beside[0].Comb != nil {
		t.Fatalf("beside it stand %s", toJSON(t, r.Beside))
	}
	type at struct {
		tune, pin, tooth int
		angle, axial     float64
	}
	want := []at{{0, 1, 1, 45, 1.5}, {2, 2, 2, 45, 1.5 + 2 + 4.0/3}, {1, 3, 5, 45, 1.5 + 8 + 2.0/3}, {0, 4, 2, 112.5, 3.5}, {1, 5, 1, 247.5, 1.5 + 2.0/3}, {0, 6, 3, 247.5, 5.5}}
	holes := r.Holes()
	for i, w := range want {
		if i >= len(holes) {
			t.Fatalf("%d holes, want %d", len(holes), len(want))
		}
		h := holes[i]
		if h.Tune != w.tune || h.Pin.Pin != w.pin || h.Tooth != w.tooth || math.Abs(float64(h.AngleDeg)-w.angle) > 1e-6 || math.Abs(float64(h.AxialMm)-w.axial) > 1e-6 {
			t.Errorf("hole %d is %+v, want %+v", i+1, h, w)
		}
	}
	if len(holes) != len(want) {
		t.Errorf("%d holes, want %d", len(holes), len(want))
	}
	if third := r.Beside[1]; third.Notes != 2 || third.Played != 1 || third.Dropped != 1 || !third.Clear {
		t.Errorf("the third tune, whose B4 is on no tooth: %+v", third)
	}
	if got := float64(r.Cylinder.LengthMm); math.Abs(got-(1.5+8+4.0/3+1.5)) > 1e-6 {
		t.Errorf("the cylinder is %v mm long", got)
	}
	if !r.ClearToDrill {
		t.Errorf("in the way: %s", toJSON(t, r.Findings))
	}
}

// TestTwoCombs: the second comb begins a spacing, or the gap that was asked for, beyond the first, and its teeth are numbered on.
func TestTwoCombs(t *testing.T) {
	bass := `{"comb": {"mode": "fixed", "pitches": ["C3", "G3"], "dampingCycles": 0}, "transpose": {"min": 0, "max": 0}, "excerpt": {"fromBar": 1, "toBar": 1}}`
	for _, row := range []struct{ gap, first float64 }{{0, 1.5 + 8 + 2}, {3.5, 1.5 + 8 + 3.5}} {
		s := with(t, parse(t, onFive), sharing("combs", inner(t, quarters(48, 0, 55), bass)), fmt.Sprintf(`{"beside": {"gapMm": %v}}`, row.gap))
		r := derive(t, read(t, quarters(c5, d5)), s, nil, false)
		o := r.Beside[0]
		if len(o.Pins) != 2 || o.Pins[0].Tooth != 6 || o.Pins[1].Tooth != 7 || math.Abs(float64(o.Pins[0].AxialMm)-row.first) > 1e-6 || math.Abs(float64(o.Pins[1].AxialMm)-row.first-2) > 1e-6 {
			t.Errorf("gap %v: the pins are %s", row.gap, toJSON(t, o.Pins))
		}
		if len(o.Comb.Teeth) != 2 || o.Comb.Teeth[0].Tooth != 6 || o.Comb.Teeth[1].Note != "G3" || o.Comb.Teeth[0].DampMs != 0 {
			t.Errorf("the second comb is %s", toJSON(t, o.Comb))
		}
		if got := float64(r.Cylinder.LengthMm); math.Abs(got-row.first-2-1.5) > 1e-6 {
			t.Errorf("gap %v: the cylinder is %v mm long", row.gap, got)
		}
		if !r.ClearToDrill {
			t.Errorf("in the way: %s", toJSON(t, r.Findings))
		}
	}
}

// TestBesideFindings: what tunes do to each other is told, with figures and with remedies that clear it.
func TestBesideFindings(t *testing.T) {
	plain := `{"excerpt": {"fromBar": 1, "toBar": 1}, "transpose": {"min": 0, "max": 0}}`
	other := inner(t, quarters(c5, 0, e5), plain)
	const combs = `{"comb": {"mode": "fixed", "pitches": ["C3", "E3", "G3", "C4"], "dampingCycles": 0}, "excerpt": {"fromBar": 1, "toBar": 1}, "transpose": {"min": 0, "max": 0}}`
	for _, row := range []struct {
		name, id   string
		have, need float64
		words      string
		labels     []string
		setup      []string
		main       []byte
	}{
		{"two tunes at the default spacing, both beginning on one tooth", "holes-0-n1-1-n1", 0.5, 0.6, "C5 in bar 1 beat 1 of this tune and that of C5 in bar 1 beat 1 of tune b, Untitled tune, lie 0.5 mm apart; they need 0.6 mm",
			[]string{"Leave C5 out", "Space the teeth 1.2 mm apart", "Use pins 0.25 mm thick", "Take tune b, Untitled tune, off the cylinder"},
			[]string{`{"cylinder": {"toothSpacingMm": 1}}`, sharing("shift", other)}, quarters(c5, d5)},
		{"three tunes at the default spacing", "beside-tips", 1.0 / 3, 0.375, "3 tunes lie 0.333 mm apart; a tooth's tip 0.3 mm wide", []string{"Space the teeth 1.15 mm apart", "Use pins 0.26 mm thick", "Take tune c, Untitled tune, off the cylinder"},
			[]string{`{"cylinder": {"toothSpacingMm": 1}}`, sharing("shift", other, other)}, quarters(0, d5)},
		{"no gap", "beside-gap", 0, 3.486353, "which has 0°", []string{"Leave a gap of 5°"}, []string{`{"cylinder": {"gapDeg": 0}}`, sharing("shift", other)}, quarters(0, d5)},
		{"a tune that is not clear", "beside-tune-1", 1, 0, "1 thing stands in its way", []string{"Take tune b, Untitled tune, off the cylinder"},
			[]string{sharing("shift", inner(t, quarters(c5, 0, e5), plain, `{"kind": "place", "note": "n1", "pitch": "C6"}`))}, quarters(0, d5)},
		{"two combs that are plucked at once", "load-0-n1", 6, 5, "6 teeth of the two combs", []string{"Allow 6 teeth together", "Take tune b, Untitled tune, off the cylinder"},
			[]string{sharing("combs", inner(t, melody(played{0, 48}, played{0, 52}, played{0, 55}), combs))}, melody(played{0, c5}, played{0, e5}, played{0, g5})},
		{"two combs too near for the holes", "holes-0-n1-1-n1", 2, 2.25, "G5 in bar 1 beat 1 of this tune and that of C3", []string{"Leave G5 out", "Set the combs 2.25 mm apart", "Take tune b, Untitled tune, off the cylinder"},
			[]string{`{"cylinder": {"holeWebMm": 1.9}}`, sharing("combs", inner(t, quarters(48), combs))}, quarters(g5)},
	} {
		t.Run(row.name, func(t *testing.T) {
			tn, s := read(t, row.main), with(t, parse(t, onFive), row.setup...)
			r := derive(t, tn, s, nil, true)
			f := find(r, row.id)
			if f == nil || !f.Blocks || r.ClearToDrill {
				t.Fatalf("no %s among %s", row.id, toJSON(t, r.Findings))
			}
			if math.Abs(f.Have.Value-row.have) > 1e-5 || math.Abs(f.Need.Value-row.need) > 1e-5 || !strings.Contains(f.Text.String(), row.words) {
				t.Errorf("%s", toJSON(t, f))
			}
			var labels []string
			for _, m := range f.Remedies {
				labels = append(labels, m.Label.String())
			}
			for _, l := range row.labels {
				if !slices.Contains(labels, l) {
					t.Errorf("no remedy %q among %q", l, labels)
				}
			}
			checkRemedies(t, tn, s, nil)
		})
	}
}

// TestDefaultMovementTakesTwoTunes: the tips of the default 18 teeth pass between the tracks of two tunes and not of three.
func TestDefaultMovementTakesTwoTunes(t *testing.T) {
	other := inner(t, quarters(c5, 0, e5), ``)
	for n, clear := range map[int]bool{1: true, 2: false} {
		r := derive(t, read(t, quarters(0, d5)), with(t, project.DefaultSetup(), sharing("shift", slices.Repeat([]string{other}, n)...)), nil, false)
		if (find(r, "beside-tips") == nil) != clear {
			t.Errorf("%d tunes in all: %s", n+1, toJSON(t, r.Findings))
		}
	}
}

// badBeside are refused whatever the tune, badBesideForTune when they are derived.
func badBeside(t fataler) []refused {
	ok := inner(t, quarters(c5), ``)
	file := func(fields string) string {
		return `{"schema": "pinwright/project/1", "tune": "` + base64.StdEncoding.EncodeToString(quarters(c5)) + `"` + fields + `}`
	}
	const nested = `{"beside": {"layout": "shift", "projects": [{}]}}`
	return []refused{
		{"no object", `{"beside": 1}`, "/beside", "not an object"},
		{"an unknown field", `{"beside": {"tunes": []}}`, "/beside/tunes", "known here are gapMm, layout, projects"},
		{"no layout", `{"beside": {"projects": [` + ok + `]}}`, "/beside/layout", "give shift"},
		{"another layout", sharing("stack", ok), "/beside/layout", "give shift"},
		{"no project", sharing("shift"), "/beside/projects", "at least one"},
		{"projects in braces", `{"beside": {"layout": "shift", "projects": {}}}`, "/beside/projects", "square brackets"},
		{"eight", sharing("shift", slices.Repeat([]string{ok}, 8)...), "/beside/projects", "at most 7"},
		{"three combs", sharing("combs", ok, ok), "/beside/projects", "exactly one"},
		{"combs nearer than their teeth", `{"beside": {"layout": "combs", "gapMm": 0.5, "projects": [` + ok + `]}}`, "/beside/gapMm", "nearer than their own teeth"},
		{"combs a metre apart", `{"beside": {"layout": "combs", "gapMm": 1000, "projects": [` + ok + `]}}`, "/beside/gapMm", "0 to 500"},
		{"a text", sharing("shift", `"x"`), "/beside/projects/0", "not a JSON object"},
		{"null", sharing("shift", `null`), "/beside/projects/0/schema", "needs the schema"},
		{"a place beyond", sharing("shift", `8`), "/beside/projects/0", "give 1 to 7"},
		{"a place where nothing stands", sharing("shift", ok, `2`), "/beside/projects/1", "there is no project 2"},
		{"no schema", sharing("shift", ok, `{}`), "/beside/projects/1/schema", "needs the schema"},
		{"a bad setup", sharing("shift", file(`, "setup": {"comb": {"recoveryMs": {"C5": 0}}}`)), "/beside/projects/0/setup/comb/recoveryMs/C5", "1 to 60000"},
		{"a bad decision", sharing("shift", file(`, "decisions": [{"kind": "octave"}]`)), "/beside/projects/0/decisions/0/note", "needs it"},
		{"one beside it", sharing("shift", file(`, "setup": `+nested)), "/beside/projects/0/setup/beside", "none beside its own"},
		{"one beside it by decision", sharing("shift", file(`, "decisions": [{"kind": "setup", "setup": `+nested+`}]`)), "/beside/projects/0/decisions/0/setup/beside", "none beside its own"},
		{"one beside it by one of several", sharing("shift", file(`, "decisions": [{"kind": "several", "decisions": [{"kind": "release", "note": "n1"}, {"kind": "setup", "setup": `+nested+`}]}]`)),
			"/beside/projects/0/decisions/0/decisions/1/setup/beside", "none beside its own"},
		{"a long tune", sharing("shift", `{"schema": "pinwright/project/1", "tune": "`+strings.Repeat("TVRo", 90_000)+`"}`), "/beside/projects/0/tune", "more than 262144 bytes"},
		{"many decisions", sharing("shift", file(`, "decisions": [`+strings.TrimSuffix(strings.Repeat("0,", 2001), ",")+`]`)), "/beside/projects/0/decisions", "2001 decisions"},
		{"too much of all", sharing("shift", slices.Repeat([]string{`{"schema": "pinwright/project/1", "tune": "` + strings.Repeat("TVRo", 80_000) + `"}`}, 4)...), "/beside/projects", "at most 1048576"},
		{"no end of it", sharing("shift", `{"x": "`+strings.Repeat("x", 3<<20)+`"}`), "/beside/projects", "at most 1048576"},
		{"a tip of nothing", `{"cylinder": {"tipMm": 0}}`, "/cylinder/tipMm", "0.01 to 20"},
	}
}

func badBesideForTune(t fataler) []refused {
	ok := inner(t, quarters(c5), ``)
	return []refused{
		{"a tune that is none", sharing("shift", ok, `{"schema": "pinwright/project/1", "tune": "TVRoZA=="}`), "/beside/projects/1/tune", "cut off inside its header"},
		{"bars that it does not have", sharing("shift", inner(t, quarters(c5), `{"excerpt": {"fromBar": 9, "toBar": 9}}`)), "/beside/projects/0/setup/excerpt/fromBar", "no bar 9"},
		{"bars that it does not have, by decision", sharing("combs", inner(t, quarters(c5), ``, `{"kind": "setup", "setup": {"parts": [{"id": "t9c9", "role": "off"}]}}`)), "/beside/projects/0/setup/parts/0/id", "no part"},
	}
}

func TestBadBeside(t *testing.T) {
	for _, row := range badBeside(t) {
		t.Run(row.name, func(t *testing.T) {
			_, err := project.ParseSetup([]byte(row.document))
			checkRefused(t, row, err)
			d, err := project.ParseDecision([]byte(`{"kind": "setup", "setup": ` + row.document + `}`))
			if err == nil {
				_, err = project.Accept(context.Background(), fiveNotes(t), givenComb(t), nil, d)
			}
			row.pointer = "/setup" + row.pointer
			checkRefused(t, row, err)
		})
	}
	for _, row := range badBesideForTune(t) {
		t.Run(row.name, func(t *testing.T) {
			_, err := project.Derive(context.Background(), fiveNotes(t), parse(t, row.document), nil, project.Options{})
			checkRefused(t, row, err)
		})
	}
}

// TestNestedBesideIsCheap: a project in a project in a project, as deep as the bytes go, is refused at the first, not read to the last.
func TestNestedBesideIsCheap(t *testing.T) {
	const open = `{"schema":"pinwright/project/1","tune":"TVRoZA==","setup":{"beside":{"layout":"shift","projects":[`
	document := `{"beside":{"layout":"shift","projects":[` + strings.Repeat(open, 2000) + strings.Repeat(`]}}}`, 2000) + `]}}`
	_, err := project.ParseSetup([]byte(document))
	checkRefused(t, refused{"nested", document, "/beside/projects/0/setup/beside", "none beside its own"}, err)
}

// TestProjectsByPlace: in a change, a number stands for the project that has that place, so that a tune is added, moved or taken off in a few bytes.
func TestProjectsByPlace(t *testing.T) {
	a, b, c := inner(t, quarters(c5), `{"title": "A"}`), inner(t, quarters(d5), `{"title": "B"}`), inner(t, quarters(e5), `{"title": "C"}`)
	titles := func(s project.Setup) string {
		var all []string
		for _, p := range s.Beside.Projects {
			all = append(all, p.Setup.Title)
		}
		return strings.Join(all, " ")
	}
	s := with(t, project.DefaultSetup(), sharing("shift", a, b))
	for _, row := range []struct{ projects, want string }{{`[2, 1]`, "B A"}, {`[1, ` + c + `, 2]`, "A C B"}, {`[2]`, "B"}, {`[1, 1]`, "A A"}} {
		then := with(t, s, `{"beside": {"projects": `+row.projects+`}}`)
		if got := titles(then); got != row.want {
			t.Errorf("%.20s gives %s, want %s", row.projects, got, row.want)
		}
		if again := parse(t, toJSON(t, then)); toJSON(t, again) != toJSON(t, then) || titles(again) != row.want {
			t.Errorf("%s is read again as %s", toJSON(t, then), toJSON(t, again))
		}
	}
	if titles(s) != "A B" {
		t.Errorf("the setup itself has become %s", titles(s))
	}
	if s = with(t, s, `{"beside": null}`); s.Beside != nil || strings.Contains(toJSON(t, s), "beside") {
		t.Errorf("null leaves %s", toJSON(t, s))
	}
}

// anyBeside draws a case with one to three tunes beside its own.
func anyBeside(t *rapid.T) (*tune.Tune, project.Setup, []arrange.Decision) {
	tn, s, log := anyCase(t)
	layout := rapid.SampledFrom([]string{"shift", "shift", "combs"}).Draw(t, "layout")
	most := map[string]int{"shift": 3, "combs": 1}[layout]
	var projects []string
	for range rapid.IntRange(1, most).Draw(t, "beside") {
		data := anyTune(t)
		own := read(t, data)
		setup := parse(t, string(anySetup(t, own)))
		done, _ := arrange.Fold(anyLog(t, own, setup))
		if _, err := project.Derive(context.Background(), own, setup, done, project.Options{}); err != nil {
			t.Skip(err.Error()) // an excerpt in which nothing sounds, and the like
		}
		projects = append(projects, string(project.Encode(project.File{Tune: data, Setup: setup, Decisions: done})))
	}
	change := sharing(layout, projects...)
	if rapid.Bool().Draw(t, "by decision") {
		return tn, s, append(slices.Clip(log), arrange.Decision{Kind: arrange.Change, Setup: json.RawMessage(change)})
	}
	return tn, with(t, s, change), log
}

// TestBesideLaws: the project's own tune is as it is without the others; each other is what its own project gives on this comb and cylinder; every
// hole stands in one numbering and comes from one note of one tune; and two holes of different tunes never lie too near in silence.
func TestBesideLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyBeside(t)
		r := derive(t, tn, s, log, false)
		alone := derive(t, tn, s, append(slices.Clip(log), arrange.Decision{Kind: arrange.Change, Setup: json.RawMessage(`{"beside": null}`)}), false)
		if toJSON(t, alone.Pins) != toJSON(t, r.Pins) || toJSON(t, alone.Comb) != toJSON(t, r.Comb) || toJSON(t, alone.Arrangement) != toJSON(t, r.Arrangement) {
			t.Fatalf("the own tune differs: %s, alone %s", toJSON(t, r.Pins), toJSON(t, alone.Pins))
		}
		for _, f := range alone.Findings {
			if g := find(r, f.ID); g == nil || toJSON(t, g) != toJSON(t, f) && f.Kind != arrange.Short { // of a cylinder that must hold the others as well
				t.Fatalf("%s is not told beside the others", f.ID)
			}
		}
		if holes := alone.Holes(); len(holes) != len(alone.Pins) {
			t.Fatalf("%d holes of %d pins", len(holes), len(alone.Pins))
		}
		for i, h := range alone.Holes() {
			if h.Tune != 0 || h.Pin != alone.Pins[i] {
				t.Fatalf("hole %+v of the pin %+v", h, alone.Pins[i])
			}
		}
		b, c := r.Setup.Beside, r.Setup.Cylinder
		n := float64(len(b.Projects) + 1)
		pins := map[string]pinmap.Pin{}
		for _, p := range r.Pins {
			pins[fmt.Sprint(0, p.Note)] = p
		}
		for i, o := range r.Beside {
			own := b.Projects[i].Setup // as it was posted, with its own decisions, then what the cylinder has
			then := slices.Clip(b.Projects[i].Decisions)
			bare := c
			bare.LengthMm = 0 // whether the cylinder at hand is long enough is for all tunes together to say
			change := map[string]any{"cylinder": bare, "limits": r.Setup.Limits, "tempo": map[string]any{"revolutionMs": r.Cylinder.RevolutionMs}}
			offset, before := float64(i+1)*float64(c.ToothSpacingMm)/n, 0
			if b.Layout == project.Sideways && len(r.Comb.Teeth) == 0 { // everything was taken out of the tune that the comb is cut for
				if o.Played > 0 {
					t.Fatalf("tune %d plays on no teeth: %s", i+1, toJSON(t, o))
				}
				continue
			}
			if b.Layout == project.Sideways {
				k := r.Setup.Comb
				k.Mode, k.Pitches, k.MaxTwins = "fixed", nil, 12
				for _, tooth := range r.Comb.Teeth {
					k.Pitches = append(k.Pitches, unit.NoteName(tooth.Pitch))
				}
				change["comb"] = map[string]any{"mode": "fixed", "pitches": k.Pitches, "maxTwins": 12, "dampingCycles": k.DampingCycles, "leastRingMs": k.LeastRingMs, "qualityFactor": k.QualityFactor, "recoveryMs": recoveries(b.Projects[i], k)}
			} else {
				before = len(r.Comb.Teeth) + r.Comb.Spare
				offset = float64(max(before, 1)) * float64(c.ToothSpacingMm)
			}
			want := derive(t, read(t, b.Projects[i].Tune), own, append(then, arrange.Decision{Kind: arrange.Change, Setup: json.RawMessage(toJSON(t, change))}), false)
			if len(want.Pins) != len(o.Pins) || want.ClearToDrill != o.Clear || want.Arrangement.Transpose != o.Transpose || len(want.Tune.Notes) != o.Notes || o.Played+o.Dropped != o.Notes {
				t.Fatalf("tune %d: %s\nby itself %s", i+1, toJSON(t, o), toJSON(t, want))
			}
			if o.Clear == (find(r, fmt.Sprint("beside-tune-", i+1)) != nil) {
				t.Fatalf("tune %d is clear: %v; the findings are %v", i+1, o.Clear, ids(r))
			}
			for k, p := range o.Pins {
				w := want.Pins[k]
				if p.Note != w.Note || p.Tooth != w.Tooth+before || p.Pin != w.Pin || p.Bar != w.Bar || math.Abs(float64(p.AngleDeg-w.AngleDeg)) > 1e-6 || math.Abs(float64(p.AxialMm-w.AxialMm)-offset) > 1e-6 {
					t.Fatalf("tune %d, pin %+v, by itself %+v, %v mm farther", i+1, p, w, offset)
				}
				pins[fmt.Sprint(i+1, p.Note)] = p
			}
		}
		holes := r.Holes()
		for i, h := range holes {
			p, ok := pins[fmt.Sprint(h.Tune, h.Note)]
			delete(pins, fmt.Sprint(h.Tune, h.Note))
			own := h.Pin
			own.Pin = p.Pin
			if !ok || own != p || h.Pin.Pin != i+1 {
				t.Fatalf("hole %d is %+v, its pin %+v", i+1, h, p)
			}
			if tooth := r.ToothOf(h); tooth.Tooth != h.Tooth {
				t.Fatalf("hole %+v on tooth %+v", h, tooth)
			}
			if i > 0 && cmp.Or(cmp.Compare(holes[i-1].AngleDeg, h.AngleDeg), cmp.Compare(holes[i-1].AxialMm, h.AxialMm)) > 0 {
				t.Fatalf("hole %d comes after hole %d", i, i+1)
			}
			beyond := c.FirstTrackMm
			if c.LengthMm > 0 { // of a cylinder at hand the hole and its web must find room
				beyond = c.PinDiameterMm/2 + c.HoleWebMm
			}
			if last := h.AxialMm + beyond; last > r.Cylinder.LengthMm+1e-6 {
				t.Fatalf("hole %+v on a cylinder of %v mm", h, r.Cylinder.LengthMm)
			}
			for _, g := range holes[:i] {
				if g.Tune == h.Tune {
					continue
				}
				arc, around := math.Abs(float64(h.ArcMm-g.ArcMm)), math.Pi*float64(c.DiameterMm)
				apart := math.Hypot(min(arc, around-arc), float64(h.AxialMm-g.AxialMm))
				a, z := g, h
				if a.Tune > z.Tune {
					a, z = z, a
				}
				f := find(r, fmt.Sprintf("holes-%d-%s-%d-%s", a.Tune, a.Note, z.Tune, z.Note))
				need := float64(c.PinDiameterMm + c.HoleWebMm)
				if apart < need-1e-5 && f == nil && find(r, "holes-beside") == nil || apart > need+1e-5 && f != nil {
					t.Fatalf("%+v and %+v lie %v mm apart, need %v; %v", g, h, apart, need, ids(r))
				}
			}
		}
		if len(pins) > 0 {
			t.Fatalf("no hole for %v", pins)
		}
	})
}

// recoveries gives the change that leaves a project with the measured recoveries of a comb and no others.
func recoveries(p project.Neighbour, comb project.Comb) map[string]any {
	s := p.Setup
	for _, step := range arrange.Steps(p.Decisions) {
		if step.Decision.Kind == arrange.Change {
			s, _ = s.With(step.Decision.Setup)
		}
	}
	m := map[string]any{}
	for name := range s.Comb.RecoveryMs {
		m[name.String()] = nil
	}
	for name, ms := range comb.RecoveryMs {
		m[name.String()] = ms
	}
	return m
}

// TestBesideSession: what a session remembers of the tunes beside changes no byte, undo is the identity, and the project comes back from its file.
func TestBesideSession(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyBeside(t)
		session := project.NewSession(tn, s)
		o := project.Options{Remedies: rapid.Bool().Draw(t, "remedies"), Few: true}
		more := []arrange.Decision{anyStep(t, tn, s), {Kind: arrange.Change, Setup: json.RawMessage(`{"beside": {"projects": [1]}}`)}, {Kind: arrange.Undo}, anyStep(t, tn, s), {Kind: arrange.Undo}}
		for n := range len(more) + 1 {
			again, err := session.Derive(context.Background(), log, o)
			if err != nil {
				t.Fatal(err)
			}
			fresh, err := project.Derive(context.Background(), tn, s, log, o)
			if err != nil {
				t.Fatal(err)
			}
			if a, b := toJSON(t, fresh), toJSON(t, again); a != b {
				t.Fatalf("%s, remembered %s", a, b)
			}
			if n == len(more) {
				break
			}
			if more[n].Kind == arrange.Undo {
				before := derive(t, tn, s, log[:len(log)-1], false)
				undone := derive(t, tn, s, append(slices.Clip(log), more[n]), false)
				undone.CanRedo, before.CanRedo = false, false
				if a, b := toJSON(t, before), toJSON(t, undone); a != b {
					t.Fatalf("undo leaves %s of %s", b, a)
				}
			}
			d, err := session.Accept(context.Background(), log, more[n])
			if err != nil {
				if more[n].Kind != arrange.Undo {
					break
				}
				t.Fatal(err)
			}
			log = append(slices.Clip(log), d)
		}
		done, _ := arrange.Fold(log)
		data := project.Encode(project.File{FileName: "a", Tune: []byte{1}, Setup: s, Decisions: done})
		back, err := project.Decode(data)
		if err != nil || string(project.Encode(back)) != string(data) {
			t.Fatalf("%v: %s is not read as it was written", err, data)
		}
		if a, b := toJSON(t, derive(t, tn, s, done, false)), toJSON(t, derive(t, tn, back.Setup, back.Decisions, false)); a != b {
			t.Fatalf("the project gives another result when it was read\n%s\n%s", a, b)
		}
	})
}

// TestBesideRemedies holds remedies to what they promise where tunes share a cylinder.
func TestBesideRemedies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyBeside(t)
		checkRemedies(t, tn, s, log)
	})
}

// TestSettleKeepsTheTunes: settling never takes a tune off the cylinder, however cheap that would be.
func TestSettleKeepsTheTunes(t *testing.T) {
	s := with(t, parse(t, onFive), `{"cylinder": {"toothSpacingMm": 1}}`, sharing("shift", inner(t, quarters(c5, 0, e5), ``), inner(t, quarters(c5, 0, e5), ``)))
	got, err := project.Settle(context.Background(), read(t, quarters(c5, d5)), s, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got.Decision == nil || strings.Contains(toJSON(t, got.Decision), "beside") || got.Before.ClearToDrill || got.After.Blocking >= got.Before.Blocking {
		t.Errorf("%s", toJSON(t, got))
	}
}

// FuzzBeside takes in what strangers put beside a tune: it is refused with a pointer that leads into it, or derived, and read again as it was written.
func FuzzBeside(f *testing.F) {
	for _, row := range slices.Concat(badBeside(f), badBesideForTune(f)) {
		if len(row.document) < 8<<10 {
			f.Add([]byte(row.document))
		}
	}
	other := inner(f, quarters(c5, 0, e5), ``, `{"kind": "shift", "note": "n1", "ms": 10}`)
	f.Add([]byte(sharing("shift", other, other)))
	f.Add([]byte(sharing("combs", other)))
	tn := fiveNotes(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := project.ParseSetup(data)
		if err == nil {
			ctx, cancel := context.WithTimeout(context.Background(), patience)
			defer cancel()
			if again := parse(t, toJSON(t, s)); toJSON(t, again) != toJSON(t, s) {
				t.Fatalf("the setup %s is read again as %s", toJSON(t, s), toJSON(t, again))
			}
			var r *project.Result
			if r, err = project.Derive(ctx, tn, s, nil, project.Options{}); err == nil && len(r.Holes()) < len(r.Pins) {
				t.Fatal("holes are lost")
			}
		}
		if field, ok := err.(*project.FieldError); err != nil && (!ok || field.Message.Empty() || field.Pointer != "" && field.Pointer[0] != '/') {
			t.Fatalf("%v is not about a field", err)
		}
	})
}

// BenchmarkBeside times a decision on a tune of 400 notes with three of as many beside it, one that leaves the comb as it is and one that does not.
func BenchmarkBeside(b *testing.B) {
	base := parse(b, `{"excerpt": {"fromBar": 1, "toBar": 25}, "tempo": {"revolutionMs": 60000}, "cylinder": {"toothSpacingMm": 3}}`)
	other := inner(b, plain(400), `{"excerpt": {"fromBar": 1, "toBar": 25}}`)
	second, third := inner(b, plain(390), `{"excerpt": {"fromBar": 1, "toBar": 24}}`), inner(b, plain(380), `{"excerpt": {"fromBar": 1, "toBar": 23}}`)
	tn := read(b, plain(400))
	for _, row := range []struct {
		name  string
		setup project.Setup
	}{
		{"alone", base},
		{"three beside, one comb", with(b, base, sharing("shift", other, second, third))},
		{"two combs", with(b, base, sharing("combs", other))},
	} {
		for _, kind := range []string{`{"kind": "leave-out", "note": "n%d"}`, `{"kind": "setup", "setup": {"comb": {"leastRingMs": %d}}}`} {
			b.Run(row.name+", "+strings.Split(kind, `"`)[3], func(b *testing.B) {
				b.ReportAllocs()
				session := project.NewSession(tn, row.setup)
				if _, err := session.Derive(context.Background(), nil, project.Options{}); err != nil {
					b.Fatal(err)
				}
				for i := 0; b.Loop(); i++ {
					if _, err := session.Derive(context.Background(), decide(b, fmt.Sprintf(kind, 61+i%40)), project.Options{}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
