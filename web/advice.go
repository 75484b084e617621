package web

import (
	"math"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// adviceView is the section with advice about the comb; before it is asked for, Advice is nil.
type adviceView struct {
	Advice    *project.Advice
	AskURL    string // of the page with the advice in it
	DecideURL string // empty on a page that cannot change anything
	Revision  string
	Chart     chart
	Offers    []offerView
}

// offerView is a piece of advice with a button that takes it.
type offerView struct {
	Label, Effect, Cost string
	Decision            arrange.Decision
}

func (m ProjectModel) adviceView(s Shown) adviceView {
	v := adviceView{Advice: m.Advice, AskURL: m.PageURL + "?advice=1#advice", DecideURL: m.DecideURL, Revision: m.revision()}
	if m.Advice != nil {
		v.Chart, v.Offers = s.drawLine(m.Advice, len(m.Result.Comb.Teeth)), s.offers(m.Advice, m.Result.Setup.Comb.Mode == "cut")
	}
	return v
}

func (m ViewModel) adviceView(s Shown) adviceView {
	v := adviceView{Advice: m.Advice, AskURL: m.PageURL + "?advice=1#advice"}
	if m.Advice != nil {
		v.Chart = s.drawLine(m.Advice, len(m.Result.Comb.Teeth))
	}
	return v
}

// offers lists what of an advice can be taken with a click and brings something, and the other keys.
func (s Shown) offers(a *project.Advice, cut bool) []offerView {
	var all []offerView
	add := func(label, effect string, change float64, proven bool, d arrange.Decision) {
		switch {
		case proven:
		case effect == "":
			effect = s.say("not proven")
		default:
			effect = s.say("{1}, not proven", effect)
		}
		all = append(all, offerView{label, effect, s.costShare(change, a.TotalValue), d})
	}
	if m := a.OneMore; m != nil && m.ValueChange > 0 {
		label, effect := s.say("Cut one more tooth"), s.exchange(*m)
		if !cut {
			label, effect = s.say("Add a tooth, {1}", s.noteNames(m.Added)), s.count(m.Teeth, "one tooth", "{1} teeth")
		}
		add(label, effect, m.ValueChange, m.Proven, m.Decision)
	}
	for _, r := range a.Retunings {
		add(s.say("Retune {1} to {2}", s.noteNames(r.Removed), s.noteNames(r.Added)), "", r.ValueChange, r.Proven, r.Decision)
	}
	for _, k := range a.Keys {
		add(s.setKey(k.Transpose), "", k.ValueChange, k.Proven, k.Decision)
	}
	if t := a.Tempo; t != nil && t.Left == 0 {
		all = append(all, offerView{s.say("Slow the cylinder to {1} s a turn", fixed(t.RevolutionMs/1000, 2)),
			s.say("no tooth is plucked too soon; {1} bpm", fixed(t.PlayedBPM, 1)), "", t.Decision})
	}
	return all
}

// setKey says to play the tune so many semitones from where it is written.
func (s Shown) setKey(semitones int) string {
	switch {
	case semitones == 0:
		return s.say("Set the key as written")
	case semitones > 0:
		return s.count(semitones, "Set the key one semitone up", "Set the key {1} semitones up")
	}
	return s.count(-semitones, "Set the key one semitone down", "Set the key {1} semitones down")
}

// exchange says how a comb to be cut would differ.
func (s Shown) exchange(c project.CombChange) string {
	if len(c.Removed) > 0 {
		return s.count(c.Teeth, "one tooth, with {2} in place of {3}", "{1} teeth, with {2} in place of {3}", s.noteNames(c.Added), s.noteNames(c.Removed))
	}
	return s.count(c.Teeth, "one tooth, with {2}", "{1} teeth, with {2}", s.noteNames(c.Added))
}

// mostNamed is how many notes a line names.
const mostNamed = 6

// noteNames lists notes, the first of many.
func (s Shown) noteNames(notes []unit.NoteName) string {
	names := make([]string, 0, mostNamed)
	for i, n := range notes {
		if i == mostNamed {
			return s.count(len(notes)-i, "{2} and one more", "{2} and {1} more", strings.Join(names, ", "))
		}
		names = append(names, s.pitch(n.Pitch()))
	}
	return strings.Join(names, ", ")
}

// costShare says what a change takes or brings, as a share of the tune's value.
func (s Shown) costShare(change, total float64) string {
	if total <= 0 || math.Abs(change) < 1e-6 {
		return s.say("costs nothing")
	}
	words := s.share(math.Abs(change), total)
	if change < 0 {
		return s.say("costs {1}", words)
	}
	return s.say("brings {1}", words)
}

// share writes a value as a share of the tune's: "93.9 %". Only what is all of it is 100 %, and only what is nothing 0 %.
func (s Shown) share(value, total float64) string {
	if total <= 0 {
		return "0 %"
	}
	switch p := 100 * value / total; {
	case p > 1e-6 && p < 0.05:
		return s.say("under 0.1 %")
	case p < 100-1e-6:
		return short(min(p, 99.9), 1) + " %"
	}
	return "100 %"
}

// unbroken keeps a figure and its unit on one line.
func unbroken(s string) string { return strings.ReplaceAll(s, " %", "\u00a0%") }

// chart draws the value of the best comb of each number of teeth as a comb of its own, each tooth as long as the share that is kept.
type chart struct {
	Teeth   []chartTooth
	Now     int     // teeth of the comb as it stands
	NowX    string  // of its pin, across
	NowY    float64 // of its pin, down
	NowText string
	Anchor  string // of its text: start, middle or end
	Marks   []chartMark
	Says    string // the same in words
}

type chartTooth struct {
	X, Width    string
	Y, Height   float64
	Class       string
	Number      int
	Kept, Gain  string // in words, for the table
	MoreOrEqual bool   // reports whether it is not proven that no comb keeps more
}

type chartMark struct{ X, Text string }

// The chart stretches with the page across, so that places across are shares; down they are pixels.
const (
	chartTop    = 28.0
	chartLength = 144.0 // of a tooth that keeps all
	chartFoot   = chartTop + chartLength
)

// mostDrawn is the number of teeth that the chart has room for, the longest line that advice gives; of a dense tune it may hold
// the larger combs only.
const mostDrawn = 72

func (s Shown) drawLine(a *project.Advice, now int) chart {
	n := mostDrawn
	across := func(tooth, part float64) string {
		return strconv.FormatFloat(100*(tooth-1+part)/float64(n), 'f', 2, 64) + "%"
	}
	down := func(objective float64) float64 {
		if a.TotalValue <= 0 {
			return chartFoot
		}
		return math.Round((chartFoot-chartLength*min(1, max(0, objective/a.TotalValue)))*10) / 10
	}
	c := chart{Now: now, Anchor: "middle"}
	before := math.NaN()
	for _, p := range a.Line {
		if p.Teeth == 1 {
			before = 0
		}
		t := chartTooth{X: across(float64(p.Teeth), .15), Width: strconv.FormatFloat(70/float64(n), 'f', 2, 64) + "%", Y: down(p.Objective),
			Number: p.Teeth, Kept: s.share(p.Objective, a.TotalValue), Gain: s.say("unknown"), MoreOrEqual: !p.Proven}
		t.Height = chartFoot + 4 - t.Y
		if !math.IsNaN(before) {
			t.Gain = s.share(max(0, p.Objective-before), a.TotalValue)
		}
		switch {
		case p.Teeth == c.Now:
			t.Class = "now"
		case p.Teeth > c.Now:
			t.Class = "beyond"
		}
		c.Teeth = append(c.Teeth, t)
		before = p.Objective
	}
	at := min(max(c.Now, 1), n)
	c.NowX, c.NowY = across(float64(at), .5), down(a.Objective)
	c.NowText = s.count(c.Now, "now one tooth, {2}", "now {1} teeth, {2}", s.share(a.Objective, a.TotalValue))
	switch {
	case at < n/4:
		c.Anchor = "start"
	case at > 3*n/4:
		c.Anchor = "end"
	}
	for _, tooth := range []int{1, 12, 24, 36, 48, 60, 72} {
		if tooth <= n {
			c.Marks = append(c.Marks, chartMark{across(float64(tooth), .5), strconv.Itoa(tooth)})
		}
	}
	c.Says = s.count(c.Now, "Value kept by the best comb of each number of teeth. The comb as it stands has one tooth and keeps {2}.",
		"Value kept by the best comb of each number of teeth. The comb as it stands has {1} teeth and keeps {2}.", s.share(a.Objective, a.TotalValue))
	if last := len(a.Line) - 1; last >= 0 {
		c.Says += " " + s.count(c.Teeth[0].Number, "The best comb of one tooth keeps {2}, that of {3} keeps {4}.", "The best comb of {1} teeth keeps {2}, that of {3} keeps {4}.",
			c.Teeth[0].Kept, c.Teeth[last].Number, c.Teeth[last].Kept)
	}
	return c
}
