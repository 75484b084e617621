package main

import (
	"bytes"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

func choice(lengths, angles, notes, back string) url.Values {
	return url.Values{"lengths": {lengths}, "angles": {angles}, "notes": {notes}, "back": {back}}
}

// TestChoosingHowFiguresAreShown goes the reader's way: the form, the cookie, the page, and back to the default.
func TestChoosingHowFiguresAreShown(t *testing.T) {
	s := newSite(t)
	p := s.create()
	for _, address := range []string{"/edit/" + p.edit(), "/view/" + p.view()} {
		plain := s.get(address).wantStatus(t, http.StatusOK)
		if n := plain.page(t).Find(`form[method="post"][action="/shown"] input[name="back"][value="` + address + `"]`).Length(); n != 1 {
			t.Fatalf("%d forms on %s choose how figures are shown", n, address)
		}
		g := s.fill("/shown", choice("inch", "dms", "german", address), map[string]string{"Sec-Fetch-Site": "same-origin"})
		if to := g.leads(t); to != address {
			t.Errorf("the choice leads to %q; want %q", to, address)
		}
		cookies := g.Cookies()
		if len(cookies) != 1 {
			t.Fatalf("%d cookies; want one", len(cookies))
		}
		c := cookies[0]
		if c.Value != "inch.dms.german" || c.SameSite != http.SameSiteLaxMode || c.Path != "/" || !c.HttpOnly || c.Secure || c.MaxAge < 300*24*60*60 {
			t.Errorf("the cookie is %s", c)
		}
		as := func(value string) got {
			return s.do(ask{method: "GET", path: address, header: map[string]string{"Cookie": c.Name + "=" + value}}).wantStatus(t, http.StatusOK)
		}
		shown := as(c.Value)
		if html := shown.page(t).Find("html"); html.AttrOr("data-lengths", "") != "inch" || html.AttrOr("data-angles", "") != "dms" || html.AttrOr("data-notes", "") != "german" {
			t.Error("the page is not shown as was chosen")
		}
		if heads := shown.page(t).Find("#pin-list th").Text(); !strings.Contains(heads, "arc inch") {
			t.Errorf("the heads are %q", heads)
		}
		if got := shown.Header.Get("Cache-Control"); got != "no-store" || shown.Header.Get("ETag") != "" {
			t.Errorf("the page may be kept: %q, ETag %q; it would then be shown as it was before", got, shown.Header.Get("ETag"))
		}
		if unknown := as("cm.rad.latin"); !bytes.Equal(unknown.body, plain.body) {
			t.Error("an unknown choice is not shown as by default")
		}
		if gone := s.fill("/shown", choice("mm", "decimal", "english", address), nil).Cookies(); len(gone) != 1 || gone[0].MaxAge >= 0 {
			t.Errorf("the default leaves %v; want the cookie taken back", gone)
		}
	}
}

// TestDataStaysAsItIs: whatever the cookie asks, programs and the bench get the same bytes.
func TestDataStaysAsItIs(t *testing.T) {
	s := newSite(t)
	p := s.create()
	api := "/api/projects/" + p.edit()
	for _, address := range []string{api, api + "/advice", api + "/settlement", api + "/files/holes.csv", api + "/files/comb.csv", api + "/files/project.json",
		api + "/files/map.svg", "/edit/" + p.edit() + "/map", "/view/" + p.view() + "/picture.png"} {
		plain := s.get(address).wantStatus(t, http.StatusOK)
		asked := s.do(ask{method: "GET", path: address, header: map[string]string{"Cookie": shownCookie + "=inch.dms.german"}}).wantStatus(t, http.StatusOK)
		if !bytes.Equal(plain.body, asked.body) {
			t.Errorf("%s is another for whoever is shown inches", address)
		}
	}
}

// TestChangesAreShownAsChosen: the fragment that a change brings, and the project tried with it, read like the page.
func TestChangesAreShownAsChosen(t *testing.T) {
	s := newSite(t)
	p := s.create()
	header := map[string]string{"Cookie": shownCookie + "=inch.decimal.solfege", "Pinwright-Fragment": "1"}
	form := url.Values{"revision": {"0"}, "decision": {`{"kind":"setup","setup":{"title":"C5 in 13 mm","cylinder":{"diameterMm":14}}}`}}
	g := s.fill("/edit/"+p.edit()+"/decide", form, header).wantStatus(t, http.StatusOK)
	doc := g.page(t)
	wantWords(t, doc.Find(".ledger").Text(), "0.5512 inch", "title C5 in 13 mm")
	if got := doc.Find("#fragment").AttrOr("data-lengths", ""); got != "inch" {
		t.Errorf("the fragment tells the scripts %q", got)
	}
	tried := s.fill("/edit/"+p.edit()+"/try", url.Values{"revision": {"1"}, "decision": {`{"kind":"undo"}`}}, header).wantStatus(t, http.StatusOK)
	wantWords(t, string(tried.body), `"note":"Do`)
}

func TestChoicesThatAreRefused(t *testing.T) {
	s := newSite(t)
	p := s.create()
	page := "/edit/" + p.edit()
	for _, test := range []struct {
		name   string
		form   url.Values
		status int
	}{
		{"an unknown unit", choice("cm", "dms", "german", page), 422},
		{"an unknown angle", choice("mm", "grad", "german", page), 422},
		{"an unknown language", choice("mm", "dms", "french", page), 422},
		{"nothing", url.Values{}, 415},
		{"no page", choice("mm", "dms", "german", ""), 422},
		{"another host", choice("mm", "dms", "german", "https://elsewhere.example/edit/x"), 422},
		{"another host without its scheme", choice("mm", "dms", "german", "//elsewhere.example"), 422},
		{"another host by a backslash", choice("mm", "dms", "german", `/\elsewhere.example`), 422},
		{"another host behind a way up", choice("mm", "dms", "german", "/..//elsewhere.example"), 422},
		{"another host behind a tab", choice("mm", "dms", "german", "/\t/elsewhere.example"), 422},
		{"a second header", choice("mm", "dms", "german", page+"\r\nSet-Cookie: a=b"), 422},
		{"no path of this server", choice("mm", "dms", "german", "/nowhere"), 422},
		{"a path that is no page", choice("mm", "dms", "german", "/api/openapi.json"), 422},
		{"a relative path", choice("mm", "dms", "german", strings.TrimPrefix(page, "/")), 422},
		{"a script", choice("mm", "dms", "german", "javascript:alert(1)"), 422},
		{"a great deal", choice("mm", "dms", "german", "/edit/"+strings.Repeat("a", 1000)), 422},
	} {
		t.Run(test.name, func(t *testing.T) {
			g := s.fill("/shown", test.form, nil).wantStatus(t, test.status)
			if words := g.page(t).Find("main").Text(); strings.TrimSpace(words) == "" {
				t.Error("the page says nothing")
			}
			if g.Header.Get("Set-Cookie") != "" || g.Header.Get("Location") != "" {
				t.Errorf("it sets %q and leads to %q", g.Header.Get("Set-Cookie"), g.Header.Get("Location"))
			}
		})
	}
	t.Run("another site", func(t *testing.T) {
		g := s.fill("/shown", choice("inch", "dms", "german", page), map[string]string{"Sec-Fetch-Site": "cross-site"}).wantStatus(t, http.StatusForbidden)
		if g.Header.Get("Set-Cookie") != "" {
			t.Error("another site chose how figures are shown")
		}
	})
}

func TestTheChoiceIsKeptSafeOverHTTPS(t *testing.T) {
	s := newSite(t, func(c *Config) { c.BaseURL = "https://pins.example" })
	p := s.create()
	if c := s.fill("/shown", choice("inch", "decimal", "english", "/view/"+p.view()), nil).Cookies(); len(c) != 1 || !c[0].Secure {
		t.Errorf("the cookies are %v; want one that goes over https only", c)
	}
}

// TestFiguresShownInTheBrowser chooses by keyboard, and wants the scripts to name, measure and turn as the page does, also once a change was made.
func TestFiguresShownInTheBrowser(t *testing.T) {
	s := newSite(t)
	tb := s.openBrowser(t)
	drawn := chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`))
	tb.do(chromedp.Navigate(s.URL+"/"), loading(chromedp.Click(chromedp.CSS(`#demo button`))), drawn)
	edit := tb.evaluate(`location.href`)
	tb.tabTo(`.shown summary`)
	tb.do(chromedp.KeyEvent(kb.Enter))
	for _, key := range []string{"i", "deg", "G"} { // inch; degrees, minutes and seconds; German
		tb.do(chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(key))
	}
	tb.wantFits("the page with the choice open")
	tb.do(chromedp.KeyEvent(kb.Tab), loading(chromedp.KeyEvent(kb.Enter)), drawn)
	if now := tb.evaluate(`location.href`); now != edit {
		t.Fatalf("the choice leads to %s; want %s", now, edit)
	}
	revision := tb.revision()
	tb.wantFits("the page in inch")

	asChosen := func() {
		t.Helper()
		if lift := tb.evaluate(`document.getElementById("turning-is-lift").textContent`); !strings.HasSuffix(lift, " inch") {
			t.Errorf("the lift is %q", lift)
		}
		wantWords(t, tb.evaluate(`document.getElementById("turning-is-angle").textContent`), "°", "′", "″")
		wantWords(t, tb.evaluate(`document.getElementById("other-list").textContent`), "H4 becomes B4")
		wantWords(t, tb.evaluate(`document.getElementById("listen-comb").textContent`), "H4")
	}
	asChosen()
	tb.tabTo(`#drawing canvas`)
	tb.do(chromedp.KeyEvent("c"))
	pin := tb.evaluate(`document.getElementById("look-says").textContent`)
	wantWords(t, pin, "inch", "″")
	row := tb.evaluate(`(() => { const tooth = /tooth (\d+), ([^,]+),/.exec(document.getElementById("look-says").textContent); return [...document.querySelectorAll("#pin-list tbody tr")].map((r) => r.innerText === "" ? r.textContent : r.innerText).find((r) => r.includes(tooth[2])) ?? "" })()`)
	if row == "" {
		t.Errorf("the list of pins has no angle as the drawing says: %s", pin)
	}

	tb.tabTo(`#write-keys`)
	tb.do(chromedp.KeyEvent("b"), atRevision(revision+1))
	tb.until("what was typed is named as chosen", `/^Last: H\d/.test(document.getElementById("write-lately").textContent)`)
	tb.until("the pictures stand again", `document.getElementById("turning-is-lift") !== null`)
	asChosen()
	added := s.get("/api/projects/"+tb.evaluate(`location.pathname.split("/").at(-1)`)).wantStatus(t, http.StatusOK)
	wantWords(t, string(added.body), `"pitch":"B`)
	tb.wantQuiet()
}
