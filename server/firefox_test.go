package main

import (
	"bufio"
	"context"
	"encoding/json"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/websocket"
)

// TestDemoInFirefox goes through the demo in a second engine. Whatever a page says on its console, whatever its policy refuses and every request to
// another host fails the test.
func TestDemoInFirefox(t *testing.T) {
	s := newSite(t)
	fox := openFirefox(t)
	fox.open(s.URL + "/")
	fox.wantFits("the first page")
	fox.wide(1440)
	fox.loading(func() { fox.click(`#demo button`) })
	fox.until("the drawing is painted", painted)
	if colours, err := strconv.Atoi(fox.evaluate(coloursOfDrawing)); err != nil || colours < 20 {
		t.Errorf("the drawing has %d colours, %v; want brass, steel and pins", colours, err)
	}
	revision := fox.evaluate(shownRevision)
	verdict, drawing := fox.evaluate(verdictNow), fox.evaluate(inkOfDrawing)
	wantWords(t, verdict, "Not clear to drill")

	fox.click(`.verdict .mend button`)
	fox.until("the page is redrawn with the remedy", shownRevision+` !== `+strconv.Quote(revision)+` && `+verdictNow+` !== `+strconv.Quote(verdict))
	fox.until("the drawing has changed", inkOfDrawing+` !== `+strconv.Quote(drawing))
	fox.click(`#undo`)
	fox.until("undo brings the verdict back", verdictNow+` === `+strconv.Quote(verdict))
	fox.until("undo brings the drawing back", inkOfDrawing+` === `+strconv.Quote(drawing))

	fox.evaluate(eavesdrop)
	fox.click(`#listen-once`)
	fox.until("sound", `window.loudest > 0.01`)
	fox.until("the cylinder turns", `parseInt(document.getElementById("listen-at").textContent.slice(3)) > 2`)
	fox.click(`#listen-stop`)
	fox.until("it says that it stopped", `document.getElementById("announce").textContent.startsWith("Stopped at")`)
	if trouble := fox.evaluate(`document.getElementById("listen-trouble").textContent`); trouble != "" {
		t.Errorf("beside the sound stands %q", trouble)
	}
	fox.wantFits("the demo")

	view := fox.evaluate(`document.getElementById("view-url").value`)
	fox.open(view)
	fox.until("the share page is painted", painted)
	wantWords(t, fox.evaluate(`document.body.innerText`), "Copy as my own")
	fox.wantFits("the share page")
	fox.wantQuiet(s)
}

const (
	shownRevision = `document.getElementById("fragment").dataset.revision`
	verdictNow    = `document.getElementById("verdict").innerText`
	// pixels gives those of the drawing, as numbers of 32 bits.
	pixels = `new Uint32Array((() => { const c = document.querySelector("#drawing canvas"); return c.getContext("2d").getImageData(0, 0, c.width, c.height).data.buffer; })())`
	// painted reports whether some pixel in the middle of the drawing is opaque.
	painted          = `(() => { const c = document.querySelector("#drawing canvas"); return c !== null && c.getContext("2d").getImageData(c.width / 2, c.height / 2, 1, 1).data[3] === 255; })()`
	coloursOfDrawing = `String(new Set(` + pixels + `).size)`
	inkOfDrawing     = `String(` + pixels + `.reduce((sum, x, i) => (sum * 31 + x + i) >>> 0, 0))`
)

// firefox is a tab of Firefox, told what to do by WebDriver BiDi (the W3C's working draft), with what it said and asked for.
type firefox struct {
	t        *testing.T
	line     *websocket.Conn
	tab      string
	sent     int
	loaded   int // pages
	said     []string
	requests []string
}

// openFirefox starts a browser of its own, for one minute.
func openFirefox(t *testing.T) *firefox {
	t.Helper()
	const (
		origin      = "http://localhost"                                   // the library always sends one, and Firefox lets in only those that it was told of
		loudspeaker = `user_pref("media.cubeb.force_mock_context", true);` // one of Firefox's own, where the machine has none
	)
	program := findFirefox(t)
	home := t.TempDir()
	profile := filepath.Join(home, "profile")
	if err := os.Mkdir(profile, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(profile, "user.js"), []byte(loudspeaker), 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(t.Context()), time.Minute)
	t.Cleanup(cancel)
	cmd := exec.CommandContext(ctx, program, "--headless", "--no-remote", "--remote-debugging-port=0", "--remote-allow-origins="+origin, "--profile", profile)
	cmd.Env = append(os.Environ(), "HOME="+home, "XDG_CACHE_HOME="+filepath.Join(home, "cache"))
	says, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	f := &firefox{t: t}
	read := make(chan struct{})
	t.Cleanup(func() {
		if f.line != nil {
			f.call("browser.close", map[string]any{})
			f.line.Close()
		} else {
			cancel()
		}
		<-read
		if err := cmd.Wait(); err != nil && f.line != nil {
			t.Errorf("Firefox does not close: %v", err)
		}
	})
	address := make(chan string, 1)
	go func() {
		defer close(read)
		defer close(address)
		for lines := bufio.NewScanner(says); lines.Scan(); {
			if at, is := strings.CutPrefix(lines.Text(), "WebDriver BiDi listening on "); is {
				address <- at
			}
		}
	}()
	at, ok := <-address
	if !ok {
		t.Fatal("Firefox ended before it said where it listens")
	}
	config, err := websocket.NewConfig(at+"/session", origin)
	if err != nil {
		t.Fatal(err)
	}
	line, err := config.DialContext(ctx)
	if err != nil {
		t.Fatal(err)
	}
	f.line = line
	if err := line.SetDeadline(time.Now().Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	f.call("session.new", map[string]any{"capabilities": map[string]any{}})
	f.call("session.subscribe", map[string]any{"events": []string{"log.entryAdded", "network.beforeRequestSent", "browsingContext.load"}})
	f.call("script.addPreloadScript", map[string]any{
		"functionDeclaration": `() => addEventListener("securitypolicyviolation", e => console.error("policy:", e.violatedDirective, e.blockedURI))`})
	var tree struct{ Contexts []struct{ Context string } }
	f.answer(&tree, "browsingContext.getTree", map[string]any{})
	f.tab = tree.Contexts[0].Context
	f.wide(1440)
	return f
}

// findFirefox gives the path of Firefox.
func findFirefox(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"firefox-esr", "firefox"} {
		if found, err := exec.LookPath(name); err == nil {
			return found
		}
	}
	if os.Getenv("CI") == "true" {
		t.Fatal("Firefox is needed to use the pages in a second engine")
	}
	t.Skip("THE PAGES ARE NOT USED IN A SECOND ENGINE: Firefox is not installed")
	return ""
}

// message is an answer to a command, or an event.
type message struct {
	Type, Method   string
	ID             int
	Error, Message string
	Result         json.RawMessage
	Params         struct {
		Level, Text string               // of log.entryAdded
		Request     struct{ URL string } // of network.beforeRequestSent
	}
}

// next gives the next message; of events it keeps what they say.
func (f *firefox) next() (m message) {
	f.t.Helper()
	if err := websocket.JSON.Receive(f.line, &m); err != nil {
		f.t.Fatalf("Firefox answers nothing: %v; it said %q", err, f.said)
	}
	switch m.Method {
	case "log.entryAdded":
		if m.Params.Level == "error" || m.Params.Level == "warn" {
			f.said = append(f.said, m.Params.Text)
		}
	case "network.beforeRequestSent":
		f.requests = append(f.requests, m.Params.Request.URL)
	case "browsingContext.load":
		f.loaded++
	}
	return m
}

// call sends a command and gives its result.
func (f *firefox) call(method string, params map[string]any) json.RawMessage {
	f.t.Helper()
	f.sent++
	if err := websocket.JSON.Send(f.line, map[string]any{"id": f.sent, "method": method, "params": params}); err != nil {
		f.t.Fatal(err)
	}
	for {
		m := f.next()
		if m.Method != "" || m.ID != f.sent {
			continue
		}
		if m.Type != "success" {
			f.t.Fatalf("%s: %s: %s", method, m.Error, m.Message)
		}
		return m.Result
	}
}

func (f *firefox) answer(into any, method string, params map[string]any) {
	f.t.Helper()
	if err := json.Unmarshal(f.call(method, params), into); err != nil {
		f.t.Fatal(err)
	}
}

func (f *firefox) open(address string) {
	f.t.Helper()
	f.call("browsingContext.navigate", map[string]any{"context": f.tab, "url": address, "wait": "complete"})
}

func (f *firefox) wide(px int) {
	f.t.Helper()
	f.call("browsingContext.setViewport", map[string]any{"context": f.tab, "viewport": map[string]any{"width": px, "height": 900}})
}

// loading waits until the page that a step leads to is loaded.
func (f *firefox) loading(step func()) {
	f.t.Helper()
	was := f.loaded
	step()
	for f.loaded == was {
		f.next()
	}
}

// evaluate gives the string that an expression of the page, or its promise, comes to.
func (f *firefox) evaluate(expression string) string {
	f.t.Helper()
	var got struct {
		Result           struct{ Value json.RawMessage }
		ExceptionDetails struct{ Text string }
	}
	f.answer(&got, "script.evaluate", map[string]any{"expression": expression, "target": map[string]any{"context": f.tab}, "awaitPromise": true})
	var text string
	if err := json.Unmarshal(got.Result.Value, &text); err != nil {
		f.t.Fatalf("%s comes to %s: %v %s", expression, got.Result.Value, err, got.ExceptionDetails.Text)
	}
	return text
}

// until waits until an expression of the page is true.
func (f *firefox) until(what, expression string) {
	f.t.Helper()
	is := f.evaluate(`new Promise((done) => {
		const end = performance.now() + 15000;
		const look = () => (` + expression + `) ? done("true") : performance.now() > end ? done("false") : setTimeout(look, 20);
		look();
	})`)
	if is != "true" {
		f.t.Fatalf("not yet: %s; the page says: %.600s", what, f.evaluate(`document.body.innerText`))
	}
}

// click presses the first element that fits a selector, with a mouse.
func (f *firefox) click(selector string) {
	f.t.Helper()
	f.evaluate(`document.querySelector(` + strconv.Quote(selector) + `).scrollIntoView({ block: "center", behavior: "instant" }), ""`)
	var found struct{ Nodes []struct{ SharedID string } }
	f.answer(&found, "browsingContext.locateNodes", map[string]any{"context": f.tab, "locator": map[string]any{"type": "css", "value": selector}, "maxNodeCount": 1})
	if len(found.Nodes) == 0 {
		f.t.Fatalf("the page has no %s", selector)
	}
	element := map[string]any{"type": "element", "element": map[string]any{"sharedId": found.Nodes[0].SharedID}}
	f.call("input.performActions", map[string]any{"context": f.tab, "actions": []any{map[string]any{
		"type": "pointer", "id": "mouse", "parameters": map[string]any{"pointerType": "mouse"}, "actions": []any{
			map[string]any{"type": "pointerMove", "x": 0, "y": 0, "origin": element},
			map[string]any{"type": "pointerDown", "button": 0}, map[string]any{"type": "pointerUp", "button": 0}}}}})
}

// wantFits checks that the page does not scroll sideways on a telephone; the bar by which it scrolls down takes some of the width here.
func (f *firefox) wantFits(what string) {
	f.t.Helper()
	f.wide(390)
	f.until(what+" is 390 px wide", `innerWidth === 390`)
	if over := f.evaluate(`String(document.documentElement.scrollWidth - document.documentElement.clientWidth)`); over != "0" {
		f.t.Errorf("%s, 390 px wide, is %s px too wide", what, over)
	}
}

// wantQuiet checks what the tab said and asked for.
func (f *firefox) wantQuiet(s *site) {
	f.t.Helper()
	f.evaluate(`document.title`) // what was said before has arrived then
	for _, said := range f.said {
		f.t.Errorf("the console says: %s", said)
	}
	if len(f.requests) == 0 {
		f.t.Error("no request was seen")
	}
	own := strings.TrimPrefix(s.URL, "http://")
	for _, request := range slices.Compact(slices.Sorted(slices.Values(f.requests))) {
		if u, err := url.Parse(request); err != nil || u.Host != own && u.Scheme != "data" {
			f.t.Errorf("something was asked of another host: %s", request)
		}
	}
	if log := s.log.String(); strings.Contains(log, "content security policy") {
		f.t.Errorf("a browser reported a breach of the policy: %s", log)
	}
}
