package main

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"pinwright/web"
)

// page reads an answer as HTML.
func (g got) page(t testing.TB) *goquery.Document {
	t.Helper()
	if mediaType := g.Header.Get("Content-Type"); mediaType != "text/html; charset=utf-8" {
		t.Fatalf("media type %q; want a page: %.200s", mediaType, g.body)
	}
	doc, err := goquery.NewDocumentFromReader(bytes.NewReader(g.body))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// leads gives where a redirection leads.
func (g got) leads(t testing.TB) string {
	t.Helper()
	return g.wantStatus(t, http.StatusSeeOther).Header.Get("Location")
}

func setup(title string) string { return `{"kind":"setup","setup":{"title":"` + title + `"}}` }

var asFragment = map[string]string{web.FragmentHeader: "1"}

func TestUploadFromTheFirstPage(t *testing.T) {
	s := newSite(t)
	first := s.get("/").wantStatus(t, http.StatusOK).page(t)
	if n := first.Find(`form[action="/tunes"][method="post"][enctype="multipart/form-data"] input[type="file"][name="tune"]`).Length(); n != 1 {
		t.Errorf("%d forms take a tune; want 1", n)
	}
	if n := first.Find(`form[action="/demo"][method="post"]`).Length(); n < 1 {
		t.Error("no form opens the demo")
	}

	address := s.upload("/tunes", tunePart).leads(t)
	if !regexp.MustCompile(`^/edit/[\w-]{32}$`).MatchString(address) {
		t.Fatalf("an upload leads to %q", address)
	}
	page := s.get(address).wantStatus(t, http.StatusOK).page(t)
	if n := page.Find(`form[action="` + address + `/decide"] input[name="revision"][value="0"]`).Length(); n == 0 {
		t.Error("no form of the page makes a decision on revision 0")
	}

	for name, test := range map[string]struct {
		parts  []part
		status int
		words  []string
	}{
		"no file":    {nil, 422, []string{"The tune is missing"}},
		"not a tune": {[]part{{"tune", "a.txt", "some words"}}, 422, []string{"not a Standard MIDI File"}},
		"too large":  {[]part{{"tune", "a.mid", strings.Repeat("x", 9<<20)}}, 413, []string{"8 MiB"}},
	} {
		t.Run(name, func(t *testing.T) {
			refused := s.upload("/tunes", test.parts...).wantStatus(t, test.status).page(t)
			wantWords(t, refused.Text(), test.words...)
			if refused.Find(`form[action="/tunes"]`).Length() != 1 {
				t.Error("the page offers no second try")
			}
		})
	}
	if projects, _ := s.stored(); projects != 1 {
		t.Errorf("%d projects are stored; want 1", projects)
	}
}

func TestDemoOpensInOneStep(t *testing.T) {
	s := newSite(t)
	first, second := s.fill("/demo", nil, nil).leads(t), s.fill("/demo", nil, nil).leads(t)
	if first == second {
		t.Error("two visitors share one demo")
	}
	s.get(first).wantStatus(t, http.StatusOK).page(t)
	demo := s.get("/api/projects/" + path.Base(first))
	if p := demo.project(t); p.Revision != len(p.Decisions) || len(p.Pins) == 0 || !bytes.Contains(demo.body, []byte(`"kind":"off-comb"`)) {
		t.Errorf("the demo has %d decisions at revision %d and %d pins; want its off-comb note among the findings", len(p.Decisions), p.Revision, len(p.Pins))
	}
}

func TestChangeByFormWithoutScript(t *testing.T) {
	s := newSite(t)
	p := s.create()
	address := "/edit/" + p.edit()
	steps := []struct {
		name   string
		fields url.Values
		title  string
	}{
		{"a decision as JSON", url.Values{"revision": {"0"}, "decision": {setup("first")}}, "first"},
		{"fields of the setup", url.Values{"revision": {"1"}, "title": {"second"}}, "second"},
		{"undo", url.Values{"revision": {"2"}, "decision": {`{"kind":"undo"}`}}, "first"},
		{"redo", url.Values{"revision": {"3"}, "decision": {`{"kind":"redo"}`}}, "second"},
	}
	for _, step := range steps {
		if to := s.fill(address+"/decide", step.fields, nil).leads(t); to != address {
			t.Errorf("%s leads to %q; want %q", step.name, to, address)
		}
		if got := s.get("/api/projects/" + p.edit()).project(t).Setup.Title; got != step.title {
			t.Errorf("%s: the title is %q; want %q", step.name, got, step.title)
		}
	}
	multipart := s.upload(address+"/decide", part{"revision", "", "4"}, part{"title", "", "third"})
	if to := multipart.leads(t); to != address {
		t.Errorf("a multipart form leads to %q", to)
	}
}

func TestChangeByScriptGivesTheFragment(t *testing.T) {
	s := newSite(t)
	p := s.create()
	address := "/edit/" + p.edit() + "/decide"
	g := s.fill(address, url.Values{"revision": {"0"}, "decision": {setup("first")}}, asFragment).wantStatus(t, http.StatusOK)
	if bytes.Contains(g.body, []byte("<html")) || g.page(t).Find(`input[name="revision"][value="1"]`).Length() == 0 {
		t.Error("the answer is not the fragment of revision 1")
	}
}

// TestPanelOfANote asks for a note's panel and decides in it, without the page's script and with it: it stays open.
func TestPanelOfANote(t *testing.T) {
	s := newSite(t)
	address := s.upload("/tunes", tunePart).leads(t)
	page := s.get(address).wantStatus(t, http.StatusOK).page(t)
	if n := page.Find(".panel").Length(); n != 0 {
		t.Errorf("%d panels are open that nobody asked for", n)
	}
	link := page.Find(".notes .line").First().AttrOr("href", "")
	asked, hash, _ := strings.Cut(link, "#")
	panel := s.get(asked).wantStatus(t, http.StatusOK).page(t).Find("#open-note > #" + hash)
	if panel.Length() != 1 {
		t.Fatalf("%q has %d panels", link, panel.Length())
	}
	part := s.do(ask{path: asked, header: asFragment}).wantStatus(t, http.StatusOK).page(t)
	if part.Find("#open-note > #"+hash).Length() != 1 || part.Find("#drawing").Length() != 0 {
		t.Error("the script is not answered with the panel alone")
	}
	if n := s.do(ask{path: address + "?note=none", header: asFragment}).wantStatus(t, http.StatusOK).page(t).Find("#open-note").Children().Length(); n != 0 {
		t.Error("a note that is not there has a panel")
	}

	form := panel.Find("form").First()
	fields := url.Values{"revision": {"0"}, "do": {"leave-out"}, "note": {form.Find(`input[name="note"]`).AttrOr("value", "")}}
	if to := s.fill(form.AttrOr("action", ""), fields, nil).leads(t); to != link {
		t.Errorf("a change made in the panel leads to %q; want %q", to, link)
	}
	fields.Set("revision", "1")
	if n := s.fill(form.AttrOr("action", ""), fields, asFragment).wantStatus(t, http.StatusOK).page(t).Find("#fragment #" + hash).Length(); n != 1 {
		t.Errorf("the page with the change has %d panels of the note; want 1", n)
	}
	fields.Set("do", "place")
	fields.Set("tooth", "no")
	fields.Set("revision", "2")
	if n := s.fill(form.AttrOr("action", ""), fields, nil).wantStatus(t, http.StatusUnprocessableEntity).page(t).Find("#fragment #" + hash).Length(); n != 1 {
		t.Errorf("the page of a change that was refused has %d panels of the note; want 1", n)
	}
}

func TestTheSecondEditorOfAPageSeesWhatChanged(t *testing.T) {
	s := newSite(t)
	p := s.create()
	address := "/edit/" + p.edit() + "/decide"
	note := p.Tune.Notes[2].ID
	s.decide(p.edit(), 0, `{"kind":"leave-out","note":"`+note+`"}`).wantStatus(t, http.StatusOK)
	words := s.get("/api/projects/" + p.edit()).project(t).Decisions[0].Text

	late := url.Values{"revision": {"0"}, "title": {"mine"}}
	for name, header := range map[string]map[string]string{"fragment": asFragment, "page": nil} {
		t.Run(name, func(t *testing.T) {
			g := s.fill(address, late, header).wantStatus(t, http.StatusPreconditionFailed)
			wantWords(t, g.page(t).Text(), words)
			if bytes.Contains(g.body, []byte("<html")) != (header == nil) {
				t.Error("a page was asked for and a fragment given, or the other way round")
			}
			if g.Header.Get("ETag") != `"1"` {
				t.Errorf("ETag %q", g.Header.Get("ETag"))
			}
		})
	}
	// With undo among the changes the words are plainer, but they are there.
	s.decide(p.edit(), 1, `{"kind":"undo"}`).wantStatus(t, http.StatusOK)
	wantWords(t, s.fill(address, late, asFragment).wantStatus(t, http.StatusPreconditionFailed).page(t).Text(), "undo")
	if title := s.get("/api/projects/" + p.edit()).project(t).Setup.Title; title != "" {
		t.Errorf("the late change was made: title %q", title)
	}
}

// A form holds every field of its section. What it did not change must not be taken for a change when someone else changed it.
func TestALateFormOffersOnlyWhatItChanged(t *testing.T) {
	s := newSite(t)
	p := s.create()
	s.decide(p.edit(), 0, `{"kind":"setup","setup":{"cylinder":{"gapDeg":30}}}`).wantStatus(t, http.StatusOK)
	late := url.Values{"revision": {"0"}, "cylinder.gapDeg": {"18"}, "cylinder.diameterMm": {"14"}}
	g := s.fill("/edit/"+p.edit()+"/decide", late, asFragment).wantStatus(t, http.StatusPreconditionFailed)
	offered := g.page(t).Find(`[name="decision"]`).FilterFunction(func(_ int, i *goquery.Selection) bool {
		return strings.Contains(i.AttrOr("value", ""), "diameterMm")
	})
	if offered.Length() == 0 {
		t.Fatal("the late change is not offered again")
	}
	if value := offered.AttrOr("value", ""); strings.Contains(value, "gapDeg") {
		t.Errorf("the late form would set the gap back: %s", value)
	}
}

func TestRefusedChangesStandOnThePage(t *testing.T) {
	s := newSite(t)
	p := s.create()
	address := "/edit/" + p.edit() + "/decide"
	tests := []struct {
		name   string
		fields url.Values
		status int
		words  []string
	}{
		{"a figure out of range", url.Values{"revision": {"0"}, "cylinder.diameterMm": {"2"}}, 422, []string{"400"}},
		{"a figure that is none", url.Values{"revision": {"0"}, "cylinder.diameterMm": {"thick"}}, 422, []string{"thick"}},
		{"nothing to undo", url.Values{"revision": {"0"}, "decision": {`{"kind":"undo"}`}}, 422, []string{"no decision to take back"}},
		{"no decision", url.Values{"revision": {"0"}, "decision": {"{"}}, 422, []string{"no decision that can be read"}},
		{"no change", url.Values{"revision": {"0"}, "title": {""}}, 422, []string{"nothing to change"}},
		{"no revision", url.Values{"title": {"x"}}, 428, []string{"revision"}},
		{"no form", nil, 415, []string{"form"}},
		{"too long", url.Values{"revision": {"0"}, "title": {strings.Repeat("x", maxSetup)}}, 413, []string{"512 KiB"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			g := s.fill(address, test.fields, nil).wantStatus(t, test.status)
			wantWords(t, g.page(t).Text(), test.words...)
		})
	}
	if _, decisions := s.stored(); decisions != 0 {
		t.Errorf("%d decisions are stored; want none", decisions)
	}
}

func TestViewPageShowsAndLeadsNowhereElse(t *testing.T) {
	s := newSite(t)
	p := s.create(tunePart, part{"setup", "", `{"title":"Evening"}`})
	g := s.get("/view/"+p.view()).wantStatus(t, http.StatusOK)
	wantWords(t, g.page(t).Text(), "Evening")
	if bytes.Contains(g.body, []byte(p.edit())) || bytes.Contains(g.body, []byte("/edit/")) {
		t.Error("the view page leads to the edit page")
	}
	if to := s.get("/view/" + p.edit()).leads(t); to != "/view/"+p.view() {
		t.Errorf("the edit token on the view page leads to %q; want the view address", to)
	}
	for _, refused := range []got{
		s.get("/edit/" + p.view()),
		s.fill("/edit/"+p.view()+"/decide", url.Values{"revision": {"0"}, "title": {"x"}}, nil),
	} {
		wantWords(t, refused.wantStatus(t, http.StatusForbidden).page(t).Text(), "can only look")
	}
	for _, address := range []string{"/view/nobody", "/edit/nobody", "/view/nobody/map", "/nothing"} {
		s.get(address).wantStatus(t, http.StatusNotFound).page(t)
	}
}

func TestACopyIsIndependent(t *testing.T) {
	s := newSite(t)
	p := s.create()
	s.decide(p.edit(), 0, setup("shared")).wantStatus(t, http.StatusOK)
	copied := path.Base(s.fill("/view/"+p.view()+"/copy", nil, nil).leads(t))
	if mine := s.get("/api/projects/" + copied).project(t); mine.Setup.Title != "shared" || mine.Revision != 1 {
		t.Errorf("the copy has the title %q at revision %d; want what was shared, at 1", mine.Setup.Title, mine.Revision)
	}
	s.decide(copied, 1, setup("mine")).wantStatus(t, http.StatusOK)
	s.decide(p.edit(), 1, setup("yours")).wantStatus(t, http.StatusOK)
	for token, want := range map[string]string{copied: "mine", p.edit(): "yours", p.view(): "yours"} {
		if title := s.get("/api/projects/" + token).project(t).Setup.Title; title != want {
			t.Errorf("the title is %q; want %q", title, want)
		}
	}
	s.fill("/view/nobody/copy", nil, nil).wantStatus(t, http.StatusNotFound).page(t)
}

func TestMapOpensInTheBrowser(t *testing.T) {
	s := newSite(t)
	p := s.create()
	saved := s.get("/api/projects/" + p.view() + "/files/drill-map.html?paper=a3")
	for _, address := range []string{"/edit/" + p.edit(), "/view/" + p.view()} {
		g := s.get(address+"/map?paper=a3").wantStatus(t, http.StatusOK)
		if !bytes.Equal(g.body, saved.body) || g.Header.Get("Content-Disposition") != "" {
			t.Error("the map that opens is not the one that is saved")
		}
		wantWords(t, s.get(address+"/map?paper=a5").wantStatus(t, http.StatusUnprocessableEntity).page(t).Text(), "a5", "letter")
	}
}

func TestPagesLinkToFilesThatAreThere(t *testing.T) {
	s := newSite(t)
	p := s.create()
	for _, address := range []string{"/edit/" + p.edit(), "/view/" + p.view(), "/"} {
		page := s.get(address).page(t)
		links := page.Find("a[href], link[href], script[src], img[src]")
		if links.Length() == 0 {
			t.Fatalf("%s has no links", address)
		}
		links.Each(func(_ int, link *goquery.Selection) {
			to := link.AttrOr("href", link.AttrOr("src", ""))
			if strings.HasPrefix(to, "#") || strings.HasPrefix(to, "data:") {
				return
			}
			if !strings.HasPrefix(to, "/") {
				t.Errorf("%s links to %q, which is elsewhere", address, to)
				return
			}
			if g := s.get(to); g.StatusCode != http.StatusOK && g.StatusCode != http.StatusSeeOther {
				t.Errorf("%s links to %q, which answers %d", address, to, g.StatusCode)
			}
		})
	}
}

// TestTry: what a decision would do is told to those who may make it, and nothing comes of it.
func TestTry(t *testing.T) {
	s := newSite(t)
	p := s.create(tunePart)
	note := p.Tune.Notes[3].ID
	leaveOut := url.Values{"decision": {`{"kind":"leave-out","note":"` + note + `"}`}}
	address := "/edit/" + p.edit() + "/try"
	g := s.fill(address, leaveOut, nil).wantStatus(t, http.StatusOK)
	var scene struct {
		Pins struct{ Note []string }
		Left []struct{ Note string }
	}
	if err := json.Unmarshal(g.body, &scene); err != nil {
		t.Fatal(err)
	}
	if slices.Contains(scene.Pins.Note, note) || len(scene.Left) != 1 || scene.Left[0].Note != note {
		t.Errorf("with %s left out the pins are %v, left out are %v", note, scene.Pins.Note, scene.Left)
	}
	if _, decisions := s.stored(); decisions != 0 {
		t.Errorf("%d decisions are stored", decisions)
	}
	if now := s.get("/api/projects/" + p.edit()).project(t); now.Revision != 0 || len(now.Decisions) != 0 {
		t.Errorf("the project stands at revision %d with %v", now.Revision, now.Decisions)
	}
	for name, row := range map[string]struct {
		token  string
		fields url.Values
		status int
	}{
		"a view link":                {p.view(), leaveOut, http.StatusForbidden},
		"an unknown link":            {strings.Repeat("x", len(p.edit())), leaveOut, http.StatusNotFound},
		"a note that is not there":   {p.edit(), url.Values{"decision": {`{"kind":"leave-out","note":"n999"}`}}, http.StatusUnprocessableEntity},
		"nothing that can be read":   {p.edit(), url.Values{"decision": {"{"}}, http.StatusUnprocessableEntity},
		"nothing that would be new":  {p.edit(), url.Values{"title": {""}}, http.StatusUnprocessableEntity},
		"an undo with nothing to do": {p.edit(), url.Values{"decision": {`{"kind":"undo"}`}}, http.StatusUnprocessableEntity},
	} {
		t.Run(name, func(t *testing.T) {
			s.fill("/edit/"+row.token+"/try", row.fields, nil).wantStatus(t, row.status)
		})
	}
}
