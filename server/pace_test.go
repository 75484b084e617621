package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/cdproto/tracing"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"pinwright/arrange/tune/tunetest"
)

// BenchmarkPageEdit leaves fifty notes of the demo out and takes each back, by key, in Chromium. ms/edit is the median from the key until the page
// with the change is painted, ms/drawn that from the key until the drawing shows which note goes, ms/trip that of a request which is answered at
// once; the numbered parts are means, which add up to the mean edit, and so
// are the server's share and what Chromium counts by name.
func BenchmarkPageEdit(b *testing.B) {
	s := newSite(b)
	tb := s.openBrowser(b)
	tb.do(chromedp.Navigate(s.URL+"/"), loading(chromedp.Click(chromedp.CSS(`#demo button`))), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
	tb.evaluate(stopwatch)
	tb.evaluate(`document.querySelector("#drawing canvas").focus(), ""`)
	metrics := tb.metrics()
	for b.Loop() {
		for range 50 {
			tb.do(chromedp.KeyEvent(kb.ArrowRight))
			tb.await(rested)
			tb.lap(chromedp.KeyEvent(kb.Delete))
			tb.lap(chromedp.KeyEvent("z", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
		}
	}
	after := tb.metrics()
	var laps []map[string]float64
	tb.decode(`JSON.stringify(laps)`, &laps)
	took := func(from, to string) (all []float64) {
		for _, lap := range laps {
			all = append(all, lap[to]-lap[from])
		}
		return all
	}
	var trips []float64
	tb.decode(`(async () => {
		const took = [];
		for (let i = 0; i < 100; i++) {
			const start = performance.now();
			await (await fetch("/healthz", { cache: "no-store" })).text();
			took.push(performance.now() - start);
		}
		return JSON.stringify(took);
	})()`, &trips)
	if len(laps) < 100 || len(trips) != 100 {
		b.Fatalf("%d edits and %d round trips were timed", len(laps), len(trips))
	}
	edit, trip := middle(took("key", "painted")), middle(trips)
	var drawn []float64
	for _, lap := range laps {
		if at, ok := lap["shown"]; ok {
			drawn = append(drawn, at-lap["key"])
		}
	}
	if len(drawn) < 100 {
		b.Fatalf("%d of 100 changes were drawn ahead of the answer", len(drawn))
	}
	b.ReportMetric(middle(drawn), "ms/drawn")
	b.ReportMetric(middle(drawn)/trip, "trips/drawn")
	b.ReportMetric(edit, "ms/edit")
	b.ReportMetric(trip, "ms/trip")
	b.ReportMetric(edit/trip, "trips/edit")
	b.ReportMetric(mean(s.served("/decide")), "ms/server")
	for _, part := range [][3]string{{"key", "sent", "1-to-script"}, {"sent", "answered", "2-answer"}, {"answered", "read", "3-rest-of-it"}, {"read", "parsed", "4-parse"},
		{"parsed", "swapped", "5-swap"}, {"swapped", "drawn", "6-scripts"}, {"drawn", "frame", "7-to-frame"}, {"frame", "painted", "8-frame"}} {
		b.ReportMetric(mean(took(part[0], part[1])), "ms/"+part[2])
	}
	for _, name := range []string{"LayoutDuration", "RecalcStyleDuration", "ScriptDuration", "TaskDuration"} {
		b.ReportMetric((after[name]-metrics[name])*1000/float64(len(laps)), "ms/"+name)
	}
}

// stopwatch notes for each edit when what happened.
const stopwatch = `(() => {
	const laps = (window.laps = []), now = () => performance.now();
	let lap = null;
	addEventListener("keydown", (e) => { if (e.key === "Delete" || e.key === "z") lap = { key: e.timeStamp }; }, true);
	const { fetch, CanvasRenderingContext2D: { prototype: pen } } = window;
	pen.stroke = new Proxy(pen.stroke, { apply(stroke, on, how) { stroke.apply(on, how); if (lap?.sent && !lap.over) lap.shown = now(); } });
	window.fetch = async (...how) => {
		if (!lap || lap.sent) return fetch(...how);
		const of = lap;
		of.sent = now();
		queueMicrotask(() => (of.over = now())); // the key's own work is done
		const response = await fetch(...how);
		of.answered = now();
		const text = response.text.bind(response);
		response.text = async () => { const all = await text(); if (lap) lap.read = now(); return all; };
		return response;
	};
	const parse = DOMParser.prototype.parseFromString;
	DOMParser.prototype.parseFromString = function (...how) { const page = parse.apply(this, how); if (lap) lap.parsed ??= now(); return page; };
	addEventListener("redrawn", () => { if (lap) lap.swapped ??= now(); }, true);
	document.addEventListener("decided", () => {
		const done = lap;
		lap = null;
		done.drawn = now();
		requestAnimationFrame(() => {
			done.frame = now();
			const { port1, port2 } = new MessageChannel();
			port1.onmessage = () => { done.painted = now(); laps.push(done); window.lapped(); };
			port2.postMessage(null);
		});
	});
	return "";
})()`

// lap presses a key and waits until what it changed is painted.
func (tb *tab) lap(press chromedp.Action[chromedp.Void]) {
	tb.t.Helper()
	tb.evaluate(`window.painted = new Promise((done) => (window.lapped = done)), ""`)
	tb.do(press)
	tb.await(`painted.then(() => "")`)
}

// BenchmarkPagePanning pans the drawing of 20 000 pins on 144 tracks for three seconds in each way, in Chromium, and reads its trace: how far apart
// the frames are, and the longest task of the page's thread.
func BenchmarkPagePanning(b *testing.B) {
	s := newSite(b)
	p := s.create(part{"tune", "long.mid", string(long(20_000))}, part{"setup", "", longSetup()})
	if len(p.Pins) != 20_000 {
		b.Fatalf("%d pins stand", len(p.Pins))
	}
	tb := s.openBrowser(b)
	open := func(link string) {
		tb.do(chromedp.Navigate(link), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
		tb.evaluate(`document.querySelector("#drawing").scrollIntoView({ behavior: "instant" }), ""`)
		tb.await(rested)
	}
	whole := func() { open(p.EditURL) }
	near := func(link string) {
		open(link)
		for range 5 {
			tb.evaluate(`[...document.querySelectorAll(".look-bar button")].find((b) => b.textContent === "Closer").click(), ""`)
		}
		tb.await(rested)
	}
	focus := func() { tb.evaluate(`document.querySelector("#drawing canvas").focus(), ""`) }
	for _, row := range []struct {
		name  string
		ready func()
		pan   func(x, y float64)
	}{
		{"the whole turn by wheel", whole, tb.panByWheel},
		{"a pin dragged at the whole turn", whole, tb.panByHand},
		{"near by wheel", func() { near(p.EditURL) }, tb.panByWheel},
		{"near by hand", func() { near(p.ViewURL) }, tb.panByHand}, // under the other link a hand that meets a pin drags it
		{"near by key", func() { near(p.EditURL); focus() }, tb.panByKey},
	} {
		b.Run(row.name, func(b *testing.B) {
			for b.Loop() {
				row.ready()
				var box struct{ X, Y, Width, Height float64 }
				tb.decode(`JSON.stringify(document.querySelector("#drawing canvas").getBoundingClientRect())`, &box)
				events := tb.trace(func() { row.pan(box.X+box.Width*0.6, box.Y+box.Height/2) })
				frames, task := frames(events)
				if len(frames) < 30 {
					b.Fatalf("%d frames were drawn", len(frames))
				}
				b.ReportMetric(float64(len(frames)), "frames")
				b.ReportMetric(middle(frames), "ms/median")
				b.ReportMetric(frames[len(frames)*95/100], "ms/95%")
				b.ReportMetric(frames[len(frames)-1], "ms/longest")
				b.ReportMetric(task, "ms/task")
			}
		})
	}
}

// rested comes when the page has painted three frames.
const rested = `new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => requestAnimationFrame(() => done("")))))`

func (tb *tab) panByWheel(x, y float64) {
	tb.t.Helper()
	tb.call(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, input.SynthesizeScrollGesture, input.SynthesizeScrollGestureParams{X: x, Y: y, XDistance: -3000, Speed: 1000, GestureSourceType: input.GestureSourceTypeMouse})
		return err
	})
}

func (tb *tab) panByHand(x, y float64) {
	tb.t.Helper()
	mouse := func(kind input.DispatchMouseEventType, x float64) {
		tb.call(func(ctx context.Context) error {
			return chromedp.Do(ctx, chromedp.MouseEvent(kind, x, y, chromedp.ButtonLeft))
		})
	}
	mouse(input.DispatchMouseEventTypeMousePressed, x)
	way := 7.0
	for at, start := x, time.Now(); time.Since(start) < 3*time.Second; at += way {
		if at > x+300 || at < x-300 {
			way = -way
		}
		mouse(input.DispatchMouseEventTypeMouseMoved, at+way)
	}
	mouse(input.DispatchMouseEventTypeMouseReleased, x)
}

func (tb *tab) panByKey(float64, float64) {
	tb.t.Helper()
	key := kb.ArrowRight
	for i, start := 1, time.Now(); time.Since(start) < 3*time.Second; i++ {
		if i%60 == 0 {
			key = map[string]string{kb.ArrowRight: kb.ArrowLeft, kb.ArrowLeft: kb.ArrowRight}[key]
		}
		tb.do(chromedp.KeyEvent(key, chromedp.KeyModifiers(chromedp.ModifierAlt)))
	}
}

// long is a tune of n notes, four in a quarter note, over 48 pitches; the comb of longSetup has three teeth of each, and the cylinder turns slowly
// enough for it.
func long(n int) []byte {
	var events [][]byte
	for i := range n {
		events = append(events, tunetest.Note(0, 1, byte(48+(i*5+i/7)%48), 24))
	}
	return tunetest.File(96, tunetest.Track(events...))
}

func longSetup() string {
	var pitches []string
	for p := 48; p < 96; p++ {
		pitches = append(pitches, strings.Repeat(fmt.Sprintf(",%d", p), 3)[1:])
	}
	return `{"tempo": {"mode": "written"}, "transpose": {"min": 0, "max": 0}, "drive": {"greatWheelRpm": 0.005},
		"comb": {"mode": "fixed", "pitches": [` + strings.Join(pitches, ",") + `]}, "cylinder": {"diameterMm": 400, "gapDeg": 0}}`
}

// traced is an event of Chromium's trace; times in µs.
type traced struct {
	Name     string
	Pid, Tid int
	Ts, Dur  float64
}

// trace gives what Chromium notes of a step.
func (tb *tab) trace(step func()) (events []traced) {
	tb.t.Helper()
	var mu sync.Mutex
	var raw []string
	done := make(chan struct{})
	listening, stop := context.WithCancel(tb.ctx)
	defer stop()
	tb.call(func(context.Context) error {
		return chromedp.Listen(listening, func(ev any) {
			mu.Lock()
			defer mu.Unlock()
			switch ev := ev.(type) {
			case *tracing.EventDataCollected:
				for _, v := range ev.Value {
					raw = append(raw, string(v))
				}
			case *tracing.EventTracingComplete:
				close(done)
			}
		})
	})
	tb.call(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, tracing.Start, tracing.StartParams{TraceConfig: &tracing.TraceConfig{
			IncludedCategories: []string{"devtools.timeline", "disabled-by-default-devtools.timeline", "disabled-by-default-devtools.timeline.frame", "devtools.timeline.frame"}}})
		return err
	})
	step()
	tb.call(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, tracing.End, struct{}{})
		return err
	})
	<-done
	mu.Lock()
	defer mu.Unlock()
	for _, text := range raw {
		var e traced
		if err := json.Unmarshal([]byte(text), &e); err == nil {
			events = append(events, e)
		}
	}
	return events
}

// frames gives the times between frames that were drawn from the first on that the page painted, from short to long, and the longest task of the page's
// thread, in ms.
func frames(events []traced) (apart []float64, task float64) {
	type thread struct{ pid, tid int }
	main, first := map[thread]bool{}, math.Inf(1) // threads of pages
	for _, e := range events {
		if e.Name == "FireAnimationFrame" {
			main[thread{e.Pid, e.Tid}] = true
			first = min(first, e.Ts)
		}
	}
	var drawn []float64
	for _, e := range events {
		switch {
		case e.Name == "DrawFrame" && e.Ts >= first:
			drawn = append(drawn, e.Ts)
		case e.Name == "RunTask" && main[thread{e.Pid, e.Tid}]:
			task = max(task, e.Dur/1000)
		}
	}
	slices.Sort(drawn)
	for i := range len(drawn) - 1 {
		apart = append(apart, (drawn[i+1]-drawn[i])/1000)
	}
	slices.Sort(apart)
	return apart, task
}

// decode reads the JSON that an expression of the page, or its promise, comes to.
func (tb *tab) decode(expression string, into any) {
	tb.t.Helper()
	if err := json.Unmarshal([]byte(tb.await(expression)), into); err != nil {
		tb.t.Fatal(err)
	}
}

// metrics gives what Chromium counts of the page, times in s.
func (tb *tab) metrics() map[string]float64 {
	tb.t.Helper()
	all := map[string]float64{}
	tb.call(func(ctx context.Context) error {
		if _, err := chromedp.Call(ctx, performance.Enable, performance.EnableParams{}); err != nil {
			return err
		}
		got, err := chromedp.Call(ctx, performance.GetMetrics, struct{}{})
		for _, m := range got.Metrics {
			all[m.Name] = m.Value
		}
		return err
	})
	return all
}

// served gives the times that the server took for the requests whose route ends so, in ms.
func (s *site) served(route string) (took []float64) {
	s.t.Helper()
	for line := range strings.Lines(s.log.String()) {
		var entry struct {
			Msg, Route string
			Ms         float64
		}
		if err := json.Unmarshal([]byte(line), &entry); err != nil {
			s.t.Fatal(err)
		}
		if entry.Msg == "request" && strings.HasSuffix(entry.Route, route) {
			took = append(took, entry.Ms)
		}
	}
	return took
}

// middle sorts figures and gives their median.
func middle(all []float64) float64 {
	slices.Sort(all)
	return all[len(all)/2]
}

func mean(all []float64) float64 {
	var sum float64
	for _, x := range all {
		sum += x
	}
	return sum / float64(len(all))
}

// BenchmarkPageFirstPaint opens the demo by its link as a slow telephone does: 1.6 Mbit/s, 150 ms to and fro, a processor four times slower than
// this one, nothing kept from before. Medians of five.
func BenchmarkPageFirstPaint(b *testing.B) {
	s := newSite(b)
	tb := s.openBrowser(b)
	tb.do(chromedp.Navigate(s.URL+"/"), loading(chromedp.Click(chromedp.CSS(`#demo button`))))
	edit := tb.evaluate(`location.href`)
	tb.call(func(ctx context.Context) error {
		if _, err := chromedp.Call(ctx, network.SetCacheDisabled, network.SetCacheDisabledParams{CacheDisabled: true}); err != nil {
			return err
		}
		if _, err := chromedp.Call(ctx, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
			MatchedNetworkConditions: []*network.Conditions{{Latency: 150, DownloadThroughput: 1.6e6 / 8, UploadThroughput: 1.6e6 / 8}}}); err != nil {
			return err
		}
		_, err := chromedp.Call(ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})
		return err
	})
	for b.Loop() {
		var content, answered, drawn []float64
		for range 5 {
			tb.do(loading(chromedp.Navigate(edit)), chromedp.WaitVisible(chromedp.CSS(`#drawing canvas`)))
			var at struct{ Content, Answered, Drawn float64 }
			tb.decode(`JSON.stringify({
				content: performance.getEntriesByName("first-contentful-paint")[0].startTime,
				answered: performance.getEntriesByType("navigation")[0].responseEnd,
				drawn: performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd })`, &at)
			content, answered, drawn = append(content, at.Content), append(answered, at.Answered), append(drawn, at.Drawn)
		}
		b.ReportMetric(middle(answered), "ms/page")
		b.ReportMetric(middle(content), "ms/first-contentful-paint")
		b.ReportMetric(middle(drawn), "ms/scripts")
	}
}
