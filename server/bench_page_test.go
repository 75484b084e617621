package main

import (
	"net/http"
	"net/url"
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
