package web

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

func TestPinsLieAsFarRightAsTheirAngle(t *testing.T) {
	r := result()
	d := Shown{}.Draw(r)
	if len(d.Pins) != len(r.Pins) {
		t.Fatalf("%d of %d pins are drawn", len(d.Pins), len(r.Pins))
	}
	for i, m := range d.Pins {
		if want := float64(r.Pins[i].AngleDeg) / 360 * turnWidth; math.Abs(m.X-want) > 1e-9 {
			t.Errorf("pin at %v° lies at %v, want %v", r.Pins[i].AngleDeg, m.X, want)
		}
	}
}

func TestTheHandPutsTheBassEndWhereItLies(t *testing.T) {
	for _, test := range []struct {
		end    pinmap.Side
		turns  pinmap.Turn
		bottom bool
	}{
		{pinmap.Left, pinmap.Up, true},
		{pinmap.Left, pinmap.Down, false},
		{pinmap.Right, pinmap.Up, false},
		{pinmap.Right, pinmap.Down, true},
	} {
		t.Run(string(test.end)+" "+string(test.turns), func(t *testing.T) {
			r := result()
			r.Cylinder.BassEnd, r.Cylinder.Turns = test.end, test.turns
			d := Shown{}.Draw(r)
			lowest, highest := d.Tracks[0], d.Tracks[len(d.Tracks)-1]
			if (lowest.Y > highest.Y) != test.bottom {
				t.Errorf("the lowest track lies at %v, the highest at %v; bass end at the bottom: %v", lowest.Y, highest.Y, test.bottom)
			}
			if (d.BassY > d.TrebleY) != test.bottom {
				t.Errorf("the label of the bass end lies at %v, that of the treble end at %v", d.BassY, d.TrebleY)
			}
			for i, m := range d.Pins {
				if want := d.Tracks[r.Pins[i].Tooth-1].Y; m.Y != want {
					t.Errorf("pin of tooth %d lies at %v, its track at %v", r.Pins[i].Tooth, m.Y, want)
				}
			}
		})
	}
}

func TestTheWakeLastsUntilTheToothIsFree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := result()
		turn := float64(r.Cylinder.RevolutionMs)
		repeat := rapid.Float64Range(1, turn).Draw(t, "repeat")
		for i := range r.Comb.Teeth {
			r.Comb.Teeth[i].RepeatMs = unit.Milliseconds(repeat)
		}
		d := Shown{}.Draw(r)
		for i, m := range d.Pins {
			if ms := m.WakePx / turnWidth * turn; math.Abs(ms-repeat) > 1e-6 {
				t.Fatalf("the wake lasts %v ms, the tooth needs %v", ms, repeat)
			}
			over := float64(r.Pins[i].AngleDeg)/360*turn+repeat > turn
			if m.Wraps != over {
				t.Fatalf("pin at %v°, %v ms: across the seam %v, drawn so %v", r.Pins[i].AngleDeg, repeat, over, m.Wraps)
			}
			// What is cut off at the seam goes on at the left edge: the same outline, one turn to the left.
			if tip, again := tipOf(t, d.wake(m, m.X)), tipOf(t, d.wake(m, m.X-turnWidth)); math.Abs(tip-again-turnWidth) > 0.11 {
				t.Fatalf("the wake ends at %v, its part across the seam at %v", tip, again)
			}
		}
	})
}

var secondPoint = regexp.MustCompile(`L(-?[\d.]+) `)

// tipOf gives where a wake ends.
func tipOf(t *rapid.T, outline string) float64 {
	match := secondPoint.FindStringSubmatch(outline)
	if match == nil {
		t.Fatalf("%q is no wake", outline)
	}
	x, err := strconv.ParseFloat(match[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func TestTheFirstPinsStandOnceMoreAcrossTheSeam(t *testing.T) {
	r := result()
	doc := render(t, surface(Shown{}.Draw(r)))
	within := 0
	for _, p := range r.Pins {
		if xOf(p.AngleDeg) <= ghostWidth {
			within++
		}
	}
	if within == 0 {
		t.Fatal("no pin lies near the datum line: the check looks at nothing")
	}
	if got := doc.Find(".ghost circle.dome").Length(); got != within {
		t.Errorf("%d pins stand once more, want %d", got, within)
	}
}

func TestTeethAreAsLongAsTheirPitchMakesThem(t *testing.T) {
	teeth := Shown{}.Draw(result()).Teeth
	for i, tooth := range teeth {
		for _, other := range teeth[:i] {
			f, g := pitchOf(t, tooth.Note), pitchOf(t, other.Note)
			if want := math.Sqrt(g / f); math.Abs(tooth.LengthPx/other.LengthPx-want) > 1e-9 {
				t.Errorf("%s is %v of %s, want %v", tooth.Note, tooth.LengthPx/other.LengthPx, other.Note, want)
			}
		}
	}
	if teeth[0].WeightW <= 0 || teeth[len(teeth)-1].WeightW != 0 {
		t.Errorf("weights of %v and %v; the lowest tooth carries one, the highest none", teeth[0].WeightW, teeth[len(teeth)-1].WeightW)
	}
}

func pitchOf(t *testing.T, name string) float64 {
	t.Helper()
	p, err := unit.ParsePitch(name)
	if err != nil {
		t.Fatal(err)
	}
	return float64(p.Frequency())
}

func TestLeftOutNotesStandOnTheTrackTheyWouldHaveNeeded(t *testing.T) {
	teeth := []project.ToothView{{Tooth: 1, Pitch: 60}, {Tooth: 2, Pitch: 64}, {Tooth: 3, Pitch: 64}, {Tooth: 4, Pitch: 67}}
	for _, test := range []struct {
		name  string
		pitch unit.Pitch
		want  float64
	}{
		{"a tooth has it", 60, 1},
		{"the first of twins", 64, 2},
		{"between two teeth", 62, 1.5},
		{"above twins", 65, 3.5},
		{"below the comb", 40, 0.5},
		{"above the comb", 90, 4.5},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := needed(teeth, test.pitch); got != test.want {
				t.Errorf("got %v, want %v", got, test.want)
			}
		})
	}
}

func TestMarksOfTheDrawing(t *testing.T) {
	r := result()
	d := Shown{}.Draw(r)
	doc := render(t, surface(d))
	for _, test := range []struct {
		name, selector string
		want           int
	}{
		{"each note left out is a ring", "circle.ring", len(r.Arrangement.Dropped)},
		{"both pins of a clash carry a notch", ".pin.clash .notch", 2},
		{"two moved notes and one shifted carry an arrow", ".arrow", 3},
		{"the locked pin carries a cross", ".cross", 1},
		{"every bar has its tick and number", "text.scale", 8 + 13 + 3},
		{"the drawing has a title", "svg > title", 1},
		{"and a description", "svg > desc", 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := doc.Find(test.selector).Length(); got != test.want {
				t.Errorf("%d of %s, want %d", got, test.selector, test.want)
			}
		})
	}
}

func TestAnArrowPointsToTheTrebleEndForUp(t *testing.T) {
	for _, bassBottom := range []bool{true, false} {
		d := Drawing{BassBottom: bassBottom, PinRadius: 5}
		up := d.arrowAt(PinMark{X: 100, Y: 100, Arrow: 1})
		down := d.arrowAt(PinMark{X: 100, Y: 100, Arrow: -1})
		if !bassBottom {
			up, down = down, up
		}
		if !strings.HasPrefix(up, "M100 94V86") || !strings.HasPrefix(down, "M100 106V114") {
			t.Errorf("bass at the bottom %v: toward the top %q, toward the bottom %q", bassBottom, up, down)
		}
	}
}

func TestTwentyThousandPinsThinToPoints(t *testing.T) {
	r := result()
	pin, note := r.Pins[0], r.Tune.Notes[0]
	r.Pins, r.Tune.Notes, r.Arrangement.Plucks, r.Findings = nil, nil, nil, nil
	const pins = 20_000
	for i := range pins {
		pin.Pin, pin.Note, note.ID = i+1, "n"+itoa(i+1), "n"+itoa(i+1)
		pin.Tooth = 1 + i%len(r.Comb.Teeth)
		pin.AngleDeg = unit.Degrees(9 + 340*float64(i)/pins)
		r.Pins = append(r.Pins, pin)
		r.Tune.Notes = append(r.Tune.Notes, note)
		r.Arrangement.Plucks = append(r.Arrangement.Plucks, project.Pluck{Note: note.ID, Tooth: pin.Tooth})
	}
	r.Findings = []arrange.Finding{{ID: "repeat-n7", Blocks: true, Notes: []string{"n7", "n9"}}}
	d := Shown{}.Draw(r)
	if got := strings.Count(d.Points, "M"); got != pins {
		t.Errorf("%d points, want %d", got, pins)
	}
	if len(d.Pins) != 2 {
		t.Errorf("%d pins are drawn one by one, want the two that clash", len(d.Pins))
	}
	m := model()
	m.Result = r
	var b strings.Builder
	if err := ProjectPage(m).Render(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	if b.Len() > 2<<20 {
		t.Errorf("the page has %d bytes, want at most 2 MiB", b.Len())
	}
}

func TestBarsTooCloseForFiguresKeepTheirTicks(t *testing.T) {
	r := result()
	turn := r.Cylinder.RevolutionMs
	r.Tune.Excerpt.Bars = nil
	for bar := range 200 {
		r.Tune.Excerpt.Bars = append(r.Tune.Excerpt.Bars, project.BarView{Number: bar + 1, StartMs: turn * 0.95 * unit.Milliseconds(bar) / 200})
	}
	d := Shown{}.Draw(r)
	labelled := slices.DeleteFunc(slices.Clone(d.Bars), func(t Tick) bool { return t.Label == "" })
	if len(d.Bars) != 200 || len(labelled) == 0 || float64(len(labelled)) > turnWidth/labelApart+1 {
		t.Errorf("%d ticks, %d with figures", len(d.Bars), len(labelled))
	}
	for i := 1; i < len(labelled); i++ {
		if labelled[i].X-labelled[i-1].X < labelApart {
			t.Errorf("figures %s and %s lie %v apart", labelled[i-1].Label, labelled[i].Label, labelled[i].X-labelled[i-1].X)
		}
	}
}

func TestADrawingOfNothingIsStillADrawing(t *testing.T) {
	r := result()
	r.Comb.Teeth, r.Pins, r.Arrangement = nil, nil, project.Arrangement{}
	doc := render(t, figure(Shown{}.Draw(r)))
	if doc.Find("svg.surface").Length() != 1 {
		t.Error("no drawing")
	}
	html, err := doc.Html()
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(html, "NaN") || strings.Contains(html, "Inf") {
		t.Error("the drawing holds a figure that is no number")
	}
}

func TestRingsAndBarTicksLieWhereTheirTimeComesRound(t *testing.T) {
	r := result()
	d := Shown{}.Draw(r)
	at := func(time unit.Milliseconds) float64 {
		return (float64(r.Cylinder.GapDeg)/2 + 360*float64(time/r.Cylinder.RevolutionMs)) / 360 * turnWidth
	}
	notes := notesByID(r)
	for i, ring := range d.Rings {
		if want := at(notes[r.Arrangement.Dropped[i].Note].OnsetMs); math.Abs(ring.X-want) > 1e-9 {
			t.Errorf("the ring of %s lies at %v, want %v", ring.Note, ring.X, want)
		}
	}
	for i, tick := range d.Bars {
		if want := at(r.Tune.Excerpt.Bars[i].StartMs); math.Abs(tick.X-want) > 1e-9 {
			t.Errorf("bar %s lies at %v, want %v", tick.Label, tick.X, want)
		}
	}
}

func TestNotesStampedOnTheCombDoNotOverlap(t *testing.T) {
	for _, teeth := range []int{1, 18, 72, 144} {
		r := result()
		r.Comb.Teeth = nil
		for i := range teeth {
			p := unit.Pitch(30 + i/2)
			r.Comb.Teeth = append(r.Comb.Teeth, project.ToothView{Tooth: i + 1, Pitch: p, Note: p.String(), FrequencyHz: p.Frequency()})
		}
		d := Shown{}.Draw(r)
		if !d.Teeth[0].Stamped {
			t.Errorf("%d teeth: the first bears no note", teeth)
		}
		last, stamped := math.Inf(1), 0
		for _, tooth := range d.Teeth {
			if !tooth.Stamped {
				continue
			}
			if apart := math.Abs(tooth.Y - last); apart < stampApart {
				t.Errorf("%d teeth: two notes lie %.1f px apart", teeth, apart)
			}
			last, stamped = tooth.Y, stamped+1
		}
		if stamped < min(teeth, 60) {
			t.Errorf("%d teeth: %d bear their note", teeth, stamped)
		}
	}
}
