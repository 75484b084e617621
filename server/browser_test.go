package main

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pinwright/fixtures"
	"pinwright/pinmap/bench"
)

// TestBrowser does the whole job in Chromium. Whatever a page says on its console, whatever its policy refuses and every
// request to another host fails the test.
func TestBrowser(t *testing.T) {
	s := newSite(t)
	maker := s.openBrowser(t)
	tune := filepath.Join(t.TempDir(), "tin-lighthouse.mid")
	if err := os.WriteFile(tune, fixtures.DemoTune, 0o600); err != nil {
		t.Fatal(err)
	}
	edit := maker.upload(tune)
	token := path.Base(edit)
	maker.wantVerdict("Clear to drill.")

	t.Run("a remedy, undo and redo redraw the page without a load", func(t *testing.T) {
		maker.t = t
		documents := maker.documents()
		maker.do(chromedp.SetValue(maxTogether, "3"), chromedp.Click(setCylinder), atRevision(1))
		maker.wantVerdict("Not clear to drill: one thing stands in the way.")
		maker.do(chromedp.Click(bestRemedy), atRevision(2))
		maker.wantVerdict("Clear to drill.")
		maker.do(chromedp.Click(undo), atRevision(3))
		maker.wantVerdict("Not clear to drill: one thing stands in the way.")
		maker.do(chromedp.Click(redo), atRevision(4))
		maker.wantVerdict("Clear to drill.")
		if now := maker.documents(); now != documents {
			t.Errorf("%d pages were loaded anew", now-documents)
		}
		got := s.get("/api/projects/" + token).project(t)
		if got.Revision != 4 || len(got.Decisions) != 2 || !got.CanUndo || got.CanRedo {
			t.Errorf("stored are revision %d, decisions %v, undo %v, redo %v", got.Revision, got.Decisions, got.CanUndo, got.CanRedo)
		}
	})

	t.Run("the cylinder is heard, and each change at once", func(t *testing.T) {
		maker.t = t
		maker.hears(t, s, token)
		maker.do(chromedp.Navigate(edit))
	})

	t.Run("a figure that cannot be used is said in words, beside what was typed", func(t *testing.T) {
		maker.t = t
		maker.refusals++ // the browser itself notes an answer of 422
		maker.do(chromedp.SetValue(diameter, "900"), chromedp.Click(setCylinder), chromedp.WaitReady(chromedp.CSS(`#problem`)))
		words := maker.evaluate(`document.getElementById("problem").innerText`)
		wantWords(t, words, "900")
		if strings.Contains(words, "/cylinder") {
			t.Errorf("%q names a field as programs do", words)
		}
		if field := maker.evaluate(`document.activeElement.name + " " + document.activeElement.value + " " + document.activeElement.ariaInvalid`); field != "cylinder.diameterMm 900 true" {
			t.Errorf("at hand is %q", field)
		}
		maker.do(chromedp.Navigate(edit))
	})

	t.Run("a tooth is lifted, dropped and dropped again as the cylinder is stepped", func(t *testing.T) {
		maker.t = t
		is := func(figure string) string {
			return maker.evaluate(`document.getElementById("turning-is-` + figure + `").textContent`)
		}
		on, back := chromedp.Click(chromedp.CSS(`#turning-pin-on`)), chromedp.Click(chromedp.CSS(`#turning-pin-back`))
		for _, step := range []struct {
			name        string
			do          chromedp.Action[chromedp.Void]
			lift, state string
		}{
			{"on to the release", on, "0.450 mm", "lets go now"}, // the default lift
			{"on to the next contact", on, "0.000 mm", "meets its pin"},
			{"back to the release", back, "0.450 mm", "lets go now"},
			{"a degree further", chromedp.Click(chromedp.CSS(`#turning-degree-on`)), "0.000 mm", "dropped, has rung for"},
			{"back to the release again", back, "0.450 mm", "lets go now"},
			{"back to the contact", back, "0.000 mm", "meets its pin"},
		} {
			maker.do(step.do)
			if lift, state := is("lift"), is("state"); lift != step.lift || !strings.HasPrefix(state, step.state) {
				t.Errorf("%s the lift is %q, the state %q; want %q, %q", step.name, lift, state, step.lift, step.state)
			}
			wantWords(t, maker.evaluate(`document.querySelector("#turning [role=status]").textContent`), step.lift)
		}

		maker.do(chromedp.SetValue(chromedp.CSS(`#turning-tooth`), "3"))
		maker.evaluate(`document.getElementById("turning-tooth").dispatchEvent(new Event("change")), ""`)
		maker.do(on)
		tooth, angle := is("tooth"), is("angle")
		revision := maker.revision()
		maker.do(chromedp.Click(undo), atRevision(revision+1), chromedp.Click(redo), atRevision(revision+2))
		if is("tooth") != tooth || is("angle") != angle {
			t.Errorf("after a change %s is shown at %s; it was %s at %s", is("tooth"), is("angle"), tooth, angle)
		}

		maker.evaluate(`document.getElementById("turning").scrollIntoView(), document.dispatchEvent(new CustomEvent("sounding", { detail: { deg: 123.5, speed: 1 } })), ""`)
		maker.do(chromedp.WaitReady(chromedp.CSS(`#turning-end[aria-label*="at 123.50°"]`)))
		if ink := maker.evaluate(`String(document.getElementById("turning-end").getContext("2d").getImageData(0, 0, 400, 400).data.some(v => v > 0))`); ink != "true" {
			t.Error("the picture is empty")
		}
	})

	t.Run("the drill map is saved byte for byte", func(t *testing.T) {
		maker.t = t
		saved := maker.download(chromedp.CSS(`#bench a[download="drill-map-a4.html"]`))
		wanted := s.get("/api/projects/"+token+"/files/drill-map.html?paper=a4").wantStatus(t, 200).body
		if !bytes.Equal(saved, wanted) {
			t.Errorf("%d bytes were saved; the API gives %d", len(saved), len(wanted))
		}
	})

	t.Run("the view link gives the files that are ticked, and a tick not yet set outlives another change", func(t *testing.T) {
		maker.t = t
		revision := maker.revision()
		maker.do(chromedp.Click(chromedp.CSS(`[name="share.files"][value="map.svg"]`)), chromedp.SetValue(maxTogether, "6"), chromedp.Click(setCylinder), atRevision(revision+1))
		if ticked := maker.evaluate(`[...document.querySelectorAll('[name="share.files"]:checked')].map((box) => box.value).join()`); ticked != unticked("map.svg") {
			t.Errorf("ticked are %s", ticked)
		}
		maker.do(chromedp.Click(chromedp.CSS(`#share .apply button`)), atRevision(revision+2))
		view := path.Base(maker.evaluate(`document.getElementById("view-url").value`))
		s.get("/api/projects/"+view+"/files/map.svg").wantStatus(t, 403)
		s.get("/api/projects/"+view+"/files/holes.csv").wantStatus(t, 200)
	})

	t.Run("a second profile may look and no more", func(t *testing.T) {
		view := maker.evaluate(`document.getElementById("view-url").value`)
		client := s.openTab(maker.ctx, chromedp.WithNewBrowserContext())
		client.t = t
		client.do(chromedp.Navigate(view), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
		wantWords(t, client.evaluate(`document.body.innerText`), "Clear to drill.", "Copy as my own")
		if html := client.evaluate(`document.documentElement.outerHTML`); strings.Contains(html, token) || strings.Contains(html, "/edit/") {
			t.Error("the page leads to the edit link")
		}
		if n := client.evaluate(`String(document.querySelectorAll("[data-decide], [name=revision], [name=decision]").length)`); n != "0" {
			t.Errorf("the page has %s fields of edit forms", n)
		}
		client.do(chromedp.Click(chromedp.CSS(`#turning-pin-on`)), chromedp.WaitReady(chromedp.CSS(`#turning-end[aria-label*="lift 0.450 mm"]`)))
		client.wantFits("the view page")
		client.prepareToListen()
		client.do(chromedp.Click(playOnce))
		client.until("sound", `player.playing && window.loudest > 0.02`)
		client.wantPins(s.get("/api/projects/"+path.Base(view)).wantStatus(t, 200))
		client.do(chromedp.Navigate(s.URL+"/"), chromedp.WaitVisible(chromedp.CSS(`#upload`)))
		client.wantFits("the first page")
		if recent := client.evaluate(`String(document.getElementById("recent").hidden)`); recent != "true" {
			t.Error("the second profile knows the projects of the first")
		}
		client.wantQuiet()
	})

	t.Run("no page scrolls sideways", func(t *testing.T) {
		maker.t = t
		maker.wantFits("the project page")
	})

	t.Run("the demo opens with its clashes", func(t *testing.T) {
		maker.t = t
		maker.do(chromedp.Navigate(s.URL+"/"), loading(chromedp.Click(chromedp.CSS(`#demo button`))), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
		wantWords(t, maker.evaluate(`document.getElementById("verdict").innerText`), "Not clear to drill", "stand in the way")
		maker.wantFits("the demo")
	})

	t.Run("advice is shown when it is asked for, and again after a change", func(t *testing.T) {
		maker.t = t
		maker.do(chromedp.Click(chromedp.CSS(`#advice a[data-part]`)), chromedp.WaitVisible(chromedp.CSS(`#advice .line-comb .now`)))
		wantWords(t, maker.evaluate(`document.getElementById("advice").innerText`), "One more tooth")
		if focus := maker.evaluate(`document.activeElement.id`); focus != "advice" {
			t.Errorf("the focus is on %q; want the advice", focus)
		}
		maker.wantFits("the demo with advice")
	})

	t.Run("everything is settled in one step, and taken back in one", func(t *testing.T) {
		maker.t = t
		documents, now := maker.documents(), maker.revision()
		ask, preview := chromedp.CSS(`#settlement a[data-part]`), chromedp.WaitVisible(chromedp.CSS(`#settlement .settled li`))
		maker.do(chromedp.Click(ask), preview, chromedp.Click(chromedp.CSS(`#settlement a[data-back]`)), chromedp.WaitVisible(ask), chromedp.Click(ask), preview)
		maker.wantFits("the demo with what settling would do")
		maker.do(chromedp.Click(chromedp.CSS(`#settlement button`)), atRevision(now+1), chromedp.WaitReady(chromedp.CSS(`#advice:not([aria-busy]) .line-comb`)))
		maker.wantVerdict("Clear to drill.")
		maker.do(chromedp.Click(undo), atRevision(now+2))
		wantWords(t, maker.evaluate(`document.getElementById("verdict").innerText`), "Not clear to drill")
		if loaded := maker.documents() - documents; loaded != 0 {
			t.Errorf("%d pages were loaded anew", loaded)
		}
	})

	t.Run("all of it without script", func(t *testing.T) {
		plain := s.openTab(maker.ctx, chromedp.WithNewBrowserContext())
		plain.t = t
		plain.call(func(ctx context.Context) error {
			_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
			return err
		})
		plain.upload(tune)
		plain.do(chromedp.SetValue(maxTogether, "3"), loading(chromedp.Click(setCylinder)), atRevision(1))
		plain.wantVerdict("Not clear to drill: one thing stands in the way.")
		plain.do(loading(chromedp.Click(bestRemedy)), atRevision(2))
		plain.wantVerdict("Clear to drill.")
		plain.do(loading(chromedp.Click(undo)), atRevision(3))
		plain.wantVerdict("Not clear to drill: one thing stands in the way.")
		if keys := plain.evaluate(`String(document.getElementById("keys").hidden)`); keys != "true" {
			t.Error("a script ran")
		}
		if controls := plain.evaluate(`String(document.getElementById("listen-controls").hidden)`); controls != "true" {
			t.Error("the page offers to play, which it cannot")
		}
		plain.wantQuiet()
	})

	maker.t = t
	maker.wantQuiet()
	if log := s.log.String(); strings.Contains(log, "content security policy") {
		t.Errorf("a browser reported a breach of the policy: %s", log)
	}
}

const (
	maxTogether = chromedp.CSS(`[name="limits.maxTogether"]`)
	diameter    = chromedp.CSS(`[name="cylinder.diameterMm"]`)
	setCylinder = chromedp.CSS(`#cylinder .apply button`)
	bestRemedy  = chromedp.CSS(`.verdict .mend button`)
	undo        = chromedp.CSS(`#undo`)
	redo        = chromedp.CSS(`#redo`)
)

// unticked lists all files but one.
func unticked(name string) string {
	return strings.Join(slices.DeleteFunc(bench.Names(), func(n string) bool { return n == name }), ",")
}

// atRevision waits until the page shows a revision of the project.
func atRevision(n int) chromedp.Action[chromedp.Void] {
	return chromedp.WaitReady(chromedp.CSS(fmt.Sprintf(`#fragment[data-revision="%d"]`, n)))
}

// loading waits until the page that a step leads to is loaded.
func loading(step chromedp.Action[chromedp.Void]) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := chromedp.WaitEvent(page.LoadEventFired, nil, step)(ctx, t)
		return chromedp.Void{}, err
	}
}

// findChromium gives the path of Chromium.
// openChromium gives a browser of its own, for four minutes.
func openChromium(t testing.TB) context.Context {
	t.Helper()
	allocator, stop := chromedp.NewExecAllocator(context.WithoutCancel(t.Context()), chromedp.ExecPath(findChromium(t)), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.NoFirstRun, chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.UserDataDir(t.TempDir()))
	t.Cleanup(stop)
	bounded, cancel := context.WithTimeout(allocator, 4*time.Minute)
	t.Cleanup(cancel)
	return bounded
}

// openBrowser opens a browser of its own and gives its first tab.
func (s *site) openBrowser(t testing.TB) *tab {
	t.Helper()
	first := s.openTab(openChromium(t))
	t.Cleanup(func() {
		if err := chromedp.Cancel(first.ctx); err != nil {
			t.Errorf("Chromium does not close: %v", err)
		}
	})
	return first
}

func findChromium(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"/usr/bin/chromium", "chromium"} {
		if found, err := exec.LookPath(name); err == nil {
			return found
		}
	}
	if os.Getenv("CI") == "true" {
		t.Fatal("Chromium is needed to use the pages")
	}
	t.Skip("THE PAGES ARE NOT USED IN A BROWSER: Chromium is not installed")
	return ""
}

// tab is a tab of the browser, with what it said and asked for.
type tab struct {
	t    testing.TB
	site *site
	ctx  context.Context

	refusals int // how many are expected, which the browser notes on its console

	mu       sync.Mutex
	said     []string
	requests []string
	loaded   int // pages
}

// openTab opens a tab; in a profile of its own with chromedp.WithNewBrowserContext.
func (s *site) openTab(parent context.Context, options ...chromedp.ContextOption) *tab {
	s.t.Helper()
	tb := &tab{t: s.t, site: s}
	ctx, cancel := chromedp.NewContext(parent, options...)
	s.t.Cleanup(cancel)
	tb.ctx = ctx
	tb.call(func(ctx context.Context) error {
		console := chromedp.Console(ctx)
		go func() {
			for m, err := range console {
				if err != nil {
					return
				}
				if m.Type == "warning" || m.Type == "error" || m.IsException() {
					tb.note(&tb.said, m.String())
				}
			}
		}()
		return chromedp.Listen(ctx, func(ev any) {
			if sent, ok := ev.(*network.EventRequestWillBeSent); ok {
				tb.note(&tb.requests, sent.Request.URL)
				if sent.Type == network.ResourceTypeDocument {
					tb.mu.Lock()
					tb.loaded++
					tb.mu.Unlock()
				}
			}
		})
	})
	tb.call(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{
			Source: `addEventListener("securitypolicyviolation", e => console.error("policy:", e.violatedDirective, e.blockedURI))`})
		return err
	})
	return tb
}

func (tb *tab) note(list *[]string, text string) {
	tb.mu.Lock()
	defer tb.mu.Unlock()
	*list = append(*list, text)
}

// documents gives the number of pages that were loaded so far.
func (tb *tab) documents() int {
	tb.mu.Lock()
	defer tb.mu.Unlock()
	return tb.loaded
}

func (tb *tab) call(f func(context.Context) error) {
	tb.t.Helper()
	if err := f(tb.ctx); err != nil {
		tb.t.Fatal(err)
	}
}

func (tb *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	tb.t.Helper()
	for i, step := range steps {
		ctx, cancel := context.WithTimeout(tb.ctx, 20*time.Second)
		err := chromedp.Do(ctx, step)
		cancel()
		if err != nil {
			tb.t.Fatalf("step %d: %v; the page says: %.600s", i+1, err, tb.evaluate(`document.body.innerText`))
		}
	}
}

func (tb *tab) evaluate(expression string) string {
	tb.t.Helper()
	value, err := chromedp.Run(tb.ctx, chromedp.Evaluate[string](expression))
	if err != nil {
		tb.t.Fatal(err)
	}
	return value
}

// revision gives that of the project on the page.
func (tb *tab) revision() int {
	tb.t.Helper()
	revision, err := strconv.Atoi(tb.evaluate(`document.getElementById("fragment").dataset.revision`))
	if err != nil {
		tb.t.Fatal(err)
	}
	return revision
}

// upload lays out a tune by the form of the first page and gives the address of its project.
func (tb *tab) upload(file string) string {
	tb.t.Helper()
	tb.do(chromedp.Navigate(tb.site.URL+"/"), chromedp.SetUploadFiles(chromedp.CSS(`#tune`), []string{file}),
		loading(chromedp.Click(chromedp.CSS(`#upload button`))), atRevision(0))
	return tb.evaluate(`location.href`)
}

func (tb *tab) wantVerdict(words string) {
	tb.t.Helper()
	if verdict := strings.TrimSpace(tb.evaluate(`document.getElementById("verdict").innerText`)); verdict != words {
		tb.t.Errorf("the page says %q; want %q", verdict, words)
	}
}

// wantFits checks that the page does not scroll sideways on a telephone, a tablet and a desk.
func (tb *tab) wantFits(what string) {
	tb.t.Helper()
	for _, width := range []int64{390, 768, 1440} {
		tb.do(chromedp.EmulateViewport(width, 900))
		if over := tb.evaluate(`String(document.documentElement.scrollWidth - innerWidth)`); over != "0" {
			tb.t.Errorf("%s, %d px wide, is %s px too wide", what, width, over)
		}
	}
}

// download clicks a link and gives the bytes that were saved.
func (tb *tab) download(link chromedp.CSS) []byte {
	tb.t.Helper()
	dir, events := tb.t.TempDir(), true
	tb.call(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{
			Behavior: browser.SetDownloadBehaviorBehaviorAllowAndName, DownloadPath: dir, EventsEnabled: &events})
		return err
	})
	ended := func(p browser.EventDownloadProgress) bool { return p.State != browser.DownloadProgressStateInProgress }
	progress, err := chromedp.Run(tb.ctx, chromedp.WaitEvent(browser.DownloadProgress, ended, chromedp.Click(link)))
	if err != nil {
		tb.t.Fatal(err)
	}
	if progress.State != browser.DownloadProgressStateCompleted {
		tb.t.Fatalf("the download is %s", progress.State)
	}
	saved, err := os.ReadFile(filepath.Join(dir, progress.GUID))
	if err != nil {
		tb.t.Fatal(err)
	}
	return saved
}

// wantQuiet checks what the tab said and asked for.
func (tb *tab) wantQuiet() {
	tb.t.Helper()
	tb.evaluate(`document.title`) // what was said before has arrived then
	tb.mu.Lock()
	defer tb.mu.Unlock()
	refusals := tb.refusals
	for _, said := range tb.said {
		if refusals > 0 && strings.Contains(said, "status of 422") {
			refusals--
			continue
		}
		tb.t.Errorf("the console says: %s", said)
	}
	if len(tb.requests) == 0 {
		tb.t.Error("no request was seen")
	}
	own := strings.TrimPrefix(tb.site.URL, "http://")
	for _, request := range slices.Compact(slices.Sorted(slices.Values(tb.requests))) {
		if u, err := url.Parse(request); err != nil || u.Host != own && u.Scheme != "data" {
			tb.t.Errorf("something was asked of another host: %s", request)
		}
	}
}
