package main

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"testing"

	"pinwright/fixtures"
	"pinwright/pinmap/project"
)

func (g got) advice(t testing.TB) (a AdviceAnswer) {
	t.Helper()
	a.Advice = &project.Advice{}
	if err := json.Unmarshal(g.body, &a); err != nil {
		t.Fatalf("%s: %v", g.body, err)
	}
	return a
}

// shortComb is a given comb that loses some of tunePart.
var shortComb = part{"setup", "", `{"comb":{"mode":"fixed","pitches":["C5","D5","E5","F5","G5","A5","A5"]}}`}

func TestAdviceOfAnUploadAndOfAProjectAreTheSame(t *testing.T) {
	s := newSite(t)
	for name, parts := range map[string][]part{
		"a comb to be cut": {tunePart},
		"a given comb":     {tunePart, shortComb},
		"the demo":         {{"tune", "demo.mid", string(fixtures.DemoTune)}, {"setup", "", string(fixtures.DemoSetup)}},
	} {
		t.Run(name, func(t *testing.T) {
			fresh := s.upload("/api/advice", parts...).wantStatus(t, http.StatusOK)
			p := s.create(parts...)
			var texts [][]byte
			for _, token := range []string{p.edit(), p.view(), p.edit()} {
				g := s.get("/api/projects/"+token+"/advice").wantStatus(t, http.StatusOK)
				a := g.advice(t)
				if a.Revision != 0 || g.Header.Get("ETag") != `"0"` {
					t.Errorf("revision %d, ETag %s; want 0", a.Revision, g.Header.Get("ETag"))
				}
				text, err := json.Marshal(a.Advice)
				if err != nil {
					t.Fatal(err)
				}
				texts = append(texts, text)
			}
			for _, text := range texts {
				if !bytes.Equal(text, fresh.body) {
					t.Errorf("the project's advice is\n%s\nthe upload's\n%s", text, fresh.body)
				}
			}
		})
	}
}

func TestAdviceIsTakenAsADecision(t *testing.T) {
	s := newSite(t)
	p := s.create(tunePart, shortComb)
	a := s.get("/api/projects/" + p.edit() + "/advice").advice(t)
	if a.OneMore == nil || a.OneMore.ValueChange <= 0 {
		t.Fatalf("one more tooth is %+v; want it to bring something", a.OneMore)
	}
	decision, err := json.Marshal(a.OneMore.Decision)
	if err != nil {
		t.Fatal(err)
	}
	s.decide(p.edit(), 0, string(decision)).wantStatus(t, http.StatusOK)
	then := s.get("/api/projects/" + p.edit() + "/advice").advice(t)
	if then.Revision != 1 || then.Objective != a.Objective+a.OneMore.ValueChange || len(then.Teeth) != len(a.Teeth)+1 {
		t.Errorf("revision %d keeps %v with %d teeth; want 1, %v and %d", then.Revision, then.Objective, len(then.Teeth), a.Objective+a.OneMore.ValueChange, len(a.Teeth)+1)
	}
}

func TestAdviceIsRefusedWithAReason(t *testing.T) {
	s := newSite(t)
	s.get("/api/projects/unknown/advice").wantStatus(t, http.StatusNotFound).problem(t)
	s.do(ask{"POST", "/api/advice", []byte("{}"), map[string]string{"Content-Type": "application/json"}}).wantStatus(t, http.StatusUnsupportedMediaType).problem(t)
	for range cap(s.app.desk.gate.inside) {
		s.app.desk.gate.inside <- struct{}{}
	}
	busy := s.upload("/api/advice", tunePart).wantStatus(t, http.StatusServiceUnavailable)
	if busy.problem(t); busy.Header.Get("Retry-After") == "" {
		t.Error("a full gate does not say when to come again")
	}
}

func TestAdviceStandsOnThePageThatAsksForIt(t *testing.T) {
	s := newSite(t)
	p := s.create(tunePart, shortComb)
	for address, buttons := range map[string]bool{"/edit/" + p.edit(): true, "/view/" + p.view(): false} {
		if n := s.get(address).page(t).Find("#advice .chart").Length(); n != 0 {
			t.Errorf("%s has advice that nobody asked for", address)
		}
		advice := s.get(address+"?advice=1").wantStatus(t, http.StatusOK).page(t).Find("#advice")
		wantWords(t, advice.Text(), "One more tooth", "Value kept by number of teeth")
		if n := advice.Find("button").Length(); (n > 0) != buttons {
			t.Errorf("%s has %d buttons beside its advice", address, n)
		}
	}
	part := s.do(ask{"GET", "/edit/" + p.edit() + "?advice=1", nil, asFragment}).wantStatus(t, http.StatusOK).page(t)
	if part.Find("#advice .chart").Length() != 1 || part.Find("#fragment").Length() != 0 {
		t.Error("the script gets more than the advice")
	}
	take := part.Find("#advice button").First()
	s.fill("/edit/"+p.edit()+"/decide", url.Values{"revision": {"0"}, "decision": {take.AttrOr("value", "")}}, nil).leads(t)
	if now := s.get("/api/projects/" + p.edit()).project(t); now.Revision != 1 {
		t.Errorf("the advice was taken, and the project is at revision %d", now.Revision)
	}
}
