package bench

import (
	"fmt"
	"math"
	"sort"
	"strconv"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// writeTables writes what belongs beside the sheets: findings, holes, comb, changes, cautions and assumptions.
func writeTables(p *pen, j Job, v verdict) {
	r := j.Result
	p.raw("<section class=\"list\">\n<h1>").text(r.Title).raw(": tables to the drill map</h1>\n")
	mark := "good"
	if !v.clear {
		mark = "bad"
	}
	p.raw(`<p class="`).raw(mark).raw(`">`).text(v.headline).raw("</p>\n")
	p.raw("<p>").text(fmt.Sprintf("Revision: %s. Date of the setup: %s.", strconv.Itoa(j.Revision), date(r.Setup.Date)))
	if j.FileName != "" {
		p.text(" File of the tune: " + j.FileName + ".")
	}
	p.raw("</p>\n")
	writeCautions(p)
	writeFindings(p, r)
	writeChanges(p, r)
	writeComb(p, r)
	writeAssumptions(p, r)
	writeHoles(p, r, "Holes by track", "Track by track from the bass end, in the order of angle.", byTrack(r))
	order := make([]int, len(r.Pins))
	for i := range order {
		order[i] = i
	}
	writeHoles(p, r, "Holes by angle", "In the order in which they reach the comb.", order)
	p.raw("</section>\n")
}

// cautions come from design.md, section 9: local rules first, then what can hurt, then what can spoil the work.
var cautions = [...]string{
	"Local codes and licensed practice come first. The numbers here are starting points from a model; your own measurement decides.",
	"Small drills break: wear eye protection, feed slowly, and wear no gloves near the spindle.",
	"A wound mainspring can injure: let it down under control before any gear or the governor is touched.",
	"A movement whose governor or a gear is removed while it is wound runs away and wrecks itself.",
	"Tip weights are often lead, and solder and cement give fumes: wear gloves for these, ventilate, wash your hands, keep lead from children and follow local rules on lead.",
}

func writeCautions(p *pen) {
	p.raw("<h2>Cautions</h2>\n<ul>")
	for _, c := range cautions {
		p.raw("<li>").text(c).raw("</li>\n")
	}
	p.raw("</ul>\n")
}

func writeFindings(p *pen, r *project.Result) {
	p.raw("<h2>Findings</h2>\n")
	if len(r.Findings) == 0 {
		p.raw("<p>None is left open.</p>\n")
		return
	}
	for _, part := range []struct {
		blocks bool
		name   string
	}{{true, "These stand in the way of drilling:"}, {false, "These do not stand in the way:"}} {
		open := false
		for _, f := range r.Findings {
			if f.Blocks != part.blocks {
				continue
			}
			if !open {
				p.raw("<p>").raw(part.name).raw("</p>\n<ul>")
				open = true
			}
			p.raw("<li>").text(where(f)).text(f.Text.String()).raw("</li>\n")
		}
		if open {
			p.raw("</ul>\n")
		}
	}
}

// where names the place of a finding, where it has one.
func where(f arrange.Finding) string {
	if len(f.Notes) == 0 {
		return ""
	}
	return fmt.Sprintf("Bar %d, beat %s: ", f.Bar, trim(f.Beat))
}

// writeChanges says in words what differs from the tune as written.
func writeChanges(p *pen, r *project.Result) {
	notes := make(map[string]arrange.Note, len(r.Tune.Notes))
	for _, n := range r.Tune.Notes {
		notes[n.ID] = n
	}
	p.raw("<h2>What was changed or left out</h2>\n<ul>")
	p.raw("<li>").text(key(r.Arrangement.Transpose)).raw("</li>\n")
	out := "none is left out"
	if n := len(r.Arrangement.Dropped); n > 0 {
		out = count(n, "is", "are") + " left out"
	}
	p.raw("<li>").text(count(len(r.Arrangement.Plucks), "note is", "notes are") + " played, " + out + ".").raw("</li>\n")
	for _, d := range r.Arrangement.Dropped {
		p.raw("<li>").text(called(notes[d.Note], d.Note) + " left out: " + d.Reason.String()).raw("</li>\n")
	}
	for _, pluck := range r.Arrangement.Plucks {
		if pluck.Octaves == 0 && pluck.ShiftMs == 0 {
			continue
		}
		p.raw("<li>").text(called(notes[pluck.Note], pluck.Note) + " is plucked as " + pluck.Pitch.String() + " on tooth " + strconv.Itoa(pluck.Tooth))
		if pluck.Octaves != 0 {
			p.text(", " + count(int(math.Abs(float64(pluck.Octaves))), "octave", "octaves") + upOrDown(pluck.Octaves))
		}
		if pluck.ShiftMs != 0 {
			p.text(fmt.Sprintf(", %s ms %s", trim(math.Abs(float64(pluck.ShiftMs))), lateOrEarly(float64(pluck.ShiftMs))))
		}
		p.raw("</li>\n")
	}
	p.raw("</ul>\n")
	if len(r.Decisions) > 0 {
		p.raw("<p>Decisions in force:</p>\n<ul>")
		for _, d := range r.Decisions {
			p.raw("<li>").text(d.Text.String()).raw("</li>\n")
		}
		p.raw("</ul>\n")
	}
}

// called names a note of the tune by its pitch as written and its place.
func called(n arrange.Note, id string) string {
	if n.ID == "" {
		return "note " + id
	}
	return fmt.Sprintf("%s in bar %d, beat %s,", n.Name, n.Bar, trim(n.Beat))
}

func key(semitones int) string {
	if semitones == 0 {
		return "The key is as written."
	}
	return "The tune is moved by " + count(int(math.Abs(float64(semitones))), "semitone", "semitones") + upOrDown(semitones) + "."
}

func upOrDown(n int) string {
	if n < 0 {
		return " down"
	}
	return " up"
}

func lateOrEarly(ms float64) string {
	if ms < 0 {
		return "early"
	}
	return "late"
}

func writeComb(p *pen, r *project.Result) {
	p.raw("<h2>Comb</h2>\n<table>\n<thead><tr><th>tooth</th><th class=\"t\">note</th><th>frequency Hz</th><th>twin</th><th>plucks</th>" +
		"<th>repeat needed ms</th><th>nearest ms</th><th class=\"t\">governed by</th></tr></thead>\n<tbody>\n")
	for _, t := range r.Comb.Teeth {
		p.raw("<tr><td>").int(t.Tooth).raw(`</td><td class="t">`).text(t.Note).raw("</td><td>").fixed(float64(t.FrequencyHz), 2).raw("</td><td>")
		if t.Twins > 1 {
			p.int(t.Twin).raw(" of ").int(t.Twins)
		} else {
			p.raw("none")
		}
		p.raw("</td><td>").int(t.Plucks).raw("</td><td>").fixed(float64(t.RepeatMs), 1).raw("</td><td>")
		if t.NearestMs != nil {
			p.fixed(float64(*t.NearestMs), 1)
		} else {
			p.raw("no repeat")
		}
		p.raw(`</td><td class="t">`).text(t.GovernedBy).raw("</td></tr>\n")
	}
	p.raw("</tbody>\n</table>\n")
}

// writeAssumptions lists the figures that everything was computed from.
func writeAssumptions(p *pen, r *project.Result) {
	c := r.Cylinder
	p.raw("<h2>Assumptions: measure your own</h2>\n<table class=\"whole\">\n<thead><tr><th class=\"t\">quantity</th><th>value</th><th class=\"t\">unit</th></tr></thead>\n<tbody>\n")
	for _, a := range []struct {
		name  string
		value float64
		unit  string
	}{
		{"diameter of the bare cylinder, D", float64(c.DiameterMm), "mm"},
		{"circumference at the bare surface, πD", float64(c.CircumferenceMm), "mm"},
		{"length", float64(c.LengthMm), "mm"},
		{"pin diameter", float64(c.PinDiameterMm), "mm"},
		{"pin projection", float64(c.PinProjectionMm), "mm"},
		{"depth of the holes", float64(c.HoleDepthMm), "mm"},
		{"least metal between two holes", float64(c.HoleWebMm), "mm"},
		{"tooth lift at release", float64(c.LiftMm), "mm"},
		{"tooth spacing", float64(c.ToothSpacingMm), "mm"},
		{"bass-end face to the first track", float64(c.FirstTrackMm), "mm"},
		{"gap", float64(c.GapDeg), "degrees"},
		{"paper thickness, p", float64(c.PaperMm), "mm"},
		{"one turn of the cylinder", float64(c.RevolutionMs), "ms"},
		{"damping", r.Setup.Comb.DampingCycles, "cycles"},
		{"least ring", float64(r.Setup.Comb.LeastRingMs), "ms"},
	} {
		p.raw(`<tr><td class="t">`).text(a.name).raw("</td><td>").text(trim(a.value)).raw(`</td><td class="t">`).raw(a.unit).raw("</td></tr>\n")
	}
	p.raw("</tbody>\n</table>\n")
}

// byTrack gives the indices of all pins track by track, in the order of angle on each.
func byTrack(r *project.Result) []int {
	order := make([]int, len(r.Pins))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool {
		x, y := r.Pins[order[a]], r.Pins[order[b]]
		if x.Tooth != y.Tooth {
			return x.Tooth < y.Tooth
		}
		return x.AngleDeg < y.AngleDeg
	})
	return order
}

func writeHoles(p *pen, r *project.Result, name, order string, pins []int) {
	p.raw(`<h2 class="page">`).raw(name).raw("</h2>\n<table>\n<caption>").text(order + fmt.Sprintf(" Arcs are at the bare surface, D = %s mm; the printed map "+
		"is stretched to D + p for the paper. Axial distances are from the bass-end face.", trim(float64(r.Cylinder.DiameterMm))))
	p.raw("</caption>\n<thead><tr><th class=\"t\">drilled</th><th>hole</th><th>tooth</th><th class=\"t\">note</th><th>angle °</th>" +
		"<th>arc mm</th><th>axial mm</th><th>bar</th><th>beat</th></tr></thead>\n<tbody>\n")
	before := 0
	for _, k := range pins {
		pin := r.Pins[k]
		if before != 0 && pin.Tooth != before && name == "Holes by track" {
			p.raw(`<tr class="new">`)
		} else {
			p.raw("<tr>")
		}
		before = pin.Tooth
		p.raw(`<td class="t"><i></i></td><td>`).int(pin.Pin).raw("</td><td>").int(pin.Tooth).raw(`</td><td class="t">`).text(toothNote(r, pin.Tooth))
		p.raw("</td><td>").fixed(float64(pin.AngleDeg), 3).raw("</td><td>").fixed(float64(pin.ArcMm), 3).raw("</td><td>").fixed(float64(pin.AxialMm), 3)
		p.raw("</td><td>").int(pin.Bar).raw("</td><td>").text(trim(pin.Beat)).raw("</td></tr>\n")
	}
	p.raw("</tbody>\n</table>\n")
}
