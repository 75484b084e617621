package web

import (
	"strings"
	"testing"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

func TestFixed(t *testing.T) {
	for _, test := range []struct {
		value    float64
		decimals int
		want     string
	}{
		{3586.275, 0, "3586"},
		{14545.4545, 1, "14\u202f545.5"},
		{1234567.5, 2, "1\u202f234\u202f567.50"},
		{-0.001, 2, "0.00"},
		{-12.5, 1, "−12.5"},
		{0, 0, "0"},
	} {
		if got := fixed(test.value, test.decimals); got != test.want {
			t.Errorf("fixed(%v, %d) = %q, want %q", test.value, test.decimals, got, test.want)
		}
	}
}

func TestShort(t *testing.T) {
	for _, test := range []struct {
		value    float64
		decimals int
		want     string
	}{{2.5, 2, "2.5"}, {100, 2, "100"}, {100, 0, "100"}, {0.004, 2, "0"}, {2390.85, 2, "2390.85"}} {
		if got := short(test.value, test.decimals); got != test.want {
			t.Errorf("short(%v, %d) = %q, want %q", test.value, test.decimals, got, test.want)
		}
	}
}

func TestCost(t *testing.T) {
	for _, test := range []struct {
		change float64
		want   string
	}{{-6, "costs 6"}, {-0.25, "costs 0.25"}, {-1.5, "costs 1.50"}, {0, "costs nothing"}, {1e-9, "costs nothing"}, {3, "brings 3"}} {
		if got := (Shown{}).cost(test.change); got != test.want {
			t.Errorf("cost(%v) = %q, want %q", test.change, got, test.want)
		}
	}
}

func TestDescribe(t *testing.T) {
	r := &project.Result{}
	r.Tune.Notes = []arrange.Note{{ID: "n3", Merged: []string{"n3", "n4"}, Name: "C5", Bar: 3, Beat: 2.5}}
	one, ms, pitch, l := 1, -12.5, unit.NoteName(72), markedBetween(t)
	for _, test := range []struct {
		name     string
		decision arrange.Decision
		want     string
	}{
		{"octave", arrange.Decision{Kind: arrange.Octave, Note: "n3", Octaves: &one}, "C5 in bar 3 beat 2.5 moved one octave up"},
		{"octave of nothing", arrange.Decision{Kind: arrange.Octave, Note: "n3"}, "C5 in bar 3 beat 2.5 decided about"},
		{"place by pitch", arrange.Decision{Kind: arrange.Place, Note: "n3", Pitch: &pitch}, "C5 in bar 3 beat 2.5 set on tooth C5"},
		{"place on a twin", arrange.Decision{Kind: arrange.Place, Note: "n3", Pitch: &pitch, Twin: 2}, "C5 in bar 3 beat 2.5 set on tooth C5 (twin 2)"},
		{"place by tooth", arrange.Decision{Kind: arrange.Place, Note: "n3", Tooth: 4}, "C5 in bar 3 beat 2.5 set on tooth 4"},
		{"a note that was merged", arrange.Decision{Kind: arrange.LeaveOut, Note: "n4"}, "C5 in bar 3 beat 2.5 left out"},
		{"an unknown note", arrange.Decision{Kind: arrange.LeaveOut, Note: "n9"}, "note n9 left out"},
		{"shift", arrange.Decision{Kind: arrange.Shift, Note: "n3", Ms: &ms}, "C5 in bar 3 beat 2.5 12.5 ms earlier"},
		{"release", arrange.Decision{Kind: arrange.Release, Note: "n3"}, "C5 in bar 3 beat 2.5 released"},
		{"setup", arrange.Decision{Kind: arrange.Change, Setup: []byte(`{"title":"x","comb":{"teeth":20,"mode":"fixed"},"cylinder":{"gapDeg":20,"diameterMm":14}}`)},
			"comb from the drawer; teeth 20; bare diameter 14 mm; gap 20°; title x"},
		{"lists and open fields", arrange.Decision{Kind: arrange.Change, Setup: []byte(`{"excerpt":null,"comb":{"pitches":["C5","D5"],"recoveryMs":{"C5":250}},"tempo":{"revolutionMs":0},"parts":[]}`)},
			"notes of a comb in the drawer C5 D5; measured recovery C5 250; bars chosen by the length of the turn; roles of the parts; time of one turn left open"},
		{"an excerpt", arrange.Decision{Kind: arrange.Change, Setup: []byte(`{"excerpt":{"fromBar":2,"toBar":9}}`)}, "bars 2 to 9"},
		{"a setup that is none", arrange.Decision{Kind: arrange.Change, Setup: []byte(`[`)}, "a change of the setup"},
		{"several", arrange.Decision{Kind: arrange.Several, Decisions: []arrange.Decision{{Kind: arrange.Release, Note: "n1"}, {Kind: arrange.LeaveOut, Note: "n2"}}}, "note n1 released; note n2 left out"},
		{"several alike", arrange.Decision{Kind: arrange.Several, Decisions: []arrange.Decision{{Kind: arrange.LeaveOut, Note: "n1"}, {Kind: arrange.LeaveOut, Note: "n3"}}}, "note n1, C5 in bar 3 beat 2.5 left out"},
		{"undo", arrange.Decision{Kind: arrange.Undo}, "undo"},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := (Shown{}).Describe(test.decision, r); got != test.want {
				t.Errorf("got %q, want %q", got, test.want)
			}
			if got := (Shown{language: &l}).Describe(test.decision, r); word.MatchString(strings.ReplaceAll(unsaid(got), " mm", "")) {
				t.Errorf("%q is partly in English", got)
			}
		})
	}
}

func TestSummary(t *testing.T) {
	note := func(n int) []arrange.Note { return make([]arrange.Note, n) }
	plucks := func(n int) []project.Pluck { return make([]project.Pluck, n) }
	for _, test := range []struct {
		name           string
		notes          int
		plucks         int
		plays, changed string
	}{
		{"all", 12, 12, "Every one of twelve notes plays.", "Nothing left out, nothing moved."},
		{"some", 101, 96, "96 of 101 notes play.", "Five notes left out."},
		{"none of them", 3, 0, "None of three notes plays.", "Three notes left out."},
		{"one note", 1, 1, "Its one note plays.", "Nothing left out, nothing moved."},
		{"one note, left out", 1, 0, "Its one note does not play.", "One note left out."},
		{"no notes", 0, 0, "No note of this excerpt has a part that plays.", "Nothing left out, nothing moved."},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := &project.Result{}
			r.Tune.Notes, r.Arrangement.Plucks = note(test.notes), plucks(test.plucks)
			r.Arrangement.Dropped = make([]project.Dropped, test.notes-test.plucks)
			s := Shown{}.summarize(r)
			if s.Plays != test.plays || s.Changed != test.changed {
				t.Errorf("got %q, %q; want %q, %q", s.Plays, s.Changed, test.plays, test.changed)
			}
		})
	}
}

func TestTempo(t *testing.T) {
	for _, test := range []struct {
		name            string
		written, played unit.BPM
		want            string
	}{
		{"slower", 112, 109.4, "played at 109.4 bpm, 2.3 % slower than the 112.0 written"},
		{"faster", 100, 110, "played at 110.0 bpm, 10.0 % faster than the 100.0 written"},
		{"as written", 120, 120.01, "played at 120.0 bpm, as written"},
		{"unknown", 0, 120, "tempo unknown"},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := (Shown{}).tempo(project.TuneView{WrittenBPM: test.written, PlayedBPM: test.played}); got != test.want {
				t.Errorf("got %q, want %q", got, test.want)
			}
		})
	}
}

func TestWorthClaimsNoMoreThanIsProven(t *testing.T) {
	proven := Shown{}.worth(project.Arrangement{Objective: 90, Bound: 90, TotalValue: 100, Proven: true})
	open := Shown{}.worth(project.Arrangement{Objective: 90, Bound: 95, TotalValue: 100})
	if want := "90.0 % of the tune's value is kept; nothing else that you allow keeps more (proven)."; proven != want {
		t.Errorf("got %q, want %q", proven, want)
	}
	if want := "90.0 % of the tune's value is kept; it is proven that no choice keeps more than 95.0 %."; open != want {
		t.Errorf("got %q, want %q", open, want)
	}
}

func TestWorthOfAWholeTune(t *testing.T) {
	for _, test := range []struct {
		objective float64
		want      string
	}{{100, "All of the tune's value is kept."}, {99.99, "99.9 % of the tune's value is kept; nothing else that you allow keeps more (proven)."}} {
		if got := (Shown{}).worth(project.Arrangement{Objective: test.objective, Bound: test.objective, TotalValue: 100, Proven: true}); got != test.want {
			t.Errorf("%v of 100: got %q, want %q", test.objective, got, test.want)
		}
	}
}

func TestBestRemedy(t *testing.T) {
	finding := func(remedies ...arrange.Remedy) arrange.Finding { return arrange.Finding{ID: "f", Remedies: remedies} }
	costly := arrange.Remedy{Label: phrase.Text("costly"), ValueChange: -6, Clears: []string{"f"}}
	cheap := arrange.Remedy{Label: phrase.Text("cheap"), ValueChange: -1, Clears: []string{"f"}}
	raising := arrange.Remedy{Label: phrase.Text("raising"), Clears: []string{"f"}, Raises: []string{"g"}}
	idle := arrange.Remedy{Label: phrase.Text("idle")}
	for _, test := range []struct {
		name    string
		finding arrange.Finding
		want    string
	}{
		{"the one that costs least", finding(costly, cheap), "cheap"},
		{"not one that raises another", finding(raising, costly), "costly"},
		{"not one that does not clear it", finding(idle, costly), "costly"},
		{"the first where none is clean", finding(raising, idle), "raising"},
		{"none", finding(), ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := ""
			if r := best(test.finding); r != nil {
				got = r.Label.String()
			}
			if got != test.want {
				t.Errorf("got %q, want %q", got, test.want)
			}
		})
	}
}
