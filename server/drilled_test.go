package main

import (
	"encoding/json"
	"net/http"
	"strconv"
	"testing"

	"pinwright/pinmap/project"
)

func (s *site) post(address, body string) got {
	s.t.Helper()
	return s.do(ask{"POST", address, []byte(body), map[string]string{"Content-Type": "application/json"}})
}

func TestMarksOfDrilledHoles(t *testing.T) {
	s := newSite(t)
	p := s.create()
	address := "/api/projects/" + p.edit() + "/drilled"
	for _, row := range []struct{ name, body, want string }{
		{"none", `{}`, `{"holes":[]}`},
		{"two", `{"drilled":[{"axialMm":2.5,"angleDeg":9},{"axialMm":1.5,"angleDeg":123.45678}]}`, `{"holes":[{"axialMm":1.5,"angleDeg":123.457},{"axialMm":2.5,"angleDeg":9}]}`},
		{"again, and one not", `{"drilled":[{"axialMm":2.5,"angleDeg":9.0001}],"undrilled":[{"axialMm":1.5,"angleDeg":123.457}]}`, `{"holes":[{"axialMm":2.5,"angleDeg":9}]}`},
		{"nearly a whole turn is the datum line", `{"drilled":[{"axialMm":2.5,"angleDeg":359.9999}],"undrilled":[{"axialMm":2.5,"angleDeg":9}]}`, `{"holes":[{"axialMm":2.5,"angleDeg":0}]}`},
		{"a whole turn is the datum line", `{"drilled":[{"axialMm":2.5,"angleDeg":360}],"undrilled":[{"axialMm":2.5,"angleDeg":9}]}`, `{"holes":[{"axialMm":2.5,"angleDeg":0}]}`},
	} {
		if got := s.post(address, row.body).wantStatus(t, http.StatusOK); string(got.body) != row.want {
			t.Errorf("%s: %s; want %s", row.name, got.body, row.want)
		}
		if got := s.get("/api/projects/"+p.view()+"/drilled").wantStatus(t, http.StatusOK); string(got.body) != row.want {
			t.Errorf("%s: the view link reads %s", row.name, got.body)
		}
	}
	if got := s.get("/api/projects/" + p.edit()).project(t).Revision; got != 0 {
		t.Errorf("marks made the revision %d", got)
	}
	for _, row := range []struct {
		name, address, body string
		status              int
	}{
		{"by the view link", "/api/projects/" + p.view() + "/drilled", `{}`, http.StatusForbidden},
		{"of no project", "/api/projects/none/drilled", `{}`, http.StatusNotFound},
		{"beyond the turn", address, `{"drilled":[{"axialMm":1,"angleDeg":361}]}`, http.StatusUnprocessableEntity},
		{"before the face", address, `{"undrilled":[{"axialMm":-1,"angleDeg":1}]}`, http.StatusUnprocessableEntity},
		{"a field that is not", address, `{"bored":[]}`, http.StatusUnprocessableEntity},
		{"no JSON", address, `{`, http.StatusUnprocessableEntity},
	} {
		t.Run(row.name, func(t *testing.T) { s.post(row.address, row.body).wantStatus(t, row.status) })
	}
}

func TestWaysOutOfASpoiledHole(t *testing.T) {
	s := newSite(t)
	p := s.create()
	address := "/api/projects/" + p.edit() + "/spoiled"
	var answer SpoiledAnswer
	if err := json.Unmarshal(s.post(address, `{"pin":1,"angleDeg":`+thousandth(p.Pins[0].AngleDeg+0.1)+`}`).wantStatus(t, http.StatusOK).body, &answer); err != nil {
		t.Fatal(err)
	}
	kinds := map[project.WayKind]bool{}
	for _, w := range answer.Ways {
		kinds[w.Kind] = true
		if w.Kind == project.UseHole {
			decision, err := json.Marshal(w.Decision)
			if err != nil {
				t.Fatal(err)
			}
			then := s.decide(p.edit(), 0, string(decision)).wantStatus(t, http.StatusOK).project(t)
			if got := then.Pins[0].AngleDeg - p.Pins[0].AngleDeg; got < 0.099 || got > 0.101 {
				t.Errorf("the pin moves by %v°", got)
			}
		}
	}
	if !kinds[project.UseHole] || !kinds[project.Plug] || !kinds[project.NewDatum] {
		t.Errorf("the ways out are %v", kinds)
	}
	for _, row := range []struct {
		name, address, body string
		status              int
	}{
		{"by the view link", "/api/projects/" + p.view() + "/spoiled", `{"pin":1,"angleDeg":1}`, http.StatusForbidden},
		{"no such hole", address, `{"pin":9999,"angleDeg":1}`, http.StatusUnprocessableEntity},
		{"where it belongs", address, `{"pin":2,"angleDeg":` + strconv.FormatFloat(p.Pins[1].AngleDeg, 'f', -1, 64) + `}`, http.StatusUnprocessableEntity},
		{"no JSON", address, `[]`, http.StatusUnprocessableEntity},
	} {
		t.Run(row.name, func(t *testing.T) { s.post(row.address, row.body).wantStatus(t, row.status) })
	}
}
