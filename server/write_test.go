package main

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// written gives each note of the tune as its page states it, by time: "C5 1:1.5" is C5 in bar 1, beat 1.5.
func (tb *tab) written() string {
	tb.t.Helper()
	return tb.evaluate(`(() => {
		const pins = JSON.parse(document.getElementById("scene").textContent);
		return pins.pins.note.map((_, i) => pins.teeth[pins.pins.tooth[i] - 1].note + " " + pins.pins.bar[i] + ":" + pins.pins.beat[i]).join(", ");
	})()`)
}

// canvasPoint gives where on the drawing a track lies at an angle, in px of the page's window, as "x y".
const canvasPoint = `(async (tooth, deg) => {
	const at = document.querySelector("script[type=module][src]").src;
	const [surface, paint, scenes] = await Promise.all(["surface", "paint", "scene"].map(name => import(new URL(name + ".js", at))));
	const s = surface.surfaceOf(scenes.sceneIn(document));
	const canvas = document.querySelector(".look canvas");
	canvas.scrollIntoView({ block: "center", behavior: "instant" });
	await new Promise(requestAnimationFrame);
	const box = canvas.getBoundingClientRect(), comb = box.width < 560 ? 92 : 210;
	const view = surface.whole(s, box.width - comb, box.height - paint.upper - paint.lower);
	return (box.left + comb + (deg / 360 * s.around - view.left) * view.scale) + " " + (box.top + paint.upper + (s.tracks[tooth] - view.top) * view.scale);
})`

// point gives a point of the drawing.
func (tb *tab) point(tooth int, deg float64) (x, y float64) {
	tb.t.Helper()
	if _, err := fmt.Sscan(tb.await(fmt.Sprintf("%s(%d, %g)", canvasPoint, tooth, deg)), &x, &y); err != nil {
		tb.t.Fatal(err)
	}
	return x, y
}

// TestWritingByHand starts from nothing, types a tune by keys alone, writes more on the brass and by a keyboard, and opens the drill map.
func TestWritingByHand(t *testing.T) {
	s := newSite(t)
	maker := s.openBrowser(t)
	maker.do(chromedp.Navigate(s.URL+"/"), chromedp.Focus(chromedp.CSS(`#blank button`)), loading(chromedp.KeyEvent("\r")), atRevision(0))
	edit := maker.evaluate(`location.href`)
	wantWords(t, maker.evaluate(`document.getElementById("writing").innerText`), "Bar 1, beat 1; step half a beat; octave 5.", "no tooth yet", "type the first notes")

	maker.do(chromedp.Focus(chromedp.CSS(`#write-keys`)), chromedp.KeyEvent("1c"), chromedp.KeyEvent("d2e fG3ag c"), atRevision(8))
	if got, want := maker.written(), "C5 1:1, D5 1:2, E5 1:3, F5 1:4, G#5 1:4.5, A5 2:1, G5 2:1.25, C6 2:1.75"; got != want {
		t.Errorf("the pins are %s; want %s", got, want)
	}
	if focus := maker.evaluate(`document.activeElement.id`); focus != "write-keys" {
		t.Errorf("after the page was drawn anew the focus is on %q; want it where notes are typed", focus)
	}
	wantWords(t, maker.evaluate(`document.getElementById("write-keys").innerText`), "Bar 2, beat 2; step a quarter of a beat; octave 6.", "E5, rest, F5, G#5, A5, G5, rest, C6")
	maker.wantFits("the page of a tune that is typed")

	t.Run("a note is raised, and taken out by undo", func(t *testing.T) {
		maker.t = t
		maker.do(chromedp.KeyEvent("e#"), atRevision(10))
		if got := maker.written(); !strings.HasSuffix(got, "F6 2:2") {
			t.Errorf("the pins are %s", got)
		}
		maker.do(chromedp.KeyEvent("\b"), atRevision(11), chromedp.KeyEvent("\b"), atRevision(12), chromedp.KeyEvent("\b"))
		wantWords(t, maker.evaluate(`document.getElementById("write-says").textContent`), "Bar 2, beat 1.5;")
		maker.do(chromedp.KeyEvent(" c"), atRevision(13))
		if got := maker.written(); !strings.HasSuffix(got, "G5 2:1.25, C6 2:1.75") {
			t.Errorf("the pins are %s", got)
		}
	})

	t.Run("what is refused leaves the place where it was", func(t *testing.T) {
		maker.t = t
		maker.refusals++
		before := maker.evaluate(`document.getElementById("write-says").textContent`)
		maker.evaluate(`(() => { const keys = document.getElementById("write-keys"); for (let i = 0; i < 300; i++) keys.dispatchEvent(new KeyboardEvent("keydown", { key: "PageDown" })); return ""; })()`)
		far := maker.evaluate(`document.getElementById("write-says").textContent`)
		maker.do(chromedp.KeyEvent("c"), chromedp.WaitReady(chromedp.CSS(`#problem`)))
		wantWords(t, maker.evaluate(`document.getElementById("problem").innerText`), "bar 302")
		maker.until("the place is as it was", fmt.Sprintf(`document.getElementById("write-says").textContent === %q`, far))
		maker.evaluate(`(() => { const keys = document.getElementById("write-keys"); for (let i = 0; i < 300; i++) keys.dispatchEvent(new KeyboardEvent("keydown", { key: "PageUp" })); keys.focus(); return ""; })()`)
		if now := maker.evaluate(`document.getElementById("write-says").textContent`); now != before {
			t.Errorf("the place is %q; it was %q", now, before)
		}
	})

	t.Run("a click on the brass writes a note, a drag moves it by steps", func(t *testing.T) {
		maker.t = t
		const fifth, beat = 180.0, 342.0 / 32 // degrees: the fifth of eight bars, and a beat, where the gap is 18
		click := func(tooth int, deg float64) chromedp.Action[chromedp.Void] {
			x, y := maker.point(tooth, deg)
			return chromedp.MouseClickXY(x, y)
		}
		maker.do(click(1, fifth+1))
		wantWords(t, maker.evaluate(`document.getElementById("look-says").textContent`), "Tooth 1, C5")
		maker.do(chromedp.Click(chromedp.CSS(`#write-brass`)), chromedp.SetValue(chromedp.CSS(`#write-step`), "a whole beat"))
		maker.do(click(1, fifth+1), atRevision(14))
		if got := maker.written(); !strings.HasSuffix(got, ", C5 5:1") {
			t.Errorf("the pins are %s; want C5 in bar 5 last", got)
		}
		tooth, err := strconv.Atoi(maker.evaluate(`(() => { const { pins } = JSON.parse(document.getElementById("scene").textContent); return String(pins.tooth[pins.bar.indexOf(5)]); })()`))
		if err != nil {
			t.Fatal(err) // one of the teeth alike
		}
		fromX, fromY := maker.point(tooth, fifth)
		toX, toY := maker.point(tooth, fifth+2.2*beat)
		maker.do(chromedp.DragAndDropXY(fromX, fromY, toX, toY), atRevision(15))
		if got := maker.written(); !strings.HasSuffix(got, ", C5 5:3") {
			t.Errorf("the pins are %s; want C5 in bar 5 beat 3 last", got)
		}
		if pins := strings.Count(maker.written(), ",") + 1; pins != 9 {
			t.Errorf("%d pins; want 9", pins)
		}
	})

	t.Run("the drill map has a hole a note", func(t *testing.T) {
		look := s.openTab(maker.ctx)
		look.t = t
		look.do(chromedp.Navigate(edit+"/map"), chromedp.WaitReady(chromedp.CSS(`circle[data-pin]`)))
		if holes := look.evaluate(`String(new Set([...document.querySelectorAll("circle[data-pin]")].map((hole) => hole.dataset.pin)).size)`); holes != "9" {
			t.Errorf("the map has %s holes; want 9", holes)
		}
	})

	t.Run("keys of a keyboard pressed together are a chord", func(t *testing.T) {
		maker.t = t
		maker.evaluate(`(() => {
			window.keyboard = { state: "connected", name: "Small keys", onmidimessage: null };
			navigator.requestMIDIAccess = async () => ({ inputs: new Map([["1", keyboard]]), onstatechange: null });
			return "";
		})()`)
		maker.do(chromedp.Click(chromedp.CSS(`#write-listen`)))
		maker.until("the page listens", `document.getElementById("write-heard").textContent === "Listening to Small keys."`)
		maker.evaluate(`(() => {
			const at = performance.now();
			for (const [pitch, ms] of [[72, 0], [76, 12], [79, 29]]) keyboard.onmidimessage({ data: new Uint8Array([0x90, pitch, 80]), timeStamp: at + ms });
			return "";
		})()`)
		maker.do(atRevision(16))
		if got := maker.written(); !strings.Contains(got, "C5 2:2, E5 2:2, G5 2:2") {
			t.Errorf("the pins are %s", got)
		}
		wantWords(t, maker.evaluate(`document.getElementById("write-keys").innerText`), "Bar 2, beat 3;", "C5 with E5 with G5")
	})
	maker.t = t
	maker.wantQuiet()
}
