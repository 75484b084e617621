package main

import (
	"context"
	"encoding/json"
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pinwright/arrange/unit"
)

// eavesdrop notes the loudest sample that the page sends to the loudspeaker from now on, as window.loudest.
const eavesdrop = `(() => {
	const connect = AudioNode.prototype.connect;
	AudioNode.prototype.connect = function (to, ...rest) {
		if (to instanceof AudioDestinationNode && this.context instanceof AudioContext) {
			const meter = new AnalyserNode(this.context, { fftSize: 2048 });
			connect.call(this, meter);
			const heard = new Float32Array(meter.fftSize);
			window.loudest = 0;
			setInterval(() => { meter.getFloatTimeDomainData(heard); window.loudest = Math.max(window.loudest, ...heard.map(Math.abs)); }, 10);
		}
		return connect.call(this, to, ...rest);
	};
	return "";
})()`

// ownModules imports the page's own scripts.
const ownModules = `const at = document.querySelector("script[type=module][src]").src;
	const [listening, player, voice] = await Promise.all(["listen", "player", "voice"].map(name => import(new URL(name + ".js", at))));`

// listenClosely renders one turn of each tooth by itself, with the page's own cues and its own comb, and gives as JSON where sound begins
// after silence and how far from its frequency the tooth rings, by the phase that it gains between two windows of 20 ms.
const listenClosely = `(async () => {` + ownModules + `
	const { scene } = listening.pagePlayer();
	const rate = 44100, heard = [];
	for (let tooth = 1; tooth <= scene.teeth.length; tooth++) {
		const score = voice.arranged(scene, new Set([tooth]));
		if (score.plucks.length === 0) continue;
		const cues = voice.between(voice.turn(score, 1), score.turnMs, 0, score.turnMs);
		const context = new OfflineAudioContext(1, Math.ceil(rate * (score.turnMs / 1000 + 0.1)), rate);
		const ring = await player.ringOn(context, [
			{ kind: "comb", teeth: score.teeth.map(t => voice.voice(t, score.quality, rate)) },
			{ kind: "cues", ...voice.columns(cues, ms => ms * rate / 1000) }]);
		ring.connect(context.destination);
		const sound = (await context.startRendering()).getChannelData(0);
		const onsets = [];
		for (let i = 0, quiet = 0; i < sound.length; i++) {
			if (Math.abs(sound[i]) < 0.02) { quiet++; continue; }
			if (quiet > rate * 0.05 || onsets.length === 0) onsets.push(i);
			quiet = 0;
		}
		const hz = scene.teeth[tooth - 1].hz, length = Math.round(0.02 * rate), apart = Math.round(0.03 * rate);
		const phase = from => {
			let re = 0, im = 0;
			for (let i = 0; i < length; i++) {
				const turned = 2 * Math.PI * hz * (from + i) / rate, x = sound[from + i] * (1 - Math.cos(2 * Math.PI * i / length));
				re += x * Math.cos(turned);
				im -= x * Math.sin(turned);
			}
			return Math.atan2(im, re);
		};
		const first = onsets[0] + Math.round(0.005 * rate);
		let gained = phase(first + apart) - phase(first);
		gained -= 2 * Math.PI * Math.round(gained / 2 / Math.PI);
		heard.push({ tooth, hz: hz + gained / 2 / Math.PI * rate / apart, onsetsMs: onsets.map(i => i * 1000 / rate) });
	}
	return JSON.stringify(heard);
})()`

// await evaluates a promise in the page.
func (tb *tab) await(expression string) string {
	tb.t.Helper()
	ctx, cancel := context.WithTimeout(tb.ctx, 40*time.Second)
	defer cancel()
	value, err := chromedp.Run(ctx, chromedp.Evaluate[string](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		tb.t.Fatal(err)
	}
	return value
}

// until waits until an expression of the page is true; the page's player is at hand as `player`.
func (tb *tab) until(what, expression string) {
	tb.t.Helper()
	ctx, cancel := context.WithTimeout(tb.ctx, 20*time.Second)
	defer cancel()
	if _, err := chromedp.Run(ctx, chromedp.Poll[bool](`(() => { const player = window.playerHere; return `+expression+`; })()`)); err != nil {
		tb.t.Fatalf("%s: %v", what, err)
	}
}

// wantPins checks that each pin of the result is heard within 5 ms of its time and within 5 cents of its tooth's frequency.
func (tb *tab) wantPins(g got) {
	tb.t.Helper()
	var result struct {
		Comb struct {
			Teeth []struct {
				Tooth       int        `json:"tooth"`
				FrequencyHz unit.Hertz `json:"frequencyHz"`
			} `json:"teeth"`
		} `json:"comb"`
		Cylinder struct {
			GapDeg       float64 `json:"gapDeg"`
			RevolutionMs float64 `json:"revolutionMs"`
		} `json:"cylinder"`
		Pins []struct {
			Tooth  int     `json:"tooth"`
			TimeMs float64 `json:"timeMs"`
		} `json:"pins"`
	}
	if err := json.Unmarshal(g.body, &result); err != nil {
		tb.t.Fatal(err)
	}
	var heard []struct {
		Tooth    int       `json:"tooth"`
		Hz       float64   `json:"hz"`
		OnsetsMs []float64 `json:"onsetsMs"`
	}
	if err := json.Unmarshal([]byte(tb.await(listenClosely)), &heard); err != nil {
		tb.t.Fatal(err)
	}
	lead := result.Cylinder.GapDeg / 720 * result.Cylinder.RevolutionMs // half of the gap lies before the first onset
	found := 0
	var worstMs, worstCents float64
	for _, h := range heard {
		var want []float64
		for _, p := range result.Pins {
			if p.Tooth == h.Tooth {
				want = append(want, lead+p.TimeMs)
			}
		}
		if len(want) != len(h.OnsetsMs) {
			tb.t.Errorf("tooth %d is heard %d times at %.0f ms; its pins are at %.0f ms", h.Tooth, len(h.OnsetsMs), h.OnsetsMs, want)
			continue
		}
		for i, at := range h.OnsetsMs {
			worstMs = max(worstMs, math.Abs(at-want[i]))
			found++
		}
		worstCents = max(worstCents, math.Abs(1200*math.Log2(h.Hz/float64(result.Comb.Teeth[h.Tooth-1].FrequencyHz))))
	}
	if found == 0 || found != len(result.Pins) {
		tb.t.Errorf("%d of %d pins are heard", found, len(result.Pins))
	}
	tb.t.Logf("%d pins are heard within %.2f ms and %.3f cents", found, worstMs, worstCents)
	if !(worstMs <= 5) || !(worstCents <= 5) {
		tb.t.Errorf("a pin is heard %.2f ms from its time, a tooth %.2f cents from its frequency; want at most 5 of each", worstMs, worstCents)
	}
}

const (
	playOnce   = chromedp.CSS(`#listen-once`)
	playOn     = chromedp.CSS(`#listen-on`)
	stopButton = chromedp.CSS(`#listen-stop`)
)

// prepareToListen sets up what until and wantPins need.
func (tb *tab) prepareToListen() {
	tb.t.Helper()
	tb.do(chromedp.WaitVisible(playOnce))
	tb.evaluate(eavesdrop)
	tb.await(`(async () => {` + ownModules + ` window.playerHere = listening.pagePlayer(); return ""; })()`)
}

// hears plays the project of an edit page in all ways, and changes it while it turns.
func (tb *tab) hears(t *testing.T, s *site, token string) {
	tb.prepareToListen()
	if opened := tb.evaluate(`String("loudest" in window)`); opened != "false" {
		t.Error("audio was opened before anything was played")
	}
	tb.do(chromedp.Click(playOnce))
	tb.until("sound", `player.playing && player.once && player.deg > 0 && window.loudest > 0.02`)
	tb.wantPins(s.get("/api/projects/"+token).wantStatus(t, 200))
	tb.do(chromedp.Click(stopButton))
	tb.until("stopped", `!player.playing && player.deg > 0`)

	tb.do(chromedp.Click(playOn))
	tb.evaluate(`(() => { const speed = document.getElementById("listen-speed"); speed.value = "6"; speed.dispatchEvent(new Event("input", { bubbles: true })); return ""; })()`)
	tb.until("turning twice as fast", `player.playing && !player.once && player.speed === 2`)
	wantWords(t, tb.evaluate(`document.getElementById("listen-pace").value`), "twice the speed")
	tb.do(chromedp.Click(chromedp.CSS(`#listen-written`)), chromedp.Click(chromedp.CSS(`#listen-teeth summary`)), chromedp.Click(chromedp.CSS(`#listen-tooth-2`)))

	before, err := strconv.Atoi(tb.evaluate(`document.getElementById("fragment").dataset.revision`))
	if err != nil {
		t.Fatal(err)
	}
	tb.evaluate(`window.anglesBack = 0; window.lastAngle = 0; playerHere.addEventListener("turning", () => { const back = window.lastAngle - playerHere.deg; if (back > 0.01 && back < 300) window.anglesBack++; window.lastAngle = playerHere.deg; }); ""`)
	tb.do(chromedp.Click(undo), atRevision(before+1))
	state := tb.evaluate(`[playerHere.playing, playerHere.written, document.getElementById("listen-written").checked, document.getElementById("listen-tooth-2").checked, document.getElementById("listen-speed").value, document.getElementById("listen-on").ariaPressed, document.getElementById("listen-teeth").open].join(" ")`)
	if state != "true true true true 6 true true" {
		t.Errorf("after a change the page is at %q", state)
	}
	tb.evaluate(`window.redrawnAt = playerHere.deg; ""`)
	tb.until("turning on with the pins that stand now", `Math.abs(player.deg - window.redrawnAt) > 5 && player.scene.deciding.revision === `+strconv.Itoa(before+1))
	if n := tb.evaluate(`String(window.anglesBack)`); n != "0" {
		t.Errorf("the cylinder turned back %s times", n)
	}
	tb.do(chromedp.Click(redo), atRevision(before+2))

	tb.evaluate(`document.activeElement.blur(); ""`)
	tb.do(chromedp.KeyEvent(" "))
	tb.until("space stops", `!player.playing`)
	tb.do(chromedp.KeyEvent(" "))
	tb.until("space plays", `player.playing`)
	tb.do(chromedp.KeyEvent(" "))
	tb.until("space stops", `!player.playing`)

	tb.until("silence", `(window.loudest < 0.001) || (window.loudest = 0, false)`)
	tb.evaluate(`document.querySelector(".notes .line").click(); ""`)
	tb.do(chromedp.Click(chromedp.CSS(`.panel.current [data-hear]`)))
	tb.until("one note by itself", `!player.playing && window.loudest > 0.1`)
}
