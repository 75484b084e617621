package main

import (
	"context"
	"encoding/json"
	"os"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// TestPagesSatisfyAxe has axe-core look at every page in light and dark for what WCAG 2.2 asks for at the levels A and AA. PINWRIGHT_AXE names its
// file axe.min.js, from the npm package axe-core.
func TestPagesSatisfyAxe(t *testing.T) {
	file := os.Getenv("PINWRIGHT_AXE")
	if file == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("PINWRIGHT_AXE names no axe.min.js")
		}
		t.Skip("SKIPPED: PINWRIGHT_AXE names no axe.min.js, so no page is looked at by axe-core")
	}
	axe, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	s := newSite(t)
	tb := s.openBrowser(t)
	tb.call(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, page.SetBypassCSP, page.SetBypassCSPParams{Enabled: true})
		return err
	})
	for _, scheme := range []string{"light", "dark"} {
		tb.call(func(ctx context.Context) error {
			_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
				Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
			return err
		})
		look := func(name string) {
			t.Run(scheme+"/"+name, func(t *testing.T) {
				tb.t = t
				tb.evaluate(string(axe) + `; ""`)
				var found []struct {
					ID, Help string
					Nodes    []struct{ HTML string }
				}
				text := tb.await(`axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }).then((r) => {
					if (r.passes.length < 5) throw new Error("it looked at nothing");
					return JSON.stringify(r.violations);
				})`)
				if err := json.Unmarshal([]byte(text), &found); err != nil {
					t.Fatal(err)
				}
				for _, v := range found {
					t.Errorf("%s: %s: %.300s and %d more", v.ID, v.Help, v.Nodes[0].HTML, len(v.Nodes)-1)
				}
			})
			tb.t = t
		}
		tb.do(chromedp.Navigate(s.URL + "/"))
		look("home")
		tb.do(loading(chromedp.Click(chromedp.CSS(`#demo button`))), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
		look("the demo")
		view := tb.evaluate(`document.getElementById("view-url").value`)
		tb.evaluate(`document.querySelector(".notes .line").click(), ""`)
		tb.do(chromedp.WaitVisible(chromedp.CSS(`.panel.current`)))
		tb.evaluate(`document.querySelectorAll("#project details, .shown details").forEach((d) => (d.open = true)), document.querySelector(".look-help").hidden = false, ""`)
		look("the demo with a note's panel, its lists and its keys open")
		tb.do(chromedp.Click(chromedp.CSS(`#advice a[data-part]`)), chromedp.WaitVisible(chromedp.CSS(`#advice .line-comb .now`)),
			chromedp.Click(chromedp.CSS(`#settlement a[data-part]`)), chromedp.WaitVisible(chromedp.CSS(`#settlement .settled li`)))
		look("the demo with advice and what settling would do")
		edit := tb.evaluate(`location.href.split(/[?#]/)[0]`)
		tb.do(chromedp.Navigate(edit + "/bench"))
		tb.evaluate(`document.querySelectorAll("#project details").forEach((d) => (d.open = true)), ""`)
		look("the page of the tools, all of it open")
		tb.do(chromedp.Navigate(edit+"/drill"), chromedp.WaitVisible(chromedp.CSS(`#drill .set`)))
		tb.evaluate(`document.querySelectorAll("#project details").forEach((d) => (d.open = true)), ""`)
		look("the page beside the drill, all of it open")
		tb.do(chromedp.Navigate(view), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
		look("the share page")
		tb.do(chromedp.Navigate(view + "/map"))
		look("the drill map")
		tb.do(chromedp.Navigate(s.URL + "/edit/none"))
		look("a page that is not there")
		tb.do(chromedp.Navigate(s.URL+"/"), loading(chromedp.Click(chromedp.CSS(`#blank button`))), chromedp.WaitReady(chromedp.CSS(`#fragment`)))
		look("a tune from nothing")
	}
}
