package main

import (
	"net/http"
	"path"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestDemoByKeyboard goes through the demo as someone without a mouse does: to the first clash, hears it, takes a remedy and takes it back, plays
// the turn, steps it, tries the other comb and shares.
func TestDemoByKeyboard(t *testing.T) {
	s := newSite(t)
	tb := s.openBrowser(t)
	tb.do(chromedp.Navigate(s.URL + "/"))
	tb.tabTo(`#demo button`)
	tb.do(loading(chromedp.KeyEvent(kb.Enter)), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
	tb.evaluate(eavesdrop)
	revision := tb.revision()

	tb.tabTo(`#drawing canvas`)
	tb.do(chromedp.KeyEvent("c"))
	wantWords(t, tb.evaluate(`document.getElementById("look-says").textContent`), "G4", "bar 1 beat 1", "391 ms", "420 ms")
	tb.do(chromedp.KeyEvent("s"))
	tb.until("the note is heard", `window.loudest > 0.01`)

	tb.tabTo(`.remedies button`)
	tb.until("what the remedy would do is drawn", `!document.querySelector(".look-so").hidden`)
	wantWords(t, tb.evaluate(`document.querySelector(".look-so").textContent`), "would do")
	tb.do(chromedp.KeyEvent("s"))
	tb.until("a turn of it is heard", `document.getElementById("listen-at").textContent !== "at 0°"`)
	verdict := tb.evaluate(`document.getElementById("verdict").innerText`)
	tb.do(chromedp.KeyEvent(kb.Enter), atRevision(revision+1))
	if now := tb.evaluate(`document.getElementById("verdict").innerText`); now == verdict {
		t.Errorf("after the remedy the page still says %q", now)
	}
	tb.do(chromedp.KeyEvent("z", chromedp.KeyModifiers(chromedp.ModifierCtrl)), atRevision(revision+2))
	tb.wantVerdict(strings.TrimSpace(verdict))

	tb.tabTo(`#listen-once`)
	tb.evaluate(`window.loudest = 0, ""`)
	tb.do(chromedp.KeyEvent(kb.Enter))
	tb.until("the turn is heard", `window.loudest > 0.01`)
	tb.until("the cylinder turns", `parseInt(document.getElementById("listen-at").textContent.slice(3)) > 4`)
	tb.tabTo(`#listen-stop`)
	tb.do(chromedp.KeyEvent(kb.Enter))

	tb.tabTo(`#turning-pin-on`)
	lift := `[...document.querySelectorAll("#turning dl div")].map((d) => d.innerText).join()`
	before := tb.evaluate(lift)
	tb.do(chromedp.KeyEvent(kb.Enter))
	tb.until("the tooth is stepped", lift+` !== `+strconv.Quote(before))

	tb.tabTo(`button[data-other="there"]`)
	wantWords(t, tb.evaluate(`document.getElementById("other-says").textContent`), "6 of 18 tracks sound something else")
	wantWords(t, tb.evaluate(`document.getElementById("other-list").textContent`), "B4 becomes A#4")
	tb.evaluate(`window.loudest = 0, ""`)
	tb.do(chromedp.KeyEvent(kb.Enter))
	tb.until("the other comb is heard", `window.loudest > 0.01`)

	tb.tabTo(`[data-copy="view-url"]`)
	tb.do(chromedp.KeyEvent(kb.Enter))
	view := tb.evaluate(`document.getElementById("view-url").value`)
	s.get("/view/"+path.Base(view)).wantStatus(t, http.StatusOK)
	tb.wantQuiet()
}

// TestFocusComesBack closes what was opened by key, and wants the focus where it was opened.
func TestFocusComesBack(t *testing.T) {
	s := newSite(t)
	tb := s.openBrowser(t)
	tb.do(chromedp.Navigate(s.URL+"/"), loading(chromedp.Click(chromedp.CSS(`#demo button`))), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
	panel := chromedp.CSS(`.panel.current`)
	for _, row := range []struct{ name, from, open, close string }{
		{"the panel of a note, from the drawing, by Escape", `#drawing canvas`, kb.ArrowRight + kb.Enter, kb.Escape},
		{"the panel of a note, from the list, by its link", `.notes .line`, kb.Enter, kb.Tab + kb.Enter},
	} {
		t.Run(row.name, func(t *testing.T) {
			tb.t = t
			tb.tabTo(row.from)
			tb.do(chromedp.KeyEvent(row.open), chromedp.WaitVisible(panel))
			tb.until("the panel has the focus", `document.activeElement.matches(".panel")`)
			tb.do(chromedp.KeyEvent(row.close), chromedp.WaitNotPresent(panel))
			tb.until("the focus comes back", `document.activeElement.matches(`+strconv.Quote(row.from)+`)`)
		})
	}
	t.Run("the sheet of keys", func(t *testing.T) {
		tb.t = t
		tb.do(chromedp.Navigate(tb.evaluate(`location.href.split("#")[0]`)), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
		tb.tabTo(`#drawing canvas`)
		tb.do(chromedp.KeyEvent("?"))
		tb.until("the sheet of keys has the focus", `document.activeElement.matches(".look-help")`)
		tb.do(chromedp.KeyEvent(kb.Escape))
		tb.until("the drawing has it again", `document.activeElement.matches("#drawing canvas") && document.querySelector(".look-help").hidden`)
	})
	tb.t = t
	tb.wantQuiet()
}

// tabTo presses Tab until an element that fits a selector has the focus.
func (tb *tab) tabTo(selector string) {
	tb.t.Helper()
	for range 600 {
		tb.do(chromedp.KeyEvent(kb.Tab))
		if tb.evaluate(`String(document.activeElement.matches(`+strconv.Quote(selector)+`))`) == "true" {
			return
		}
	}
	tb.t.Fatalf("Tab does not lead to %s", selector)
}
