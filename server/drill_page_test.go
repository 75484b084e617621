package main

import (
	"encoding/json"
	"net/http"
	"path"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestDrillingTheDemo drills the demo on a narrow screen, hole by hole by key and by tap, most of it while the server is gone, over a reload. When
// it stands again it is told.
func TestDrillingTheDemo(t *testing.T) {
	binary, data := build(t), t.TempDir()
	first := start(t, binary, data, anyPort)
	token := first.demo(t)
	tb := (&site{t: t}).openBrowser(t)
	tb.do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(first.base+"/edit/"+token+"/drill"), chromedp.WaitVisible(chromedp.CSS(`#drill[data-kept]`)))
	var holes []struct{ Pin int }
	tb.decode(`JSON.stringify(JSON.parse(document.getElementById("drilling").textContent).holes)`, &holes)
	if len(holes) < 20 {
		t.Fatalf("the demo has %d holes to drill", len(holes))
	}
	says := func(words ...string) {
		t.Helper()
		wantWords(t, tb.evaluate(`document.getElementById("drill").innerText`), words...)
	}
	at := func(i int) {
		t.Helper()
		says("Hole "+strconv.Itoa(i+1)+" ", "pin "+strconv.Itoa(holes[i].Pin)+",")
	}
	at(0)
	if wide := tb.evaluate(`String(document.documentElement.scrollWidth)`); wide != "390" {
		t.Errorf("on a screen of 390 px the page is %s px wide", wide)
	}
	tb.do(chromedp.KeyEvent(kb.Enter))
	at(1)
	tb.until("the server was told", `Object.keys(JSON.parse(localStorage.getItem("pinwright.drilled." + location.pathname)).untold).length === 0`)
	if marked := first.drilled(t, token); marked != 1 {
		t.Errorf("the server has %d marks; want 1", marked)
	}

	// As fast as a pedal can be trodden: no mark is lost while others are on their way.
	tb.evaluate(`for (let i = 0; i < 20; i++) setTimeout(() => document.body.dispatchEvent(new KeyboardEvent("keydown", { key: "PageDown", bubbles: true })), 3 * i), ""`)
	tb.until("21 holes are drilled, and told", `(() => { const kept = JSON.parse(localStorage.getItem("pinwright.drilled." + location.pathname)); return kept.done.length === 21 && Object.keys(kept.untold).length === 0; })()`)
	if marked := first.drilled(t, token); marked != 21 {
		t.Errorf("the server has %d marks; want 21", marked)
	}
	for range 20 {
		tb.do(chromedp.KeyEvent(kb.ArrowLeft))
		tb.evaluate(`document.querySelector('#drill [data-does="mark"]').click(), ""`)
	}
	at(1)

	first.kill()
	tb.do(chromedp.KeyEvent(kb.PageDown), chromedp.Click(chromedp.CSS(`#drill [data-does="mark"]`)))
	at(3)
	tb.do(chromedp.KeyEvent(kb.PageDown), chromedp.KeyEvent(kb.PageUp)) // a pedal, with the button still in focus
	at(3)
	says("Drilled.", "No connection", "4 of "+strconv.Itoa(len(holes))+" holes are drilled")
	tb.do(chromedp.Reload())
	tb.do(chromedp.WaitVisible(chromedp.CSS(`#drill .set`)))
	at(3)
	says("4 of " + strconv.Itoa(len(holes)) + " holes are drilled")
	tb.do(chromedp.Click(chromedp.CSS(`#drill [data-does="next"]`)))
	tb.evaluate(`document.activeElement.blur(), ""`)
	for i := 4; i < len(holes); i++ {
		at(i)
		tb.do(chromedp.KeyEvent(" "))
	}
	says(strconv.Itoa(len(holes)) + " of " + strconv.Itoa(len(holes)) + " holes are drilled")

	second := start(t, binary, data, strings.TrimPrefix(first.base, "http://"))
	defer second.kill()
	tb.evaluate(`dispatchEvent(new Event("online")), ""`)
	tb.until("the server was told", `Object.keys(JSON.parse(localStorage.getItem("pinwright.drilled." + location.pathname)).untold).length === 0`)
	if marked := second.drilled(t, token); marked != len(holes) {
		t.Errorf("the server has %d marks; want %d", marked, len(holes))
	}
}

// TestSpoiledHoleOnThePage drills a hole wrong beside the drill, and goes each way out that the page shows.
func TestSpoiledHoleOnThePage(t *testing.T) {
	s := newSite(t)
	p := s.create()
	tb := s.openBrowser(t)
	tb.do(chromedp.Navigate(s.URL+"/edit/"+p.edit()+"/drill"), chromedp.WaitVisible(chromedp.CSS(`#drill .set`)), chromedp.Click(chromedp.CSS(`#spoiled summary`)),
		chromedp.SetValue(chromedp.CSS(`#spoiled-at`), "200"), chromedp.Click(chromedp.CSS(`#spoiled form button`)), chromedp.WaitVisible(chromedp.CSS(`.ways li`)))
	wantWords(t, tb.evaluate(`document.querySelector(".ways").innerText`), "Plug it", "twin tooth", "datum line")
	tb.do(loading(chromedp.Click(chromedp.CSS(`[data-way="use-twin"] button`))), chromedp.WaitVisible(chromedp.CSS(`#drill .set`)))
	if got := s.get("/api/projects/" + p.edit()).project(t); got.Revision != 1 {
		t.Errorf("the project is at revision %d", got.Revision)
	}
	tb.until("the spoiled hole is noted", `document.getElementById("drill").innerText.includes("One hole is in the metal that no pin uses")`)

	tb.wantFits("the page beside the drill")
	tb.do(chromedp.Navigate(s.URL + "/edit/" + p.edit() + "/bench"))
	tb.wantFits("the page of the tools")
	s.get("/view/"+p.view()+"/drill").wantStatus(t, http.StatusOK)
	if words := s.get("/view/" + p.view() + "/drill").page(t).Find("#drilling").Text(); strings.Contains(words, p.edit()) {
		t.Error("the page of the view link holds the edit token")
	}
	tb.wantQuiet()
}

// demo opens the demo and gives its token.
func (p *process) demo(t *testing.T) string {
	t.Helper()
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	response, err := client.Post(p.base+"/demo", "application/x-www-form-urlencoded", nil)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusSeeOther {
		t.Fatalf("the demo answers %s", response.Status)
	}
	return path.Base(response.Header.Get("Location"))
}

// drilled counts the marks that the server has.
func (p *process) drilled(t *testing.T, token string) int {
	t.Helper()
	var answer DrilledAnswer
	response, err := http.Get(p.base + "/api/projects/" + token + "/drilled")
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if err := json.NewDecoder(response.Body).Decode(&answer); err != nil {
		t.Fatal(err)
	}
	return len(answer.Holes)
}
