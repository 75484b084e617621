package main

import (
	"bytes"
	"net/http"
	"strings"
	"testing"
)

// at makes a site that gives out links of its own choice and keeps its data in a folder.
func at(folder string) func(*Config) {
	return func(c *Config) { c.Data, c.BaseURL = folder, "https://pins.example" }
}

func TestAnotherServerOnTheSameDataGivesTheSameBytes(t *testing.T) {
	folder := t.TempDir()
	first := newSite(t, at(folder))
	p := first.create(tunePart, part{"setup", "", `{"comb":{"teeth":9}}`})
	for i, decision := range []string{`{"kind":"leave-out","note":"` + p.Tune.Notes[1].ID + `"}`, setup("Evening"), `{"kind":"undo"}`, `{"kind":"redo"}`, `{"kind":"undo"}`} {
		first.decide(p.edit(), i, decision).wantStatus(t, http.StatusOK)
	}
	second := newSite(t, at(folder))
	// Files first, so that the second server derives them without remedies, then again from what the page has derived.
	addresses := []string{"/files/drill-map.html", "/files/holes.csv", "", "/files/drill-map.html"}
	for _, address := range addresses {
		a := first.get("/api/projects/"+p.edit()+address).wantStatus(t, http.StatusOK)
		b := second.get("/api/projects/"+p.edit()+address).wantStatus(t, http.StatusOK)
		if !bytes.Equal(a.body, b.body) {
			t.Errorf("%q differs between two servers", address)
		}
		if a.Header.Get("ETag") != `"5"` || b.Header.Get("ETag") != `"5"` {
			t.Errorf("ETags %q and %q; want revision 5", a.Header.Get("ETag"), b.Header.Get("ETag"))
		}
	}
	// Neither keeps an old revision at hand once the other has moved on.
	first.decide(p.edit(), 5, `{"kind":"redo"}`).wantStatus(t, http.StatusOK)
	if now := second.get("/api/projects/" + p.view()).project(t); now.Revision != 6 || now.Setup.Title != "Evening" {
		t.Errorf("the second server gives revision %d with the title %q", now.Revision, now.Setup.Title)
	}
	second.decide(p.edit(), 5, setup("late")).wantStatus(t, http.StatusPreconditionFailed).problem(t)
}

func TestAStoredProjectThatNoLongerWorksIsNoFaultOfTheReader(t *testing.T) {
	folder := t.TempDir()
	p := newSite(t, at(folder)).create()
	stricter := newSite(t, at(folder), func(c *Config) { c.Limits.Events = 1 })
	pr := stricter.get("/api/projects/"+p.edit()).wantStatus(t, http.StatusInternalServerError).problem(t)
	if pr.Request == "" || !strings.Contains(stricter.log.String(), pr.Request) {
		t.Errorf("the log does not hold request %q", pr.Request)
	}
	page := stricter.get("/view/"+p.view()).wantStatus(t, http.StatusInternalServerError).page(t)
	wantWords(t, page.Text(), "cannot be worked out", "kept as it is")
}
