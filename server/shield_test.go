package main

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

func TestEveryAnswerCarriesItsHeaders(t *testing.T) {
	s := newSite(t)
	p := s.create()
	for _, address := range []string{"/", "/nothing", "/edit/" + p.edit(), "/view/" + p.view(), "/api/projects/" + p.edit(), "/api/nothing", "/healthz"} {
		h := s.get(address).Header
		for name, want := range map[string]string{
			"Content-Security-Policy": policy,
			"Referrer-Policy":         "no-referrer",
			"X-Content-Type-Options":  "nosniff",
			"Cache-Control":           "no-store",
			"Set-Cookie":              "",
		} {
			if got := h.Get(name); got != want {
				t.Errorf("%s has %s %q; want %q", address, name, got, want)
			}
		}
	}
	for _, address := range []string{"/edit/" + p.edit() + "/map", "/view/" + p.view() + "/map"} {
		if got := s.get(address).Header.Get("Content-Security-Policy"); got != mapPolicy || strings.Contains(got, "script") {
			t.Errorf("%s has the policy %q", address, got)
		}
	}
}

func TestPagesHoldNoScriptOrStyleOfTheirOwn(t *testing.T) {
	s := newSite(t)
	p := s.create()
	late := url.Values{"revision": {"9"}, "title": {"x"}}
	answers := map[string]got{
		"home":     s.get("/"),
		"edit":     s.get("/edit/" + p.edit()),
		"view":     s.get("/view/" + p.view()),
		"error":    s.get("/nothing"),
		"upload":   s.upload("/tunes"),
		"conflict": s.fill("/edit/"+p.edit()+"/decide", late, nil),
		"fragment": s.fill("/edit/"+p.edit()+"/decide", url.Values{"revision": {"0"}, "title": {"x"}}, asFragment),
	}
	for name, g := range answers {
		page := g.page(t)
		if n := page.Find("style, [style], base, iframe, object, embed").Length(); n > 0 {
			t.Errorf("%s: %d styles or frames of its own", name, n)
		}
		page.Find("script").Each(func(_ int, script *goquery.Selection) {
			if script.AttrOr("type", "") != "application/json" && script.AttrOr("src", "") == "" {
				t.Errorf("%s: a script of its own: %s", name, script.Text())
			}
		})
		page.Find("*").Each(func(_ int, e *goquery.Selection) {
			for _, a := range e.Nodes[0].Attr {
				if strings.HasPrefix(strings.ToLower(a.Key), "on") || strings.HasPrefix(strings.ToLower(a.Val), "javascript:") {
					t.Errorf("%s: a script in the attribute %s", name, a.Key)
				}
			}
		})
	}
}

func TestOtherSitesAreRefused(t *testing.T) {
	s := newSite(t)
	p := s.create()
	addresses := []string{"/tunes", "/demo", "/edit/" + p.edit() + "/decide", "/view/" + p.view() + "/copy",
		"/api/arrange", "/api/projects", "/api/projects/" + p.edit() + "/decisions", "/api/files/holes.csv", "/api/tooth"}
	foreign := []map[string]string{
		{"Sec-Fetch-Site": "cross-site"},
		{"Sec-Fetch-Site": "same-site"},
		{"Origin": "https://elsewhere.example"},
	}
	for _, address := range addresses {
		for _, header := range foreign {
			g := s.fill(address, url.Values{"revision": {"0"}, "title": {"x"}}, header).wantStatus(t, http.StatusForbidden)
			if strings.HasPrefix(address, "/api/") {
				g.problem(t)
			} else {
				g.page(t)
			}
		}
	}
	if projects, decisions := s.stored(); projects != 1 || decisions != 0 {
		t.Errorf("%d projects and %d decisions are stored; want 1 and none", projects, decisions)
	}
	s.fill("/demo", nil, map[string]string{"Sec-Fetch-Site": "same-origin"}).wantStatus(t, http.StatusSeeOther)
	s.fill("/demo", nil, map[string]string{"Origin": s.URL}).wantStatus(t, http.StatusSeeOther)

	behindProxy := newSite(t, func(c *Config) { c.BaseURL = "https://pins.example" })
	behindProxy.fill("/demo", nil, map[string]string{"Origin": "https://pins.example"}).wantStatus(t, http.StatusSeeOther)
}

func TestRatesAreLimited(t *testing.T) {
	s := newSite(t, func(c *Config) { c.Rates = Rates{Requests: 6, Changes: 2} })
	for range 2 {
		s.upload("/api/arrange", tunePart).wantStatus(t, http.StatusOK)
	}
	refused := func(g got) got {
		t.Helper()
		g.wantStatus(t, http.StatusTooManyRequests)
		if g.Header.Get("Retry-After") != "60" {
			t.Errorf("Retry-After %q; want 60", g.Header.Get("Retry-After"))
		}
		return g
	}
	refused(s.upload("/api/arrange", tunePart)).problem(t)
	refused(s.fill("/demo", nil, nil)).page(t)
	s.get("/").wantStatus(t, http.StatusOK)
	s.get("/api/openapi.json").wantStatus(t, http.StatusOK)
	refused(s.get("/")).page(t)
	refused(s.get("/api/openapi.json")).problem(t)
	s.get("/healthz").wantStatus(t, http.StatusOK) // whoever watches the server is not turned away
}

func TestTooManyDerivationsAreTurnedAway(t *testing.T) {
	s := newSite(t)
	started, finish := make(chan struct{}), make(chan struct{})
	whole := s.app.desk.derive
	s.app.desk.gate = newGate(1, 1)
	s.app.desk.derive = func(session *project.Session, ctx context.Context, log []arrange.Decision, o project.Options) (*project.Result, error) {
		started <- struct{}{}
		<-finish
		return whole(session, ctx, log, o)
	}
	var group sync.WaitGroup
	ask := func() { s.upload("/api/arrange", tunePart).wantStatus(t, http.StatusOK) }
	group.Go(ask)
	<-started
	group.Go(ask)
	for len(s.app.desk.gate.inside) < 2 { // the second has come in and waits
		s.get("/healthz")
	}
	for _, g := range []got{s.upload("/api/arrange", tunePart), s.upload("/tunes", tunePart)} {
		if g.wantStatus(t, http.StatusServiceUnavailable); g.Header.Get("Retry-After") != "5" {
			t.Errorf("Retry-After %q; want 5", g.Header.Get("Retry-After"))
		}
	}
	finish <- struct{}{}
	<-started
	finish <- struct{}{}
	group.Wait()
	if n := len(s.app.desk.gate.inside); n != 0 {
		t.Errorf("%d are still inside", n)
	}
}

func TestPanicsAreAnsweredAndLogged(t *testing.T) {
	s := newSite(t)
	s.app.desk.derive = func(*project.Session, context.Context, []arrange.Decision, project.Options) (*project.Result, error) {
		panic("the mainspring let go")
	}
	p := s.upload("/api/arrange", tunePart).wantStatus(t, http.StatusInternalServerError).problem(t)
	wantWords(t, s.log.String(), "the mainspring let go", p.Request, "goroutine")
	s.upload("/tunes", tunePart).wantStatus(t, http.StatusInternalServerError).page(t)
	if strings.Contains(p.Detail+p.Title, "mainspring") {
		t.Error("the answer shows what is for the log")
	}
	if n := len(s.app.desk.gate.inside); n != 0 {
		t.Errorf("%d are still inside", n)
	}
}

func TestReportsOfBrowsersAreLoggedWithoutAddresses(t *testing.T) {
	s := newSite(t)
	secret := strings.Repeat("s", 32)
	report := func(blocked string) []byte {
		body, err := json.Marshal(map[string]any{"csp-report": map[string]any{"document-uri": s.URL + "/edit/" + secret, "referrer": "",
			"effective-directive": "script-src-elem", "blocked-uri": blocked, "line-number": 7}})
		if err != nil {
			t.Fatal(err)
		}
		return body
	}
	header := map[string]string{"Content-Type": "application/csp-report", "Sec-Fetch-Site": "cross-site"}
	for blocked, logged := range map[string]string{
		"inline": "inline",
		"https://elsewhere.example/" + secret + "?" + secret: "https://elsewhere.example",
		"://" + secret: "elsewhere",
	} {
		s.do(ask{"POST", reportPath, report(blocked), header}).wantStatus(t, http.StatusNoContent)
		wantWords(t, s.log.String(), "script-src-elem", `"blocked":"`+logged+`"`)
	}
	s.do(ask{"POST", reportPath, []byte("{"), header}).wantStatus(t, http.StatusBadRequest)
	if strings.Contains(s.log.String(), secret) {
		t.Error("the log holds the address of the page")
	}
}

func TestLogHoldsNoToken(t *testing.T) {
	s := newSite(t)
	p := s.create()
	copied := strings.TrimPrefix(s.fill("/view/"+p.view()+"/copy", nil, nil).leads(t), "/edit/")
	tokens := []string{p.edit(), p.view(), copied}
	for _, token := range append(tokens, "unknownunknownunknownunknown1234") {
		s.get("/edit/" + token)
		s.get("/edit/" + token + "/map?paper=a5&token=" + token)
		s.get("/view/" + token)
		s.get("/edit/" + token + "/picture.png")
		s.get("/view/" + token + "/picture.png")
		s.get("/nothing/" + token)
		s.get("/api/projects/" + token)
		s.get("/api/projects/" + token + "/nothing")
		s.get("/api/projects/" + token + "/files/map.pdf")
		s.do(ask{method: "DELETE", path: "/api/projects/" + token})
		s.fill("/edit/"+token+"/decide", url.Values{"revision": {"0"}, "title": {"x"}}, map[string]string{"Referer": s.URL + "/edit/" + token})
		s.fill("/edit/"+token+"/decide", nil, map[string]string{"Sec-Fetch-Site": "cross-site"})
		s.decide(token, 7, setup("x"))
	}
	log := s.log.String()
	wantWords(t, log, `"route":"/edit/{token}"`, `"route":"/api/projects/{token}/decisions"`, `"status":412`, `"status":403`)
	for _, token := range append(tokens, "unknownunknownunknownunknown1234") {
		if strings.Contains(log, token) {
			t.Errorf("the log holds a token")
		}
	}
}
