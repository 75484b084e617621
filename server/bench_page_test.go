package main

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"path"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
)

// TestToolsAreChosenWithoutScript chooses a dividing head on the page of the tools, gives it other plates, is refused a ratio of 0 and sees why where it
// was asked for; the files then say how each hole is set.
func TestToolsAreChosenWithoutScript(t *testing.T) {
	s := newSite(t)
	p := s.create()
	address := "/edit/" + p.edit() + "/bench"
	page := s.get(address).wantStatus(t, http.StatusOK).page(t)
	if n := page.Find("#ways tbody tr").Length(); n != 7 {
		t.Errorf("%d ways to set an angle are shown; want 7", n)
	}
	if n := page.Find("#first li svg").Length(); n != 3 {
		t.Errorf("%d first holes are drawn; want 3", n)
	}
	form := page.Find("#ways form").First()
	action := form.AttrOr("action", "")
	var choice string
	form.Find("button").Each(func(i int, _ *goquery.Selection) {
		if button := form.Find("button").Eq(i); strings.Contains(button.Text(), "dividing head") {
			choice = button.AttrOr("value", "")
		}
	})
	if to := s.fill(action, url.Values{"revision": {"0"}, "decision": {choice}}, nil).leads(t); to != address {
		t.Errorf("the choice leads to %q", to)
	}
	page = s.get(address).page(t)
	wantWords(t, page.Find("#first").Text(), "circle", "on by")
	wantWords(t, page.Find("#ways").Text(), "chosen")
	tools := page.Find("form.setup")
	if _, hidden := tools.Find(`details [name="bench.headRatio"]`).Attr("name"); hidden || tools.Find(`[name="bench.headRatio"]`).Length() != 1 {
		t.Error("the ratio of the head that was chosen is folded away, or not there")
	}
	if to := s.fill(tools.AttrOr("action", ""), url.Values{"revision": {"1"}, "bench.headCircles": {"20 24 30"}}, nil).leads(t); to != address {
		t.Errorf("the plates lead to %q", to)
	}
	refused := s.fill(tools.AttrOr("action", ""), url.Values{"revision": {"2"}, "bench.headRatio": {"0"}}, nil).wantStatus(t, http.StatusUnprocessableEntity).page(t)
	wantWords(t, refused.Find("#problem").Text(), "give 1 to 1000")
	if field := refused.Find(`[name="bench.headRatio"]`); field.AttrOr("aria-invalid", "") != "true" || field.AttrOr("value", "") != "0" {
		t.Error("the field that was refused is not shown as it was filled in")
	}
	holes := string(s.get("/api/projects/"+p.edit()+"/files/holes.csv").wantStatus(t, http.StatusOK).body)
	wantWords(t, holes, "setTo", " circle")
	late := s.fill(tools.AttrOr("action", ""), url.Values{"revision": {"0"}, "bench.headRatio": {"60"}}, nil).wantStatus(t, http.StatusPreconditionFailed).page(t)
	wantWords(t, late.Find("#problem").Text(), "Someone else changed this project first")
	s.get("/view/"+p.view()+"/bench").wantStatus(t, http.StatusNotFound)
	s.get("/edit/"+p.view()+"/bench").wantStatus(t, http.StatusForbidden)
}

// TestTunesArePutOnTheCylinderWithoutScript puts the demo beside a tune, by its saved project, and takes it off again.
func TestTunesArePutOnTheCylinderWithoutScript(t *testing.T) {
	s := newSite(t)
	p := s.create()
	demo := path.Base(s.fill("/demo", nil, nil).leads(t))
	saved := string(s.get("/api/projects/"+demo+"/files/project.json").wantStatus(t, http.StatusOK).body)
	page := s.get("/edit/" + p.edit() + "/bench").page(t)
	action := page.Find(`#beside form`).AttrOr("action", "")
	if to := s.upload(action, part{"revision", "", "0"}, part{"layout", "", "shift"}, part{"project", "project.json", saved}).leads(t); to != "/edit/"+p.edit()+"/bench" {
		t.Errorf("it leads to %q", to)
	}
	page = s.get("/edit/" + p.edit() + "/bench").page(t)
	if n := page.Find("#beside .tunes > li").Length(); n != 2 {
		t.Fatalf("%d tunes are on the cylinder; want 2", n)
	}
	wantWords(t, page.Find("#beside").Text(), "The tin lighthouse", "0.50 mm farther from the bass-end face")
	rows := bytes.Count(s.get("/api/projects/"+p.edit()+"/files/holes.csv").body, []byte("\n"))
	if rows <= len(p.Pins)+1 {
		t.Errorf("holes.csv has %d lines for more than %d pins", rows, len(p.Pins))
	}
	var holes struct{ Holes []struct{ Tune string } }
	if err := json.Unmarshal([]byte(s.get("/edit/"+p.edit()+"/drill").page(t).Find("#drilling").Text()), &holes); err != nil || len(holes.Holes) != rows-1 {
		t.Errorf("%d holes to drill, %v; holes.csv has %d", len(holes.Holes), err, rows-1)
	}
	for name, test := range map[string]struct {
		parts  []part
		status int
		words  string
	}{
		"no file":             {[]part{{"revision", "", "1"}, {"layout", "", "shift"}}, 422, "saved as project.json"},
		"a tune as it is":     {[]part{{"revision", "", "1"}, {"layout", "", "shift"}, {"project", "a.mid", tunePart.content}}, 422, "saved as project.json"},
		"no project":          {[]part{{"revision", "", "1"}, {"layout", "", "shift"}, {"project", "a.json", `{"a": 1}`}}, 422, "schema"},
		"no way to share":     {[]part{{"revision", "", "1"}, {"layout", "", "pile"}, {"project", "a.json", saved}}, 422, "way to share"},
		"by a page that late": {[]part{{"revision", "", "0"}, {"layout", "", "shift"}, {"project", "a.json", saved}}, 412, "Someone else"},
	} {
		t.Run(name, func(t *testing.T) {
			wantWords(t, s.upload(action, test.parts...).wantStatus(t, test.status).page(t).Find("#message").Text(), test.words)
		})
	}
	off := page.Find("#beside .tunes form")
	if to := s.fill(off.AttrOr("action", ""), url.Values{"revision": {"1"}, "decision": {off.Find("button").AttrOr("value", "")}}, nil).leads(t); to != "/edit/"+p.edit()+"/bench" {
		t.Errorf("it leads to %q", to)
	}
	if n := s.get("/edit/" + p.edit() + "/bench").page(t).Find("#beside .tunes").Length(); n != 0 {
		t.Error("the tune that was taken off is still listed")
	}
}
