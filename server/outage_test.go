package main

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestPageOutlivesAKill kills the server under an open page and makes a change meanwhile: the page says so, keeps the change, and sends it by
// itself when a server stands at the same address again with the same data. Nothing that was acknowledged before is lost.
func TestPageOutlivesAKill(t *testing.T) {
	binary, data := build(t), t.TempDir()
	first := start(t, binary, data, anyPort)
	token := first.create(t)
	tb := (&site{t: t}).openBrowser(t)
	setTitle := func(title string) chromedp.Action[chromedp.Void] {
		return chromedp.SetValue(chromedp.CSS(`[name="title"]`), title)
	}
	send := chromedp.Click(chromedp.CSS(`#tune .apply button`))
	tb.do(chromedp.Navigate(first.base+"/edit/"+token), setTitle("before"), send, atRevision(1))

	first.kill()
	tb.do(setTitle("meanwhile"), send, chromedp.WaitVisible(chromedp.CSS(`#problem`)))
	wantWords(t, tb.evaluate(`document.getElementById("problem").innerText`), "did not answer", "kept here")

	second := start(t, binary, data, strings.TrimPrefix(first.base, "http://"))
	defer second.kill()
	tb.do(atRevision(2))
	if title := tb.evaluate(`document.querySelector("h1").textContent`); title != "meanwhile" {
		t.Errorf("the page shows %q", title)
	}
	if got := second.read(t, token); got.Revision != 2 || len(got.Decisions) != 2 {
		t.Errorf("stored are revision %d and %d decisions", got.Revision, len(got.Decisions))
	}
	if shown := tb.evaluate(`String(document.getElementById("problem") !== null)`); shown != "false" {
		t.Error("the page still says that the server does not answer")
	}
}
