package main

import (
	"bytes"
	"image/png"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"pinwright/pinmap/bench"
)

func share(files string) string { return `{"kind":"setup","setup":{"share":{"files":` + files + `}}}` }

func TestPictureUnderEitherLink(t *testing.T) {
	s := newSite(t)
	p := s.create()
	var first []byte
	for _, address := range []string{"/edit/" + p.edit(), "/view/" + p.view()} {
		g := s.get(address+"/picture.png").wantStatus(t, http.StatusOK)
		if mediaType := g.Header.Get("Content-Type"); mediaType != "image/png" || g.Header.Get("ETag") != `"0"` || g.Header.Get("Cache-Control") != "private, no-cache" {
			t.Errorf("media type %q, ETag %s, Cache-Control %q", mediaType, g.Header.Get("ETag"), g.Header.Get("Cache-Control"))
		}
		size, err := png.DecodeConfig(bytes.NewReader(g.body))
		if err != nil || size.Width != 1200 || size.Height != 630 {
			t.Errorf("the picture is %d × %d, %v", size.Width, size.Height, err)
		}
		if first == nil {
			first = g.body
		} else if !bytes.Equal(g.body, first) {
			t.Error("the two links show two pictures")
		}
	}
	ask := func(tag string) got {
		return s.do(ask{method: "GET", path: "/view/" + p.view() + "/picture.png", header: map[string]string{"If-None-Match": tag}})
	}
	if g := ask(`"0"`).wantStatus(t, http.StatusNotModified); len(g.body) > 0 || g.Header.Get("ETag") != `"0"` {
		t.Errorf("%d bytes with ETag %s; want none, and the tag", len(g.body), g.Header.Get("ETag"))
	}
	s.decide(p.edit(), 0, setup("Another title")).wantStatus(t, http.StatusOK)
	if g := ask(`"0"`).wantStatus(t, http.StatusOK); bytes.Equal(g.body, first) || g.Header.Get("ETag") != `"1"` {
		t.Errorf("after a change the picture is the same or its ETag is %s", g.Header.Get("ETag"))
	}
	s.get("/view/nobody/picture.png").wantStatus(t, http.StatusNotFound).page(t)
}

func TestPreviewOfTheLinkToLookAt(t *testing.T) {
	s := newSite(t, func(c *Config) { c.BaseURL = "https://pins.example" })
	p := s.create()
	s.decide(p.edit(), 0, setup(`\"A <b>title\"`)).wantStatus(t, http.StatusOK)
	page := s.get("/view/"+p.view()).wantStatus(t, http.StatusOK).page(t)
	picture := "https://pins.example/view/" + p.view() + "/picture.png"
	for name, want := range map[string]string{
		`[property="og:title"]`: `"A <b>title"`, `[property="og:image"]`: picture, `[property="og:image:width"]`: "1200", `[name="twitter:card"]`: "summary_large_image",
	} {
		if content := page.Find("meta"+name).AttrOr("content", ""); content != want {
			t.Errorf("%s is %q; want %q", name, content, want)
		}
	}
	wantWords(t, page.Find(`meta[property="og:description"]`).AttrOr("content", ""), "teeth", "one turn in", "notes play")
	if _, address, _ := strings.Cut(picture, "https://pins.example"); s.get(address).StatusCode != http.StatusOK {
		t.Error("there is no picture at its address")
	}
	edit := s.get("/edit/"+p.edit()).wantStatus(t, http.StatusOK)
	if n := edit.page(t).Find(`meta[property], meta[name^="twitter"]`).Length(); n != 0 {
		t.Errorf("the edit page has %d tags for those who preview it; its address is a key", n)
	}
}

// TestMapCarriesTheViewLink: whoever finds the printed map may look and no more.
func TestMapCarriesTheViewLink(t *testing.T) {
	s := newSite(t, func(c *Config) { c.BaseURL = "https://pins.example" })
	p := s.create()
	link := "https://pins.example/view/" + p.view()
	code := bench.NewLinkCode(link)
	for _, address := range []string{"/edit/" + p.edit() + "/map", "/view/" + p.view() + "/map", "/api/projects/" + p.edit() + "/files/drill-map.html",
		"/api/projects/" + p.view() + "/files/drill-map.html?paper=a3"} {
		body := string(s.get(address).wantStatus(t, http.StatusOK).body)
		if !strings.Contains(body, `d="`+code.Path()+`"`) || !strings.Contains(body, "<p>"+link+"</p>") {
			t.Errorf("%s does not have the code of the link to look at, and the link beneath", strings.ReplaceAll(address, p.edit(), "EDIT"))
		}
		if strings.Contains(body, p.edit()) {
			t.Error("the map holds the edit token")
		}
	}
	if body := string(s.upload("/api/files/drill-map.html", tunePart).wantStatus(t, http.StatusOK).body); strings.Contains(body, "QR code") {
		t.Error("the map of a tune that is not stored has a code")
	}
	page := s.get("/edit/" + p.edit()).page(t)
	if n := page.Find(`#share svg.link-code path[d="` + code.Path() + `"]`).Length(); n != 1 {
		t.Errorf("the share section has %d codes of the link to look at", n)
	}
}

func TestFilesThatTheOwnerAllows(t *testing.T) {
	s := newSite(t)
	p := s.create()
	edit, view := "/edit/"+p.edit(), "/view/"+p.view()
	status := func(token, name string) int { return s.get("/api/projects/" + token + "/files/" + name).StatusCode }
	listed := func() (names []string) {
		s.get(view).wantStatus(t, http.StatusOK).page(t).Find("#bench .files a").Each(func(_ int, a *goquery.Selection) {
			names = append(names, a.AttrOr("href", "")[strings.LastIndex(a.AttrOr("href", ""), "/")+1:])
		})
		return names
	}
	for _, name := range bench.Names() {
		if got := status(p.view(), name); got != http.StatusOK {
			t.Errorf("%s answers %d where nothing was set", name, got)
		}
	}

	boxes := s.get(edit).page(t).Find(`#share input[type="checkbox"][name="share.files"]`)
	if boxes.Length() != len(bench.Names()) || boxes.Filter("[checked]").Length() != len(bench.Names()) {
		t.Errorf("%d boxes, %d ticked; want one ticked for each file", boxes.Length(), boxes.Filter("[checked]").Length())
	}
	s.fill(edit+"/decide", url.Values{"revision": {"0"}, "share.files": {"", "holes.csv", "comb.csv"}}, nil).leads(t)
	for _, name := range bench.Names() {
		want := http.StatusForbidden
		if name == "holes.csv" || name == "comb.csv" {
			want = http.StatusOK
		}
		if got := status(p.view(), name); got != want {
			t.Errorf("the view link answers %d for %s; want %d", got, name, want)
		}
		if got := status(p.edit(), name); got != http.StatusOK {
			t.Errorf("the edit link answers %d for %s", got, name)
		}
	}
	refused := s.get("/api/projects/"+p.view()+"/files/map.svg").wantStatus(t, http.StatusForbidden).problem(t)
	wantWords(t, refused.Title+" "+refused.Detail, "map.svg", "holes.csv, comb.csv", "edit link")
	wantWords(t, s.get(view+"/map").wantStatus(t, http.StatusForbidden).page(t).Text(), "does not give drill-map.html")
	s.get(edit+"/map").wantStatus(t, http.StatusOK)
	s.get("/api/projects/"+p.view()+"/files/nothing.pdf").wantStatus(t, http.StatusNotFound).problem(t)
	if names := listed(); !slices.Equal(names, []string{"holes.csv", "comb.csv"}) {
		t.Errorf("the share page lists %v", names)
	}
	if words := s.get(edit).page(t).Find("#decisions").Text(); !strings.Contains(words, "The link to look at gives comb.csv holes.csv") {
		t.Errorf("the decision reads %q", words)
	}

	// A copy is the project with every file, so it goes with project.json.
	if n := s.get(view).page(t).Find(`form[action$="/copy"]`).Length(); n != 0 {
		t.Error("the share page offers a copy")
	}
	wantWords(t, s.fill(view+"/copy", nil, nil).wantStatus(t, http.StatusForbidden).page(t).Text(), "does not give project.json")

	s.fill(edit+"/decide", url.Values{"revision": {"1"}, "share.files": {""}}, nil).leads(t)
	wantWords(t, s.get(view).page(t).Find("#bench").Text(), "This link gives no files")
	wantWords(t, s.get("/api/projects/"+p.view()+"/files/map.svg").problem(t).Detail, "no file at all")

	s.fill(edit+"/decide", url.Values{"revision": {"2"}, "share.files": append([]string{""}, bench.Names()...)}, nil).leads(t)
	if got := status(p.view(), "map.svg"); got != http.StatusOK {
		t.Errorf("with every box ticked, map.svg answers %d", got)
	}
	if body := s.get("/api/projects/" + p.view()).body; !bytes.Contains(body, []byte(`"share":{"files":null}`)) {
		t.Error("every box ticked is not the same as none set: a file of a later version would be held back")
	}
	s.fill(view+"/copy", nil, nil).leads(t)

	unknown := s.decide(p.edit(), 3, share(`["holes.csv","plan.pdf"]`)).wantStatus(t, http.StatusUnprocessableEntity).problem(t)
	if !strings.HasSuffix(unknown.Pointer, "/share/files/1") {
		t.Errorf("an unknown file is pointed at by %q", unknown.Pointer)
	}
	s.decide(p.edit(), 3, `{"kind":"undo"}`).wantStatus(t, http.StatusOK)
	if got := status(p.view(), "map.svg"); got != http.StatusForbidden {
		t.Errorf("after undo, map.svg answers %d", got)
	}
}
