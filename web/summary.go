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
		Facts: facts(r), Plays: plays(r), Worth: worth(r.Arrangement), Changed: changed(r),
		Key: sentence(keyChange(r.Arrangement.Transpose)) + ".", Clear: r.ClearToDrill, Verdict: "Clear to drill.",
	}
	if r.ClearToDrill {
		if len(r.Pins) == 0 {
			sum.Verdict = "Nothing stands in the way, and there is nothing to drill yet."
		}
		return sum
	}
	sum.Verdict = "Not clear to drill."
	blocking := 0
	for i := range r.Findings {
		f := &r.Findings[i]
		if !f.Blocks {
			continue
		}
		blocking++
		if blocking == 1 {
			sum.Why, sum.Where, sum.Mend = s.Text(f.Text.String()), s.where(*f), best(*f)
		}
	}
	switch {
	case blocking == 1:
		sum.Verdict = "Not clear to drill: one thing stands in the way."
	case blocking > 1:
		sum.Verdict = "Not clear to drill: " + count(blocking, "", "things stand in the way") + "."
	}
	return sum
}

// Facts is the line that the page of a result has under its title.
func Facts(r *project.Result) string { return facts(r) }

// facts is the line under the title.
func facts(r *project.Result) string {
	comb := "the comb as given, " + count(len(r.Comb.Teeth), "tooth", "teeth")
	if r.Setup.Comb.Mode == "cut" {
		comb = count(len(r.Comb.Teeth), "tooth", "teeth") + " cut for this tune"
	}
	bars := fmt.Sprintf("bars %d–%d", r.Tune.Excerpt.FromBar, r.Tune.Excerpt.ToBar)
	if r.Tune.Excerpt.FromBar == r.Tune.Excerpt.ToBar {
		bars = fmt.Sprintf("bar %d", r.Tune.Excerpt.FromBar)
	}
	if n := len(r.Tune.Bars); n > 0 {
		bars += fmt.Sprintf(" of %d", r.Tune.Bars[n-1])
	}
	return strings.Join([]string{
		sentence(comb), "one turn in " + fixed(r.Cylinder.RevolutionMs/1000, 2) + " s", count(len(r.Pins), "pin", "pins"), bars, bpm(r.Tune),
	}, " · ")
}

// told says in sentences what the cylinder is, to someone who has not seen it made.
func (s Shown) told(r *project.Result) []string {
	c, teeth := r.Cylinder, r.Comb.Teeth
	words := []string{
		fmt.Sprintf("The cylinder is %s across and %s long, set with %s.", s.roundLength(c.DiameterMm, 2), s.roundLength(c.LengthMm, 2), count(len(r.Pins), "pin", "pins")),
		"It turns once in " + fixed(c.RevolutionMs/1000, 2) + " s.",
	}
	if n := len(teeth); n > 0 {
		comb := "The comb has " + count(n, "tooth", "teeth") + ", " + s.note(teeth[0].Note)
		if n > 1 {
			comb += " to " + s.note(teeth[n-1].Note)
		}
		if r.Comb.Mode == "cut" {
			comb += ", cut for this tune"
		}
		words = append(words, comb+".")
	}
	e := r.Tune.Excerpt
	bars := fmt.Sprintf("Bars %d to %d", e.FromBar, e.ToBar)
	if e.FromBar == e.ToBar {
		bars = fmt.Sprintf("Bar %d", e.FromBar)
	}
	return append(words, bars+" of the tune, "+tempo(r.Tune)+".")
}

// card is what a program that previews the link shows of it.
func (m ViewModel) card() card {
	return card{
		Title: m.Result.Title, Text: facts(m.Result) + ". " + plays(m.Result), Picture: m.PictureURL,
		PictureText: "The cylinder of " + m.Result.Title + ", unrolled, with its comb",
	}
}

// bpm gives the tempo that is played, and the one written.
func bpm(t project.TuneView) string {
	if t.WrittenBPM <= 0 || t.PlayedBPM <= 0 {
		return "tempo unknown"
	}
	return fixed(t.PlayedBPM, 1) + " bpm, written " + fixed(t.WrittenBPM, 1)
}

// tempo says how far the tempo that is played is from the one written.
func tempo(t project.TuneView) string {
	if t.WrittenBPM <= 0 || t.PlayedBPM <= 0 {
		return "tempo unknown"
	}
	change := 100 * (float64(t.PlayedBPM/t.WrittenBPM) - 1)
	switch {
	case math.Abs(change) < 0.05:
		return "played at " + fixed(t.PlayedBPM, 1) + " bpm, as written"
	case change > 0:
		return fmt.Sprintf("played at %s bpm, %s %% faster than the %s written", fixed(t.PlayedBPM, 1), fixed(change, 1), fixed(t.WrittenBPM, 1))
	}
	return fmt.Sprintf("played at %s bpm, %s %% slower than the %s written", fixed(t.PlayedBPM, 1), fixed(-change, 1), fixed(t.WrittenBPM, 1))
}

func plays(r *project.Result) string {
	all, plucked := len(r.Tune.Notes), len(r.Arrangement.Plucks)
	switch {
	case all == 0 && len(r.Tune.Parts) > 0 && !slices.ContainsFunc(r.Tune.Parts, func(p project.PartView) bool { return p.Notes > 0 }):
		return "The tune has no note yet. Add the first one below."
	case all == 0:
		return "No note of this excerpt has a part that plays."
	case all == 1 && plucked == 1:
		return "Its one note plays."
	case all == 1:
		return "Its one note does not play."
	case plucked == all:
		return "Every one of " + count(all, "note", "notes") + " plays."
	case plucked == 0:
		return "None of " + count(all, "note", "notes") + " plays."
	}
	return fmt.Sprintf("%d of %d notes play.", plucked, all)
}

// worth says how near the choice of key, teeth and octaves comes to the best there is.
func worth(a project.Arrangement) string {
	if a.TotalValue <= 0 {
		return ""
	}
	if a.Objective >= a.TotalValue-0.005 {
		return "All of the tune's value is kept."
	}
	kept := fixed(math.Min(99.9, 100*a.Objective/a.TotalValue), 1)
	if a.Proven {
		return kept + " % of the tune's value is kept; nothing else that you allow keeps more (proven)."
	}
	return fmt.Sprintf("%s %% of the tune's value is kept; it is proven that no choice keeps more than %s %%.", kept, fixed(100*math.Min(1, a.Bound/a.TotalValue), 1))
}

func changed(r *project.Result) string {
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
		parts = append(parts, count(n, "note", "notes")+" left out")
	}
	if moved > 0 {
		parts = append(parts, count(moved, "note", "notes")+" moved by octaves")
	}
	if shifted > 0 {
		parts = append(parts, count(shifted, "note", "notes")+" shifted in time")
	}
	if len(parts) == 0 {
		return "Nothing left out, nothing moved."
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
		parts = append(parts, place(f.Bar, f.Beat))
	}
	if len(f.Teeth) > 0 {
		numbers := make([]string, 0, len(f.Teeth))
		for _, t := range f.Teeth {
			numbers = append(numbers, fmt.Sprint(t))
		}
		word := "tooth "
		if len(numbers) > 1 {
			word = "teeth "
		}
		parts = append(parts, word+strings.Join(numbers, ", "))
	}
	if f.AngleDeg != nil {
		parts = append(parts, s.angle(*f.AngleDeg, 1))
	}
	return strings.Join(parts, " · ")
}
