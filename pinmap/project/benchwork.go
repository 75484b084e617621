package project

import (
	"math"
	"slices"
	"sort"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/tolerance"
)

// mostAtRisk is how many pins a result names as those most at risk.
const mostAtRisk = 10

// need gives the repeat time of a tooth.
func (d *derivation) need(tooth int) unit.Milliseconds {
	return d.action.Recover(d.solution.Teeth[tooth-1]).RepeatMs
}

// indexed gives how the holes are set, worked out once.
func (d *derivation) indexed() *indexing.Table {
	if d.table == nil {
		t := indexing.Of(d.setup.Bench, d.setup.Cylinder, d.timing.turn, d.pins)
		d.table = &t
	}
	return d.table
}

// tolerated gives what may be expected of the holes as drilled, worked out once.
func (d *derivation) tolerated() *tolerance.Report {
	if d.report == nil {
		r := tolerance.Of(d.setup.Bench, d.setup.Cylinder, d.timing.turn, d.pins, d.indexed().Rows, d.need)
		d.report = &r
	}
	return d.report
}

func (d *derivation) benchView() BenchView {
	t, r := d.indexed(), d.tolerated()
	v := BenchView{Method: t.Method, Circle: t.Circle, Exact: t.Exact, WorstErrorDeg: t.WorstDeg, WorstErrorMm: t.WorstMm, WorstErrorMs: t.WorstMs,
		RMSErrorDeg: t.RMSDeg, RMSErrorMm: t.RMSMm, RMSErrorMs: t.RMSMs, SigmaMm: r.SigmaMm, JitterMs: r.JitterMs, Risk: unit.Round(r.Risk), RiskMost: unit.Round(r.RiskMost),
		Failing: unit.Round(r.Failing), Heard: unit.Round(r.Heard), AtRisk: []PinAtRisk{}}
	for _, p := range r.Pins[:min(len(r.Pins), mostAtRisk)] {
		if chance := unit.Round(p.Chance); chance > 0 {
			v.AtRisk = append(v.AtRisk, PinAtRisk{d.pins[p.Pin].Pin, chance})
		}
	}
	return v
}

// setHow says how holes are set with the method at hand, after "Set".
func (d *derivation) setHow() phrase.Phrase {
	switch b := d.setup.Bench; b.Method {
	case pinmap.Degrees:
		return phrase.Of("in steps of {1}°", figure(float64(b.LeastDeg), 6))
	case pinmap.Sixties:
		return phrase.Of("in steps of {1}″", figure(b.LeastSec, 6))
	case pinmap.Head:
		return phrase.Of("on the {1} circle of the dividing head", d.indexed().Circle)
	case pinmap.Wheel:
		return phrase.Of("on an index wheel of {1} divisions", b.WheelDivisions)
	case pinmap.Vernier:
		return phrase.Of("in steps of {1} mm along the arc", figure(float64(b.LeastMm), 6))
	}
	return phrase.Of("in steps of the motor")
}

// misset gives a finding for each repeat and each web that holds as computed and that the method of indexing breaks. The wrap rounds nothing.
func (d *derivation) misset() []arrange.Finding {
	if d.setup.Bench.Method == pinmap.Wrap {
		return nil
	}
	var all []arrange.Finding
	add := func(a, b pinmap.Pin, have, need float64, of string, text func() phrase.Phrase) {
		f := d.about(arrange.Indexing, d.byID[b.Note])
		f.ID += "-" + a.Note
		f.Blocks = true
		f.Notes = []string{b.Note, a.Note}
		f.Teeth = []int{b.Tooth}
		if a.Tooth != b.Tooth {
			f.Teeth = append(f.Teeth, a.Tooth)
		}
		f.Have, f.Need = amount(have, of), amount(need, of)
		if !d.mute {
			f.Text = text()
		}
		all = append(all, f)
	}
	if f, ok := d.coarse(); ok {
		all = append(all, f)
	}
	repeats, webs := indexing.Broken(d.indexed().Rows, d.pins, d.setup.Cylinder, d.timing.turn, d.need)
	for _, r := range repeats {
		add(d.pins[r.A], d.pins[r.B], float64(r.HaveMs), float64(r.NeedMs), "ms", func() phrase.Phrase {
			pitch := d.solution.Teeth[r.Tooth-1]
			have, need := shortfall(r.HaveMs, r.NeedMs)
			return phrase.Of("Set {1}, {2} comes again after {3} in place of {4}; this tooth needs {5}, {6}.", d.setHow(), pitch, have, ms(r.ComputedMs), need,
				governs(d.action.Recover(pitch).GovernedBy))
		})
	}
	for _, w := range webs {
		a, b := d.pins[w.A], d.pins[w.B]
		add(a, b, float64(w.DistanceMm), float64(w.NeedMm), "mm", func() phrase.Phrase {
			return phrase.Of("Set {1}, the holes of teeth {2} and {3} lie {4} mm apart; they need {5} mm between centres.", d.setHow(), a.Tooth, b.Tooth,
				figure(float64(w.DistanceMm), 3), figure(float64(w.NeedMm), 3))
		})
	}
	return all
}

// coarseID is that of the finding about a method which rounds farther than a note may be moved.
const coarseID = string(arrange.Indexing) + "-coarse"

// coarse gives a finding where the method's rounding moves a release farther in time than the user allows a note to be shifted.
func (d *derivation) coarse() (arrange.Finding, bool) {
	set, most := d.indexed(), d.setup.Limits.ShiftMs
	if set.WorstMs <= most {
		return arrange.Finding{}, false
	}
	f := arrange.Finding{ID: coarseID, Kind: arrange.Indexing, Blocks: true, Have: amount(float64(set.WorstMs), "ms"), Need: amount(float64(most), "ms")}
	if !d.mute {
		f.Text = phrase.Of("Set {1}, a hole lies up to {2}° from its place, and its tooth sounds {3} early or late; you allow notes to be shifted by {4} at most.", d.setHow(),
			figure(float64(set.WorstDeg), 3), ms(set.WorstMs), ms(most))
	}
	return f, true
}

// risky gives a finding where the chance that some repeat fails is above what the user allows.
func (d *derivation) risky() []arrange.Finding {
	most := d.mostRisk()
	switch {
	case d.setup.Bench.MostRisk == 0 || len(d.pins) == 0:
		return nil
	case !tolerance.Exceeds(most, d.setup.Bench, d.setup.Cylinder, d.timing.turn, d.pins, d.indexed().Rows, d.need):
		return nil
	case d.mute:
		return []arrange.Finding{{ID: string(arrange.Risk), Kind: arrange.Risk}}
	}
	r := d.tolerated()
	first := r.Repeats[0]
	f := arrange.Finding{ID: string(arrange.Risk), Kind: arrange.Risk, Teeth: []int{first.Tooth}, Have: amount(100*r.RiskMost, "%"), Need: amount(100*most, "%")}
	for _, p := range r.Pins[:min(len(r.Pins), mostAtRisk)] {
		f.Notes = append(f.Notes, d.pins[p.Pin].Note)
	}
	pitch := d.solution.Teeth[first.Tooth-1]
	sigma := figure(float64(r.SigmaMm), 4)
	f.Text = phrase.Of("Holes set and drilled to {1} mm (standard deviation, along the arc) let some repeat fail with a chance of {2}; you allow {3}. Most at risk is {4}, which comes again after {5} and needs {6}.",
		sigma, percent(r.RiskMost), percent(most), placed(pitch, d.pins[first.B].Bar, d.pins[first.B].Beat), ms(first.HaveMs), ms(first.NeedMs))
	return []arrange.Finding{f}
}

// mostRisk gives the chance above which there is a finding; below one in a million none is told apart.
func (d *derivation) mostRisk() float64 { return max(d.setup.Bench.MostRisk, 1e-6) }

// percent writes a chance, with more decimals the smaller it is.
func percent(chance float64) string {
	p := 100 * chance
	switch {
	case p >= 10:
		return figure(p, 1) + " %"
	case p >= 0.1:
		return figure(p, 2) + " %"
	}
	return figure(p, 4) + " %"
}

// short gives a finding where the cylinder at hand is too short for the comb.
func (d *derivation) short() []arrange.Finding {
	c, teeth := d.setup.Cylinder, len(d.solution.Teeth)
	need := d.holdsMm()
	if c.LengthMm == 0 || teeth == 0 || c.LengthMm >= need-1e-6 {
		return nil
	}
	f := arrange.Finding{ID: string(arrange.Short), Kind: arrange.Short, Blocks: true, Have: amount(float64(c.LengthMm), "mm"), Need: amount(float64(need), "mm"),
		Text: phrase.Plural(teeth, phrase.Of("The cylinder at hand is {1} mm long; a comb of 1 tooth needs {2} mm, with the metal beyond its track.", figure(float64(c.LengthMm), 3), figure(float64(need), 3)),
			phrase.Of("The cylinder at hand is {1} mm long; a comb of {2} teeth needs {3} mm, with the metal beyond its last track.", figure(float64(c.LengthMm), 3), teeth, figure(float64(need), 3)))}
	for tooth := 1; tooth <= teeth; tooth++ {
		if c.HoldsMm(tooth) > c.LengthMm+1e-6 {
			f.Teeth = append(f.Teeth, tooth)
		}
	}
	return []arrange.Finding{f}
}

// holdsMm gives the length below which a cylinder does not hold the holes of its comb and of what stands beside it.
func (d *derivation) holdsMm() unit.Millimetres {
	c := d.setup.Cylinder
	if d.setup.Beside == nil {
		return c.HoldsMm(len(d.solution.Teeth))
	}
	return d.leastLengthMm() - c.FirstTrackMm + c.PinDiameterMm/2 + c.HoleWebMm
}

// shortOffers makes a comb fit a cylinder, or the other way round.
func (d *derivation) shortOffers() []offer {
	c, teeth := d.setup.Cylinder, len(d.solution.Teeth)
	cylinder := func(field string, v float64) arrange.Decision {
		return d.change(false, map[string]any{"cylinder": map[string]any{field: v}})
	}
	long := math.Ceil(float64(d.holdsMm())*10-1e-6) / 10
	all := []offer{{phrase.Of("Use a cylinder {1} mm long", figure(long, 1)), cylinder("lengthMm", long)}}
	over := d.holdsMm() - c.LengthMm
	half := c.PinDiameterMm/2 + c.HoleWebMm
	if first := math.Floor(float64(c.FirstTrackMm-over)*100+1e-6) / 100; first >= float64(half) {
		all = append(all, offer{phrase.Of("Put the first track {1} mm from the end", figure(first, 2)), cylinder("firstTrackMm", first)})
	}
	if teeth > 1 {
		spacing := math.Floor(float64(c.ToothSpacingMm-over/unit.Millimetres(teeth-1))*100+1e-6) / 100
		if spacing >= float64(c.PinDiameterMm+c.HoleWebMm) {
			all = append(all, offer{phrase.Of("Space the teeth {1} mm apart", figure(spacing, 2)), cylinder("toothSpacingMm", spacing)})
		}
	}
	return all
}

// tool is another way to set the holes.
type tool struct {
	offer
	bench pinmap.Bench
}

func (d *derivation) tool(label phrase.Phrase, b pinmap.Bench, field string, value any) tool {
	return tool{offer{label, d.change(false, map[string]any{"bench": map[string]any{field: value}})}, b}
}

// methods gives the other methods, finer ones first.
func (d *derivation) methods() []tool {
	var all []tool
	for _, m := range []struct {
		method pinmap.Method
		label  phrase.Phrase
	}{
		{pinmap.Head, phrase.Of("Set the holes with a dividing head")},
		{pinmap.Stepper, phrase.Of("Set the holes with a stepping motor")},
		{pinmap.Sixties, phrase.Of("Set the holes by degrees, minutes and seconds")},
		{pinmap.Degrees, phrase.Of("Set the holes by decimal degrees")},
		{pinmap.Wheel, phrase.Of("Set the holes with an index wheel")},
		{pinmap.Vernier, phrase.Of("Set the holes by their arc, with vernier calipers")},
		{pinmap.Wrap, phrase.Of("Prick the holes through the wrapped map")},
	} {
		if b := d.setup.Bench; m.method != b.Method {
			b.Method = m.method
			all = append(all, d.tool(m.label, b, "method", m.method))
		}
	}
	return all
}

// finer gives finer tools of the method at hand, the coarsest of them first; of a dividing head the circles at hand, one at a time.
func (d *derivation) finer() []tool {
	var all []tool
	b := d.setup.Bench
	switch b.Method {
	case pinmap.Degrees:
		for _, least := range []unit.Degrees{1, 0.5, 0.25, 0.2, 0.1, 0.05, 0.02, 0.01, 0.001} {
			if then := b; least < b.LeastDeg {
				then.LeastDeg = least
				all = append(all, d.tool(phrase.Of("Read the scale to {1}°", figure(float64(least), 3)), then, "leastDeg", least))
			}
		}
	case pinmap.Sixties:
		for _, least := range []float64{1800, 900, 600, 300, 60, 30, 20, 10, 5, 1} {
			if then := b; least < b.LeastSec {
				then.LeastSec = least
				all = append(all, d.tool(phrase.Of("Read the scale to {1}″", figure(least, 0)), then, "leastSec", least))
			}
		}
	case pinmap.Head:
		for _, circle := range slices.Compact(slices.Sorted(slices.Values(b.HeadCircles))) {
			then := b
			then.HeadCircles = []int{circle}
			all = append(all, d.tool(phrase.Of("Use only the {1} circle", circle), then, "headCircles", then.HeadCircles))
		}
	case pinmap.Wheel:
		for _, divisions := range []int{180, 240, 360, 480, 720, 1000, 1440, 3600} {
			if then := b; divisions > b.WheelDivisions {
				then.WheelDivisions = divisions
				all = append(all, d.tool(phrase.Of("Use an index wheel of {1} divisions", divisions), then, "wheelDivisions", divisions))
			}
		}
	case pinmap.Stepper:
		for _, times := range []int{2, 4, 8, 16, 32, 64} {
			if then := b; times*b.MotorSteps <= 1_000_000 {
				then.MotorSteps *= times
				all = append(all, d.tool(phrase.Of("Divide the motor's turn into {1} steps", then.MotorSteps), then, "motorSteps", then.MotorSteps))
			}
		}
	case pinmap.Vernier:
		for _, least := range []unit.Millimetres{0.1, 0.05, 0.02, 0.01, 0.005, 0.001} {
			if then := b; least < b.LeastMm {
				then.LeastMm = least
				all = append(all, d.tool(phrase.Of("Measure the arc to {1} mm", figure(float64(least), 3)), then, "leastMm", least))
			}
		}
	}
	return all
}

// toolOffers gives the first finer tool of the method at hand, and the first other method and the wrap, that break nothing as the pins lie now.
func (d *derivation) toolOffers() []offer {
	if d.tools != nil {
		return d.tools
	}
	sound := func(t tool) bool {
		table := indexing.Of(t.bench, d.setup.Cylinder, d.timing.turn, d.pins)
		repeats, webs := indexing.Broken(table.Rows, d.pins, d.setup.Cylinder, d.timing.turn, d.need)
		return len(repeats)+len(webs) == 0 && table.WorstMs <= d.setup.Limits.ShiftMs
	}
	all := []offer{}
	finer, methods := d.finer(), d.methods()
	if i := slices.IndexFunc(finer, sound); i >= 0 {
		all = append(all, finer[i].offer)
	}
	last := len(methods) - 1
	if i := slices.IndexFunc(methods[:last], sound); i >= 0 {
		all = append(all, methods[i].offer)
	}
	d.tools = append(all, methods[last].offer) // the wrap, which rounds nothing
	return d.tools
}

// missetOffers mends what the method of indexing breaks.
func (d *derivation) missetOffers(f arrange.Finding) []offer {
	all := slices.Clone(d.toolOffers())
	if f.Have.Unit != "ms" || len(f.Notes) < 2 {
		return all
	}
	later, earlier := d.byID[f.Notes[0]], d.byID[f.Notes[1]]
	// As far as each must move for its setting to become the next.
	half := d.timing.turn / unit.Milliseconds(2*d.indexed().Units())
	by := func(note int, way unit.Milliseconds) unit.Milliseconds {
		for i, p := range d.pins {
			if d.byID[p.Note] == note {
				return half + way*d.indexed().Rows[i].ErrorMs + 0.01
			}
		}
		return half
	}
	return append(all, d.shiftOffers(later, earlier, by(later, 1), by(earlier, -1))...)
}

// riskOffers lowers the chance that a repeat fails: two other methods, a slower turn, a thicker cylinder, each just enough as the pins lie now.
func (d *derivation) riskOffers() []offer {
	most := d.mostRisk()
	sound := func(b pinmap.Bench, c pinmap.Cylinder, turn unit.Milliseconds) bool {
		a := d.action
		a.ContactMs, a.HoleMs = c.ContactMs(turn), c.HoleMs(turn)
		table := indexing.Of(b, c, turn, d.pins)
		return !tolerance.Exceeds(most, b, c, turn, d.pins, table.Rows, func(tooth int) unit.Milliseconds { return a.Recover(d.solution.Teeth[tooth-1]).RepeatMs })
	}
	b, c, turn := d.setup.Bench, d.setup.Cylinder, d.timing.turn
	var all []offer
	for _, t := range d.methods() {
		if len(all) < 2 && sound(t.bench, c, turn) {
			all = append(all, t.offer)
		}
	}
	if d.setup.Tempo.Mode == "fill" {
		if slow, ok := least(float64(turn), min(2*float64(turn), float64(longestTurn)), 10, func(turn float64) bool { return sound(b, c, unit.Milliseconds(turn)) }); ok {
			all = append(all, offer{phrase.Of("Slow the cylinder to {1} s a turn", figure(slow/1000, 2)),
				d.change(true, map[string]any{"tempo": map[string]any{"revolutionMs": slow}})})
		}
	}
	thicker := func(mm float64) bool {
		then := c
		then.DiameterMm = unit.Millimetres(mm)
		return sound(b, then, turn)
	}
	if thick, ok := least(float64(c.DiameterMm), min(2*float64(c.DiameterMm), 400), 0.1, thicker); ok {
		all = append(all, offer{phrase.Of("Use a cylinder {1} mm thick", figure(thick, 1)),
			d.change(true, map[string]any{"cylinder": map[string]any{"diameterMm": thick}})})
	}
	return all
}

// least gives the least multiple of step above low, up to high, that is good, where all above a good one are.
func least(low, high, step float64, good func(float64) bool) (float64, bool) {
	from, to := int(math.Floor(low/step+1e-9))+1, int(math.Floor(high/step+1e-9))
	n := sort.Search(max(to-from+1, 0), func(i int) bool { return good(unit.Round(float64(from+i) * step)) })
	return unit.Round(float64(from+n) * step), from+n <= to
}
