package project

import (
	"cmp"
	"slices"
	"strings"

	"pinwright/arrange"
	"pinwright/arrange/comb"
	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// view puts everything into the shape of a result.
func (d *derivation) view() {
	r := &Result{Schema: Schema, Title: cmp.Or(strings.TrimSpace(d.setup.Title), d.tune.Title, "Untitled tune"), Setup: d.setup,
		Tune: d.tuneView(d.roles), Arrangement: d.arrangement(), Pins: d.pins, Beside: d.others, Findings: d.found}
	turn := d.timing.turn
	c := d.setup.Cylinder
	r.Cylinder = CylinderView{Cylinder: c, CircumferenceMm: c.CircumferenceMm(), WrapMm: c.WrapMm(), RevolutionMs: turn,
		LengthMm: d.leastLengthMm(), ContactDeg: c.Contact()}
	if c.LengthMm > 0 { // what is too short is a finding; what is drawn of it holds the tracks all the same
		r.Cylinder.LengthMm = max(c.LengthMm, d.holdsMm())
	}
	r.Bench = d.benchView()
	r.Comb = d.combView()
	speeds := d.setup.Drive.Speeds(turn)
	r.Drive = DriveView{CylinderRpm: unit.Rpm(60_000 / turn), GreatWheelRpm: speeds[0], GovernorRpm: speeds[len(speeds)-1], Ratio: d.setup.Drive.Ratio()}
	r.Decisions = make([]DecisionView, len(d.done))
	for i, c := range d.done {
		r.Decisions[i] = DecisionView{Decision: c, Text: d.inWords(c)}
	}
	adds := 0
	for _, s := range d.writes {
		if s.Decision.Kind == arrange.Add {
			adds++
			r.Decisions[s.Number-1].Added = append(r.Decisions[s.Number-1].Added, addedID(adds))
		}
	}
	r.ClearToDrill = d.blocking() == 0
	d.result = r
}

func (d *derivation) tuneView(roles []arrange.Role) TuneView {
	t, k := d.tune, d.timing
	v := TuneView{Title: t.Title, Format: t.Format, Division: divisionInWords(t.Division), Notes: append([]arrange.Note{}, d.notes...), Remarks: slices.Clone(t.Remarks),
		Parts: make([]PartView, len(t.Parts)), Bars: make([]int, len(t.Bars))}
	if v.Remarks == nil {
		v.Remarks = []phrase.Phrase{}
	}
	for i, p := range t.Parts {
		v.Parts[i] = PartView{ID: p.ID, Name: p.Name, Track: p.Track, Channel: p.Channel, Program: p.Program, Notes: p.Notes,
			Role: cmp.Or(roles[i], Auto), Percussion: p.Percussion}
		if p.Notes > 0 {
			v.Parts[i].Low, v.Parts[i].High = p.Low.String(), p.High.String()
		}
	}
	for i, b := range t.Bars {
		v.Bars[i] = b.Number
	}
	v.Excerpt = ExcerptView{FromBar: t.Bars[k.from].Number, ToBar: t.Bars[k.to].Number, Chosen: k.chosen, WrittenMs: k.written,
		PlayedMs: unit.Milliseconds(float64(k.written) * k.stretch)}
	for _, b := range t.Bars[k.from : k.to+1] {
		v.Excerpt.Bars = append(v.Excerpt.Bars, BarView{Number: b.Number, StartMs: k.onCylinder(b.StartMs), EndMs: k.onCylinder(b.EndMs), Beats: b.Length()})
	}
	v.WrittenBPM = unit.BPM((t.Bars[k.to].EndQuarter - k.first.Quarter) * 60_000 / float64(k.written))
	v.PlayedBPM = v.WrittenBPM / unit.BPM(k.stretch)
	return v
}

func divisionInWords(d tune.Division) phrase.Phrase {
	if n := d.TicksPerQuarter; n > 0 {
		return phrase.Plural(n, phrase.Of("1 tick a quarter note"), phrase.Of("{1} ticks a quarter note", n))
	}
	frames := itoa(d.FramesPerSecond)
	if d.FramesPerSecond == 29 {
		frames = "29.97"
	}
	return phrase.Plural(d.TicksPerFrame, phrase.Of("{1} frames a second, 1 tick a frame", frames),
		phrase.Of("{1} frames a second, {2} ticks a frame", frames, d.TicksPerFrame))
}

func (d *derivation) combView() CombView {
	v := CombView{Mode: d.setup.Comb.Mode, Spare: d.solution.Spare, Teeth: make([]ToothView, len(d.solution.Teeth))}
	for i, p := range d.solution.Teeth {
		rec := d.action.Recover(p)
		t := ToothView{Tooth: i + 1, Pitch: p, Note: p.String(), Twins: len(d.teethOf[p]), Twin: 1 + slices.Index(d.teethOf[p], i+1),
			FrequencyHz: p.Frequency(), RingMs: comb.RingMs(p.Frequency(), d.setup.Comb.QualityFactor), ContactMs: d.action.ContactMs, DampMs: rec.DampMs, RecoveryMs: rec.RecoveryMs, HoleMs: d.action.HoleMs,
			RepeatMs: rec.RepeatMs, GovernedBy: string(rec.GovernedBy), Plucks: len(d.byTooth[i+1])}
		for _, partial := range comb.Partials(t.FrequencyHz, d.setup.Comb.QualityFactor) {
			t.PartialsHz = append(t.PartialsHz, partial.FrequencyHz)
		}
		if plucks := d.byTooth[i+1]; len(plucks) > 1 {
			nearest := d.timing.turn
			for n, b := range plucks {
				a := plucks[(n+len(plucks)-1)%len(plucks)]
				nearest = min(nearest, comb.RoundTheCircle(d.solution.Plucks[a].TimeMs, d.solution.Plucks[b].TimeMs, d.timing.turn))
			}
			t.NearestMs = &nearest
		}
		v.Teeth[i] = t
	}
	return v
}

func (d *derivation) arrangement() Arrangement {
	s := d.solution
	a := Arrangement{Transpose: s.Transpose, Objective: unit.Round(s.Objective), Bound: unit.Round(s.Bound), Proven: s.Proven,
		Plucks: make([]Pluck, 0, len(s.Plucks)), Dropped: []Dropped{}}
	for i, n := range d.notes {
		a.TotalValue += n.Value
		if at := d.pluckOf[i]; at >= 0 {
			p := s.Plucks[at]
			a.Plucks = append(a.Plucks, Pluck{Note: n.ID, Tooth: p.Tooth, Pitch: p.Pitch, Octaves: p.Octaves, TimeMs: p.TimeMs,
				ShiftMs: d.locks[i].ShiftMs, Value: unit.Round(p.Value), Locked: p.Locked || d.locks[i].ShiftMs != 0})
			continue
		}
		a.Dropped = append(a.Dropped, Dropped{Note: n.ID, Reason: d.dropped[i].text, Locked: d.locks[i].LeaveOut})
	}
	return a
}

// layout gives the pins in their places.
func (d *derivation) layout() []pinmap.Pin {
	pins := make([]pinmap.Pin, len(d.solution.Plucks))
	for i, p := range d.solution.Plucks {
		n := d.notes[p.Note]
		pins[i] = pinmap.Pin{Tooth: p.Tooth, Note: n.ID, TimeMs: p.TimeMs, Bar: n.Bar, Beat: n.Beat}
	}
	pinmap.Layout(pins, d.setup.Cylinder, d.timing.turn)
	return pins
}
