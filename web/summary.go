package web

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// summary answers, in words, what a maker asks of a result before anything else.
type summary struct {
	Facts   string // comb, turn, pins, bars and tempo in one line
	Plays   string // how many notes play
	Worth   string // how good the choice is
	Changed string // what was left out and moved
	Key     string
	Clear   bool
	Verdict string // clear to drill, or what stands in the way
	Why     string // the first finding in the way; empty where there is none
	Where   string
	Mend    *arrange.Remedy // its best remedy
}

func (s Shown) summarize(r *project.Result) summary {
	sum := summary{
		Facts: s.facts(r), Plays: s.plays(r), Worth: s.worth(r.Arrangement), Changed: s.changed(r),
		Key: s.keyChange(r.Arrangement.Transpose), Clear: r.ClearToDrill, Verdict: s.say("Clear to drill."),
	}
	if r.ClearToDrill {
		if len(r.Pins) == 0 {
			sum.Verdict = s.say("Nothing stands in the way, and there is nothing to drill yet.")
		}
		return sum
	}
	sum.Verdict = s.say("Not clear to drill.")
	blocking := 0
	for i := range r.Findings {
		f := &r.Findings[i]
		if !f.Blocks {
			continue
		}
		blocking++
		if blocking == 1 {
			sum.Why, sum.Where, sum.Mend = s.tell(f.Text), s.where(*f), best(*f)
		}
	}
	if blocking > 0 {
		sum.Verdict = s.count(blocking, "Not clear to drill: one thing stands in the way.", "Not clear to drill: {1} things stand in the way.")
	}
	return sum
}

// Facts is the line that the page of a result has under its title, in English.
func Facts(r *project.Result) string { return Shown{}.facts(r) }

// facts is the line under the title.
func (s Shown) facts(r *project.Result) string {
	comb := s.count(len(r.Comb.Teeth), "the comb as given, one tooth", "the comb as given, {1} teeth")
	if r.Setup.Comb.Mode == "cut" {
		comb = s.count(len(r.Comb.Teeth), "one tooth cut for this tune", "{1} teeth cut for this tune")
	}
	e := r.Tune.Excerpt
	bars := s.say("bars {1}–{2}", e.FromBar, e.ToBar)
	if e.FromBar == e.ToBar {
		bars = s.say("bar {1}", e.FromBar)
	}
	if n := len(r.Tune.Bars); n > 0 {
		bars = s.say("{1} of {2}", bars, r.Tune.Bars[n-1])
	}
	return strings.Join([]string{
		sentence(comb), s.say("one turn in {1} s", fixed(r.Cylinder.RevolutionMs/1000, 2)), s.count(len(r.Pins), "one pin", "{1} pins"), bars, s.bpm(r.Tune),
	}, " · ")
}

// told says in sentences what the cylinder is, to someone who has not seen it made.
func (s Shown) told(r *project.Result) []string {
	c, teeth := r.Cylinder, r.Comb.Teeth
	words := []string{
		s.count(len(r.Pins), "The cylinder is {2} across and {3} long, set with one pin.", "The cylinder is {2} across and {3} long, set with {1} pins.",
			s.roundLength(c.DiameterMm, 2), s.roundLength(c.LengthMm, 2)),
		s.say("It turns once in {1} s.", fixed(c.RevolutionMs/1000, 2)),
	}
	if n := len(teeth); n > 0 {
		low, high := s.note(teeth[0].Note), s.note(teeth[n-1].Note)
		if r.Comb.Mode == "cut" {
			words = append(words, s.count(n, "The comb has one tooth, {2}, cut for this tune.", "The comb has {1} teeth, {2} to {3}, cut for this tune.", low, high))
		} else {
			words = append(words, s.count(n, "The comb has one tooth, {2}.", "The comb has {1} teeth, {2} to {3}.", low, high))
		}
	}
	e := r.Tune.Excerpt
	if e.FromBar == e.ToBar {
		return append(words, s.say("Bar {1} of the tune, {2}.", e.FromBar, s.tempo(r.Tune)))
	}
	return append(words, s.say("Bars {1} to {2} of the tune, {3}.", e.FromBar, e.ToBar, s.tempo(r.Tune)))
}

// card is what a program that previews the link shows of it.
func (m ViewModel) card(s Shown) card {
	return card{
		Title: m.Result.Title, Text: s.facts(m.Result) + ". " + s.plays(m.Result), Picture: m.PictureURL,
		PictureText: s.say("The cylinder of {1}, unrolled, with its comb", m.Result.Title),
	}
}

// bpm gives the tempo that is played, and the one written.
func (s Shown) bpm(t project.TuneView) string {
	if t.WrittenBPM <= 0 || t.PlayedBPM <= 0 {
		return s.say("tempo unknown")
	}
	return s.say("{1} bpm, written {2}", fixed(t.PlayedBPM, 1), fixed(t.WrittenBPM, 1))
}

// tempo says how far the tempo that is played is from the one written.
func (s Shown) tempo(t project.TuneView) string {
	if t.WrittenBPM <= 0 || t.PlayedBPM <= 0 {
		return s.say("tempo unknown")
	}
	change := 100 * (float64(t.PlayedBPM/t.WrittenBPM) - 1)
	switch {
	case math.Abs(change) < 0.05:
		return s.say("played at {1} bpm, as written", fixed(t.PlayedBPM, 1))
	case change > 0:
		return s.say("played at {1} bpm, {2} % faster than the {3} written", fixed(t.PlayedBPM, 1), fixed(change, 1), fixed(t.WrittenBPM, 1))
	}
	return s.say("played at {1} bpm, {2} % slower than the {3} written", fixed(t.PlayedBPM, 1), fixed(-change, 1), fixed(t.WrittenBPM, 1))
}

func (s Shown) plays(r *project.Result) string {
	all, plucked := len(r.Tune.Notes), len(r.Arrangement.Plucks)
	switch {
	case all == 0 && len(r.Tune.Parts) > 0 && !slices.ContainsFunc(r.Tune.Parts, func(p project.PartView) bool { return p.Notes > 0 }):
		return s.say("The tune has no note yet. Add the first one below.")
	case all == 0:
		return s.say("No note of this excerpt has a part that plays.")
	case all == 1 && plucked == 1:
		return s.say("Its one note plays.")
	case all == 1:
		return s.say("Its one note does not play.")
	case plucked == all:
		return s.say("Every one of {1} notes plays.", s.number(all))
	case plucked == 0:
		return s.say("None of {1} notes plays.", s.number(all))
	}
	return s.say("{1} of {2} notes play.", plucked, all)
}

// worth says how near the choice of key, teeth and octaves comes to the best there is.
func (s Shown) worth(a project.Arrangement) string {
	if a.TotalValue <= 0 {
		return ""
	}
	if a.Objective >= a.TotalValue-0.005 {
		return s.say("All of the tune's value is kept.")
	}
	kept := fixed(math.Min(99.9, 100*a.Objective/a.TotalValue), 1)
	if a.Proven {
		return s.say("{1} % of the tune's value is kept; nothing else that you allow keeps more (proven).", kept)
	}
	return s.say("{1} % of the tune's value is kept; it is proven that no choice keeps more than {2} %.", kept, fixed(100*math.Min(1, a.Bound/a.TotalValue), 1))
}

func (s Shown) changed(r *project.Result) string {
	moved, shifted := 0, 0
	for _, p := range r.Arrangement.Plucks {
		if p.Octaves != 0 {
			moved++
		}
		if p.ShiftMs != 0 {
			shifted++
		}
	}
	var parts []string
	if n := len(r.Arrangement.Dropped); n > 0 {
		parts = append(parts, s.count(n, "one note left out", "{1} notes left out"))
	}
	if moved > 0 {
		parts = append(parts, s.count(moved, "one note moved by octaves", "{1} notes moved by octaves"))
	}
	if shifted > 0 {
		parts = append(parts, s.count(shifted, "one note shifted in time", "{1} notes shifted in time"))
	}
	if len(parts) == 0 {
		return s.say("Nothing left out, nothing moved.")
	}
	return sentence(strings.Join(parts, ", ")) + "."
}

// best gives the remedy that clears its finding, raises no other and costs least; where none does all that, the first.
func best(f arrange.Finding) *arrange.Remedy {
	var chosen *arrange.Remedy
	for i := range f.Remedies {
		remedy := &f.Remedies[i]
		if slices.Contains(remedy.Clears, f.ID) && len(remedy.Raises) == 0 && (chosen == nil || remedy.ValueChange > chosen.ValueChange) {
			chosen = remedy
		}
	}
	if chosen == nil && len(f.Remedies) > 0 {
		chosen = &f.Remedies[0]
	}
	return chosen
}

// where says where on the tune and the cylinder a finding stands.
func (s Shown) where(f arrange.Finding) string {
	var parts []string
	if len(f.Notes) > 0 {
		parts = append(parts, s.place(f.Bar, f.Beat))
	}
	if len(f.Teeth) > 0 {
		numbers := make([]string, 0, len(f.Teeth))
		for _, t := range f.Teeth {
			numbers = append(numbers, fmt.Sprint(t))
		}
		words := s.say("tooth {1}", numbers[0])
		if len(numbers) > 1 {
			words = s.say("teeth {1}", strings.Join(numbers, ", "))
		}
		parts = append(parts, words)
	}
	if f.AngleDeg != nil {
		parts = append(parts, s.angle(*f.AngleDeg, 1))
	}
	return strings.Join(parts, " · ")
}
