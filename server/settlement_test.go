package main

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/pinmap/project"
)

func (g got) settlement(t testing.TB) (a SettlementAnswer) {
	t.Helper()
	a.Settlement = &project.Settlement{}
	if err := json.Unmarshal(g.body, &a); err != nil {
		t.Fatalf("%s: %v", g.body, err)
	}
	return a
}

// crowded is a setup in which two teeth may not be released within the same half second.
var crowded = part{"setup", "", `{"limits":{"maxTogether":1,"togetherMs":500}}`}

func TestASettlementIsPreviewedTakenAndTakenBack(t *testing.T) {
	s := newSite(t)
	p := s.create(tunePart, crowded)
	g := s.get("/api/projects/"+p.edit()+"/settlement").wantStatus(t, http.StatusOK)
	preview := g.settlement(t)
	if g.Header.Get("ETag") != `"0"` || preview.Revision != 0 || preview.Decision == nil || preview.Before.Blocking <= preview.After.Blocking {
		t.Fatalf("ETag %s, revision %d, %+v, then %+v", g.Header.Get("ETag"), preview.Revision, preview.Before, preview.After)
	}
	if again := s.get("/api/projects/"+p.view()+"/settlement").wantStatus(t, http.StatusOK); string(again.body) != string(g.body) {
		t.Error("the view link shows another preview")
	}
	if now := s.get("/api/projects/" + p.edit()).project(t); now.Revision != 0 {
		t.Fatalf("looking made revision %d", now.Revision)
	}
	before := s.get("/api/projects/" + p.edit() + "/files/holes.csv").body
	decision, err := json.Marshal(preview.Decision)
	if err != nil {
		t.Fatal(err)
	}
	var then struct {
		Arrangement struct{ Objective float64 }
		Findings    []struct{ ID string }
	}
	if err := json.Unmarshal(s.decide(p.edit(), 0, string(decision)).wantStatus(t, http.StatusOK).body, &then); err != nil {
		t.Fatal(err)
	}
	if then.Arrangement.Objective != preview.After.Objective || len(then.Findings) != len(preview.Left) {
		t.Errorf("%v with %d findings; the preview says %v with %d", then.Arrangement.Objective, len(then.Findings), preview.After.Objective, len(preview.Left))
	}
	s.decide(p.edit(), 1, `{"kind":"undo"}`).wantStatus(t, http.StatusOK)
	if after := s.get("/api/projects/" + p.edit() + "/files/holes.csv").body; string(after) != string(before) {
		t.Error("one undo does not bring the holes back")
	}
	s.get("/api/projects/unknown/settlement").wantStatus(t, http.StatusNotFound).problem(t)
}

func TestSettlingEverythingWithoutScript(t *testing.T) {
	s := newSite(t)
	address := s.fill("/demo", nil, nil).leads(t)
	page := s.get(address).page(t)
	at, _, _ := strings.Cut(page.Find("#settlement a").AttrOr("href", ""), "#")
	preview := s.get(at).wantStatus(t, http.StatusOK).page(t).Find("#settlement")
	wantWords(t, preview.Text(), "would be taken", "Do all of this", "Leave it as it is", "Nothing would be left in the way")
	form := preview.Find("form")
	s.fill(form.AttrOr("action", ""), url.Values{"revision": {form.Find("[name=revision]").AttrOr("value", "")},
		"decision": {form.Find("button").AttrOr("value", "")}}, nil).leads(t)
	then := s.get(address).page(t)
	wantWords(t, then.Find("#verdict").Text(), "Clear to drill.")
	s.fill(address+"/decide", url.Values{"revision": {then.Find("[name=revision]").AttrOr("value", "")}, "decision": {`{"kind":"undo"}`}}, nil).leads(t)
	wantWords(t, s.get(address).page(t).Find("#verdict").Text(), "Not clear to drill")
	part := s.do(ask{"GET", address + "?settle=1", nil, asFragment}).wantStatus(t, http.StatusOK).page(t)
	if part.Find("#settlement form").Length() != 1 || part.Find("#fragment").Length() != 0 {
		t.Error("the script gets more than the preview")
	}
}
