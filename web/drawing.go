package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// Sizes of the drawing, in pixels at its natural size.
const (
	turnWidth   = 1076.0 // one turn of the cylinder
	ghostWidth  = 64.0   // beyond the seam, where the first pins appear once more
	combWidth   = 236.0
	plateLeft   = 6.0
	longTooth   = 168.0 // the longest tooth, root to tip
	upperScale  = 40.0  // height of the bar scale
	lowerScale  = 46.0  // height of the scale of degrees
	endMargin   = 22.0  // of bare cylinder beyond the outermost tracks
	stampApart  = 12.0  // least distance of two notes stamped on the comb
	labelApart  = 30.0  // least distance of two figures on the bar scale
	mostDomes   = 1500  // with more pins than this, pins thin to points
	mostSignals = 400   // most marks beside pins once they are points
)

// Drawing is the unrolled cylinder with the comb at its left edge, laid out in pixels. Angle runs to the right.
type Drawing struct {
	Height            float64
	Top, Bottom       float64 // edges of the cylinder
	Tracks            []TrackLine
	Teeth             []ToothShape
	Plate             string // outline of the comb's plate
	Screws            []float64
	Pins              []PinMark // one by one; of many pins, only those that carry a mark
	Points            string    // path of all pins as points, where there are many
	Tones             string    // path of their wakes
	PinRadius         float64
	Rings             []RingMark // notes that are left out
	Bars              []Tick
	Degrees           []Tick
	GapWidth          float64 // on either side of the datum line
	GapY              float64
	BassBottom        bool
	BassY, TrebleY    float64
	Title             string
	Text              string
	Clash, Moved, Cut bool // which marks the legend explains
	Locked, Shifted   bool
	page              string // on which a note's panel can be asked for; empty where none can
}

// TrackLine is the ring of the cylinder that passes one tooth.
type TrackLine struct {
	Tooth int
	Y     float64
}

// ToothShape is one tooth as it is cut.
type ToothShape struct {
	Tooth    int
	Note     string
	Y        float64
	LengthPx float64
	Stamped  bool // with its note; of teeth that stand close, not each
	Outline  string
	Light    string // the edge that catches the light
	WeightX  float64
	WeightW  float64 // 0 where the tooth carries none
	WeightY  float64
	WeightH  float64
}

// PinMark is one pin with its wake.
type PinMark struct {
	Note    string
	X, Y    float64
	WakePx  float64 // from the pin to where the tooth is free again
	Wraps   bool    // the wake crosses the seam and goes on at the left edge
	Again   bool    // the pin appears once more across the seam
	Clash   bool
	Locked  bool
	Arrow   int // 1 moved up in pitch, -1 down
	Later   int // 1 shifted later, -1 earlier
	Caption string
}

// RingMark is a note that is left out, where its pin would have stood.
type RingMark struct {
	Note    string
	X, Y    float64
	Caption string
}

// Tick is a mark on a scale; those without a label stand too close for one.
type Tick struct {
	X     float64
	Label string
	Major bool
}

// Draw lays out the drawing of a result.
//
// The bass end lies at the bottom where (bassEnd = left) = (turns = up), else at the top: the outside of the cylinder
// as it is unrolled with the angle growing to the right.
func (s Shown) Draw(r *project.Result) Drawing {
	teeth := len(r.Comb.Teeth)
	step := math.Max(9, math.Min(25, 900/math.Max(1, float64(teeth))))
	d := Drawing{Top: upperScale}
	d.Bottom = d.Top + 2*endMargin + step*math.Max(0, float64(teeth-1))
	d.Height = d.Bottom + lowerScale
	d.BassBottom = (r.Cylinder.BassEnd == pinmap.Left) == (r.Cylinder.Turns == pinmap.Up)
	d.BassY, d.TrebleY = d.Bottom-7, d.Top+14
	if !d.BassBottom {
		d.BassY, d.TrebleY = d.TrebleY, d.BassY
	}
	d.GapWidth = xOf(r.Cylinder.GapDeg / 2)
	d.GapY = (d.Top + d.Bottom) / 2
	d.PinRadius = math.Max(2.4, math.Min(math.Min(5.2, 0.32*step), turnWidth*float64(r.Cylinder.PinDiameterMm/r.Cylinder.CircumferenceMm)/2))

	lay := layout{shown: s, r: r, step: step, d: &d}
	lay.comb()
	lay.pins()
	lay.rings()
	lay.scales()
	d.Title = s.say("The cylinder of {1}, unrolled, with its comb", r.Title)
	d.Text = s.say("{1} on {2}, one turn in {3} s. Angle runs to the right from the datum line, the bass end is at the {4}. The pins are listed below the drawing.",
		sentence(s.count(len(r.Pins), "one pin", "{1} pins")), s.count(teeth, "one track", "{1} tracks"), fixed(r.Cylinder.RevolutionMs/1000, 2), s.say(d.bassSide()))
	return d
}

func (d Drawing) bassSide() string {
	if d.BassBottom {
		return "bottom"
	}
	return "top"
}

// xOf gives where an angle lies.
func xOf(angle unit.Degrees) float64 { return float64(angle) / 360 * turnWidth }

type layout struct {
	shown Shown
	r     *project.Result
	step  float64
	d     *Drawing
}

// y gives where a track lies; a tooth number with a fraction lies between two tracks.
func (l layout) y(tooth float64) float64 {
	if l.d.BassBottom {
		return l.d.Bottom - endMargin - (tooth-1)*l.step
	}
	return l.d.Top + endMargin + (tooth-1)*l.step
}

// comb draws the teeth as long as 1/√f makes them, the longest a fixed length, the low ones with the weight that a
// comb of practical length needs under them.
func (l layout) comb() {
	lowest := math.Inf(1)
	for _, t := range l.r.Comb.Teeth {
		lowest = math.Min(lowest, float64(t.FrequencyHz))
	}
	tip := combWidth - 3
	stamp := math.Inf(-1)
	for _, t := range l.r.Comb.Teeth {
		y, f := l.y(float64(t.Tooth)), float64(t.FrequencyHz)
		length := longTooth * math.Sqrt(lowest/f)
		root, wide, narrow := tip-length, 0.40*l.step, 0.25*l.step
		shape := ToothShape{
			Tooth: t.Tooth, Note: l.shown.note(t.Note), Y: y, LengthPx: length,
			Outline: fmt.Sprintf("M%s %sL%s %sL%s %sL%s %sV%sL%s %sL%s %sL%s %sz", px(root-6), px(y-wide), px(root), px(y-wide),
				px(tip-7), px(y-narrow), px(tip), px(y-0.5*narrow), px(y+0.5*narrow), px(tip-7), px(y+narrow), px(root), px(y+wide), px(root-6), px(y+wide)),
			Light: fmt.Sprintf("M%s %sL%s %s", px(root), px(y-wide+0.7), px(tip-7), px(y-narrow+0.7)),
		}
		if math.Abs(y-stamp) >= stampApart {
			shape.Stamped, stamp = true, y
		}
		// Weights begin about where an unweighted tooth would grow too long for the comb; their size is a sketch.
		if heavy := math.Log2(1000 / f); heavy > 0 {
			shape.WeightW = math.Min(0.34*length, 16+14*heavy)
			shape.WeightX = tip - 9 - shape.WeightW
			shape.WeightH = 0.86 * l.step
			shape.WeightY = y - shape.WeightH/2
		}
		l.d.Teeth = append(l.d.Teeth, shape)
		l.d.Tracks = append(l.d.Tracks, TrackLine{Tooth: t.Tooth, Y: y})
	}
	l.plate(tip)
}

// plate is the body of the comb: its edge follows the roots of the teeth.
func (l layout) plate(tip float64) {
	if len(l.d.Teeth) == 0 {
		return
	}
	var b strings.Builder
	half := l.step / 2
	first, last := l.d.Teeth[0], l.d.Teeth[len(l.d.Teeth)-1]
	sign := half // from the bass end to the treble end on the page
	if l.d.BassBottom {
		sign = -half
	}
	fmt.Fprintf(&b, "M%s %sL%s %s", px(plateLeft), px(first.Y-1.3*sign), px(tip-first.LengthPx), px(first.Y-1.3*sign))
	for _, t := range l.d.Teeth {
		fmt.Fprintf(&b, "L%s %sV%s", px(tip-t.LengthPx), px(t.Y-sign), px(t.Y+sign))
	}
	fmt.Fprintf(&b, "V%sH%sz", px(last.Y+1.3*sign), px(plateLeft))
	l.d.Plate = b.String()
	for _, part := range []float64{0.12, 0.5, 0.88} {
		l.d.Screws = append(l.d.Screws, first.Y+(last.Y-first.Y)*part)
	}
	if len(l.d.Teeth) < 6 {
		l.d.Screws = l.d.Screws[1:2]
	}
}

func (l layout) pins() {
	clashes := clashing(l.r.Findings)
	plucks := map[string]project.Pluck{}
	for _, p := range l.r.Arrangement.Plucks {
		plucks[p.Note] = p
	}
	var points, tones strings.Builder
	many := len(l.r.Pins) > mostDomes
	for _, pin := range l.r.Pins {
		if pin.Tooth < 1 || pin.Tooth > len(l.r.Comb.Teeth) {
			continue
		}
		tooth, pluck := l.r.Comb.Teeth[pin.Tooth-1], plucks[pin.Note]
		m := PinMark{
			Note: pin.Note, X: xOf(pin.AngleDeg), Y: l.y(float64(pin.Tooth)),
			WakePx: turnWidth * math.Min(1, float64(tooth.RepeatMs/l.r.Cylinder.RevolutionMs)),
			Clash:  clashes[pin.Note], Locked: pluck.Locked,
			Arrow: sign(float64(pluck.Octaves)), Later: sign(float64(pluck.ShiftMs)),
		}
		m.Wraps = m.X+m.WakePx > turnWidth
		m.Again = m.X <= ghostWidth
		l.d.Clash = l.d.Clash || m.Clash
		l.d.Moved = l.d.Moved || m.Arrow != 0
		l.d.Shifted = l.d.Shifted || m.Later != 0
		l.d.Locked = l.d.Locked || m.Locked
		if many {
			fmt.Fprintf(&points, "M%s %sh0", px(m.X), px(m.Y))
			fmt.Fprintf(&tones, "M%s %sh%s", px(m.X), px(m.Y), px(math.Min(m.WakePx, turnWidth-m.X)))
			if m.Wraps {
				fmt.Fprintf(&tones, "M0 %sh%s", px(m.Y), px(m.X+m.WakePx-turnWidth))
			}
			if !m.Clash || len(l.d.Pins) >= mostSignals {
				continue
			}
		}
		m.Caption = l.shown.say("{1}, tooth {2}, {3}, {4}", l.shown.note(tooth.Note), pin.Tooth, l.shown.place(pin.Bar, pin.Beat), l.shown.angle(pin.AngleDeg, 2))
		l.d.Pins = append(l.d.Pins, m)
	}
	l.d.Points, l.d.Tones = points.String(), tones.String()
}

// clashing gives the notes of the findings that stand in the way of drilling.
func clashing(findings []arrange.Finding) map[string]bool {
	notes := map[string]bool{}
	for _, f := range findings {
		if f.Blocks {
			for _, n := range f.Notes {
				notes[n] = true
			}
		}
	}
	return notes
}

// rings puts a left-out note on the track it would have needed: the tooth's where there is one, between two tracks
// where the comb has none of its pitch, and at the edge of the cylinder beyond the outermost teeth.
func (l layout) rings() {
	notes := notesByID(l.r)
	for _, dropped := range l.r.Arrangement.Dropped {
		note, ok := notes[dropped.Note]
		if !ok || len(l.d.Rings) >= mostDomes {
			continue
		}
		angle := l.r.Cylinder.GapDeg/2 + unit.Degrees(360*float64(note.OnsetMs/l.r.Cylinder.RevolutionMs))
		l.d.Rings = append(l.d.Rings, RingMark{
			Note: note.ID, X: xOf(angle), Y: l.y(needed(l.r.Comb.Teeth, note.Pitch+unit.Pitch(l.r.Arrangement.Transpose))),
			Caption: l.shown.say("{1} left out, {2}", l.shown.note(note.Name), l.shown.place(note.Bar, note.Beat)),
		})
	}
	l.d.Cut = len(l.d.Rings) > 0
}

// needed gives the tooth that a pitch needs, with a half for a place between two teeth or beyond the last.
func needed(teeth []project.ToothView, pitch unit.Pitch) float64 {
	below := 0
	for _, t := range teeth {
		if t.Pitch == pitch {
			return float64(t.Tooth)
		}
		if t.Pitch < pitch {
			below = t.Tooth
		}
	}
	return float64(below) + 0.5
}

func (l layout) scales() {
	free := math.Inf(-1)
	for _, bar := range l.r.Tune.Excerpt.Bars {
		// A bar that begins with a rest has its line in the gap, before the first note.
		angle := l.r.Cylinder.GapDeg/2 + unit.Degrees(360*float64(bar.StartMs/l.r.Cylinder.RevolutionMs))
		tick := Tick{X: xOf(angle), Major: true}
		if tick.X < 0 || tick.X > turnWidth {
			continue
		}
		if tick.X-free >= labelApart {
			tick.Label, free = strconv.Itoa(bar.Number), tick.X
		}
		l.d.Bars = append(l.d.Bars, tick)
	}
	for deg := 0; deg <= 360; deg += 10 {
		tick := Tick{X: xOf(unit.Degrees(deg)), Major: deg%30 == 0}
		if tick.Major {
			tick.Label = strconv.Itoa(deg)
		}
		l.d.Degrees = append(l.d.Degrees, tick)
	}
}

// wake gives the outline of a pin's wake, beginning at x: the height of the pin where it stands, nothing where the tooth
// is free again.
func (d Drawing) wake(m PinMark, x float64) string {
	half := 0.95 * d.PinRadius
	return fmt.Sprintf("M%s %sL%s %sL%s %sz", px(x), px(m.Y-half), px(x+m.WakePx), px(m.Y), px(x), px(m.Y+half))
}

// viewBox gives that of a part of the drawing as wide as width.
func (d Drawing) viewBox(width float64) string { return "0 0 " + px(width) + " " + px(d.Height) }

// px writes a length on the page to a tenth of a pixel.
func px(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

func sign(v float64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

func notesByID(r *project.Result) map[string]arrange.Note {
	notes := make(map[string]arrange.Note, len(r.Tune.Notes))
	for _, n := range r.Tune.Notes {
		notes[n.ID] = n
	}
	return notes
}
