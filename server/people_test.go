package main

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/arrange/tune/tunetest"
)

func TestATuneWithoutATitleGoesByTheNameOfItsFile(t *testing.T) {
	s := newSite(t)
	titled := string(tunetest.File(96, tunetest.Track(tunetest.Text(0, 3, "Evening"), tunetest.Note(0, 1, 72, 48))))
	for name, test := range map[string]struct {
		file, tune, title string
	}{
		"no title":        {"harbour bell.mid", string(scale(32)), "harbour bell"},
		"a title":         {"harbour bell.mid", titled, "Evening"},
		"markup":          {"<b>&.mid", string(scale(32)), "<b>&"},
		"an ending alone": {".mid", string(scale(32)), "Untitled tune"},
		"a long name":     {strings.Repeat("W", 300) + ".mid", string(scale(32)), strings.Repeat("W", 119) + "…"},
	} {
		t.Run(name, func(t *testing.T) {
			address := s.upload("/tunes", part{"tune", test.file, test.tune}).leads(t)
			if title := s.get(address).page(t).Find("h1").Text(); title != test.title {
				t.Errorf("the page is headed %q; want %q", title, test.title)
			}
			s.app.desk.kept = newDesk(s.store, s.app.config.Limits, 1).kept // as after a start
			if title := s.get(address).page(t).Find("h1").Text(); title != test.title {
				t.Errorf("opened again, the page is headed %q; want %q", title, test.title)
			}
			s.fill(address+"/decide", url.Values{"revision": {"0"}, "cylinder.gapDeg": {"20"}}, nil).leads(t)
			if title := s.get(address).page(t).Find("h1").Text(); title != test.title {
				t.Errorf("after a change the page is headed %q; want %q", title, test.title)
			}
		})
	}
}

func TestPagesSpeakOfFieldsInWords(t *testing.T) {
	s := newSite(t)
	p := s.create()
	for field, value := range map[string]string{"cylinder.diameterMm": "900", "comb.low": "C9", "drive.stages": "2 0 3", "title": strings.Repeat("x", 300)} {
		g := s.fill("/edit/"+p.edit()+"/decide", url.Values{"revision": {"0"}, field: {value}}, nil).wantStatus(t, http.StatusUnprocessableEntity)
		notice := g.page(t).Find("#problem").Text()
		if strings.Contains(notice, "/"+strings.ReplaceAll(field, ".", "/")) || strings.TrimSpace(notice) == "" {
			t.Errorf("%s: the page says %q", field, notice)
		}
	}
}

func TestRedoAndConflictsNameNotesByPitchAndPlace(t *testing.T) {
	s := newSite(t)
	p := s.create()
	s.decide(p.edit(), 0, `{"kind":"leave-out","note":"`+p.Tune.Notes[2].ID+`"}`).wantStatus(t, http.StatusOK)
	s.decide(p.edit(), 1, `{"kind":"undo"}`).wantStatus(t, http.StatusOK)
	page := s.get("/edit/" + p.edit()).page(t)
	wantWords(t, page.Find("#redo").AttrOr("title", ""), "in bar 1 beat 2 left out")
	late := s.fill("/edit/"+p.edit()+"/decide", url.Values{"revision": {"0"}, "title": {"mine"}}, asFragment).wantStatus(t, http.StatusPreconditionFailed)
	wantWords(t, late.page(t).Find("#problem").Text(), "in bar 1 beat 2 left out", "undo", "title mine")
}

func TestAFindingIsAskedForByItsID(t *testing.T) {
	s := newSite(t)
	p := s.create(tunePart, part{"setup", "", `{"transpose":{"min":0,"max":0},"comb":{"high":"B5"}}`})
	address := "/edit/" + p.edit()
	finding := s.get(address).page(t).Find(".changed .finding").First()
	id := strings.TrimPrefix(finding.AttrOr("id", ""), "finding-")
	if finding.Find("details").Length() != 1 {
		t.Fatal("the remedies of a change are not folded away")
	}
	asked := s.get(address+"?finding="+url.QueryEscape(id)).wantStatus(t, http.StatusOK).page(t)
	if asked.Find("#finding-"+id+" > .remedies").Length() != 1 {
		t.Error("the remedies that were asked for are folded away")
	}
}
