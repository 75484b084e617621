package main

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pinwright/arrange/tune"
	"pinwright/pinmap/bench"
	"pinwright/pinmap/project"
)

// blankPart asks for eight bars of four.
var blankPart = part{"blank", "", "{}"}

// TestAProjectFromNothing: it is stored, drawn and written to files while it is empty; notes are written into it, and the result is the same
// after the server has forgotten all that it derived.
func TestAProjectFromNothing(t *testing.T) {
	s := newSite(t)
	g := s.upload("/api/projects", blankPart, part{"setup", "", `{"title":"By hand"}`}).wantStatus(t, http.StatusCreated)
	var p ProjectAnswer
	if err := json.Unmarshal(g.body, &p); err != nil {
		t.Fatal(err)
	}
	if len(p.Tune.Notes) != 0 || len(p.Pins) != 0 || len(p.Tune.Bars) != 8 || p.Tune.Excerpt.ToBar != 8 || p.Tune.WrittenBPM < 95.99 || p.Tune.WrittenBPM > 96.01 {
		t.Errorf("the blank is %+v", p.Tune)
	}
	edit := strings.TrimPrefix(p.EditURL, s.URL)
	token := edit[strings.LastIndex(edit, "/")+1:]
	api := "/api/projects/" + token
	view := strings.TrimPrefix(p.ViewURL, s.URL)
	everywhere := func() {
		t.Helper()
		for _, address := range []string{edit, edit + "?advice=1", edit + "?settle=1", edit + "/map", view, view + "?advice=1", api, api + "/advice", api + "/settlement"} {
			s.do(ask{"GET", address, nil, nil}).wantStatus(t, http.StatusOK)
		}
		for _, name := range bench.Names() {
			s.do(ask{"GET", api + "/files/" + name, nil, nil}).wantStatus(t, http.StatusOK)
		}
	}
	everywhere()
	revision := 0
	decide := func(decision string) project.Result {
		t.Helper()
		g := s.do(ask{"POST", api + "/decisions", []byte(decision), map[string]string{"Content-Type": "application/json", "If-Match": fmt.Sprintf(`"%d"`, revision)}}).wantStatus(t, http.StatusOK)
		revision++
		var r project.Result
		if err := json.Unmarshal(g.body, &r); err != nil {
			t.Fatal(err)
		}
		return r
	}
	decide(`{"kind":"add","pitch":"C5","bar":1,"beat":1}`)
	decide(`{"kind":"add","pitch":"E5","bar":3,"beat":2.5}`)
	decide(`{"kind":"move","note":"a1","bar":2,"pitch":"D5"}`)
	decide(`{"kind":"add","pitch":"G5","bar":9,"beat":4}`)
	r := decide(`{"kind":"remove","note":"a2"}`)
	names := []string{}
	for _, n := range r.Tune.Notes {
		names = append(names, n.ID+" "+n.Name)
	}
	if !slices.Equal(names, []string{"a1 D5", "a3 G5"}) || r.Tune.Excerpt.ToBar != 9 || len(r.Pins) != 2 {
		t.Errorf("the notes are %v in bars %d to %d", names, r.Tune.Excerpt.FromBar, r.Tune.Excerpt.ToBar)
	}
	everywhere()
	before := s.do(ask{"GET", api + "/files/project.json", nil, nil}).body
	f, err := project.Decode(before)
	if err != nil {
		t.Fatal(err)
	}
	limits := tune.DefaultLimits
	limits.Silent = true
	tn, err := tune.Read(f.Tune, limits)
	if err != nil {
		t.Fatal(err)
	}
	again, err := project.Derive(t.Context(), tn, f.Setup, f.Decisions, project.Options{})
	if err != nil {
		t.Fatal(err)
	}
	a, err := json.Marshal(again.Pins)
	if err != nil {
		t.Fatal(err)
	}
	if b, err := json.Marshal(r.Pins); err != nil || string(a) != string(b) {
		t.Errorf("the project file gives the pins %s, want %s, %v", a, b, err)
	}
}

// TestBlanksAreRefusedWithAReason also holds that a file without notes is refused as an upload.
func TestBlanksAreRefusedWithAReason(t *testing.T) {
	s := newSite(t)
	blank := func(text string) []part { return []part{{"blank", "", text}} }
	for _, test := range []struct {
		name    string
		parts   []part
		status  int
		pointer string
		words   string
	}{
		{"no JSON", blank("8"), 422, "/blank", "not an object"},
		{"not even that", blank("{"), 422, "/blank", "not JSON"},
		{"nothing", blank(""), 422, "/blank", "not JSON"},
		{"an unknown field", blank(`{"tempo":96}`), 422, "/blank/tempo", "bars, beats"},
		{"no bars", blank(`{"bars":0}`), 422, "/blank/bars", "1 to 200"},
		{"too many bars", blank(`{"bars":201}`), 422, "/blank/bars", "1 to 200"},
		{"half a bar", blank(`{"bars":1.5}`), 422, "/blank/bars", "whole number"},
		{"seventeen beats", blank(`{"beats":17}`), 422, "/blank/beats", "1 to 16"},
		{"thirds", blank(`{"unit":3}`), 422, "/blank/unit", "2, 4, 8 or 16"},
		{"too slow", blank(`{"bpm":19.9}`), 422, "/blank/bpm", "20 to 400"},
		{"too fast", blank(`{"bpm":401}`), 422, "/blank/bpm", "20 to 400"},
		{"a tune too", []part{tunePart, blankPart}, 422, "", "leave it out"},
		{"two of them", []part{blankPart, blankPart}, 422, "", "once"},
		{"a great deal", blank(strings.Repeat(" ", maxBlank+1)), 413, "", "4 KiB"},
		{"a bad setup", []part{blankPart, {"setup", "", `{"excerpt":{"fromBar":9,"toBar":9}}`}}, 422, "/excerpt/fromBar", "no bar 9"},
		{"its bytes as a tune", []part{{"tune", "a.mid", string(tune.DefaultBlank.File())}}, 422, "", "no notes"},
	} {
		for _, address := range []string{"/api/projects", "/api/arrange", "/api/advice"} {
			t.Run(address+" "+test.name, func(t *testing.T) {
				p := s.upload(address, test.parts...).wantStatus(t, test.status).problem(t)
				if p.Pointer != test.pointer {
					t.Errorf("the pointer is %q, want %q", p.Pointer, test.pointer)
				}
				wantWords(t, p.Title+" "+p.Detail, test.words)
			})
		}
	}
	if projects, _ := s.stored(); projects != 0 {
		t.Errorf("%d projects are stored; want none", projects)
	}
}

func TestBlanksEverywhereThatTakesATune(t *testing.T) {
	s := newSite(t)
	all := part{"blank", "", `{"bars":200,"beats":16,"unit":16,"bpm":400}`}
	for _, address := range []string{"/api/arrange", "/api/advice", "/api/compare", "/api/files/drill-map.html", "/api/files/arrangement.mid"} {
		s.upload(address, all).wantStatus(t, http.StatusOK)
	}
}

// TestWritingWithoutScript starts from the first page's form and writes a note, moves it and takes it out by the forms of the project's page.
func TestWritingWithoutScript(t *testing.T) {
	s := newSite(t)
	refused := s.fill("/blank", url.Values{"bars": {"900"}}, nil).wantStatus(t, http.StatusUnprocessableEntity)
	wantWords(t, string(refused.body), "1 to 200", "Start from nothing")
	g := s.fill("/blank", url.Values{"bars": {"4"}, "beats": {"3"}, "bpm": {"120"}}, nil).wantStatus(t, http.StatusSeeOther)
	edit := g.Header.Get("Location")
	page := string(s.do(ask{"GET", edit, nil, nil}).wantStatus(t, http.StatusOK).body)
	wantWords(t, page, "no note yet", "nothing to drill yet", "Add a note", "By hand")
	for i, step := range []struct {
		form  url.Values
		words string
	}{
		{url.Values{"do": {"add"}, "pitch": {"C5"}, "bar": {"2"}, "beat": {"2.5"}}, "C5 added in bar 2 beat 2.5"},
		{url.Values{"do": {"move"}, "note": {"a1"}, "bar": {"3"}, "beat": {"1"}, "pitch": {"D5"}}, "Note a1 moved to bar 3 beat 1 as D5"},
		{url.Values{"do": {"remove"}, "note": {"a1"}, "bar": {"3"}}, "D5 in bar 3 beat 1 taken out of the tune"},
	} {
		step.form.Set("revision", fmt.Sprint(i))
		s.fill(edit+"/decide", step.form, nil).wantStatus(t, http.StatusSeeOther)
		wantWords(t, string(s.do(ask{"GET", edit, nil, nil}).wantStatus(t, http.StatusOK).body), step.words)
	}
	bad := s.fill(edit+"/decide", url.Values{"do": {"add"}, "pitch": {"C5"}, "bar": {"2"}, "beat": {"4"}, "revision": {"3"}}, nil).wantStatus(t, http.StatusUnprocessableEntity)
	wantWords(t, string(bad.body), "Bar 2 has 3 beats", `id="add-beat" name="beat" min="1" step="any" value="4"`)
}
