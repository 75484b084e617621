package project

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/arrange/comb"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// findings gives everything that stands in the way or was changed: those that block first, then by time.
func (d *derivation) findings() []arrange.Finding {
	all := append([]arrange.Finding{}, d.overrun()...)
	all = append(all, d.contradictions()...)
	all = append(all, d.doubled()...)
	all = append(all, d.clashes()...)
	all = append(all, d.holes()...)
	all = append(all, d.misset()...)
	all = append(all, d.short()...)
	all = append(all, d.loads()...)
	all = append(all, d.beside()...)
	all = append(all, d.changed()...)
	all = append(all, d.risky()...)
	for i := range all {
		f := &all[i]
		if f.Teeth == nil {
			f.Teeth = []int{}
		}
		if f.Notes == nil {
			f.Notes = []string{}
		}
		f.Remedies = []arrange.Remedy{}
	}
	blocks := func(f arrange.Finding) int {
		if f.Blocks {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(all, func(a, b arrange.Finding) int {
		return cmp.Or(cmp.Compare(blocks(a), blocks(b)), cmp.Compare(a.Bar, b.Bar), cmp.Compare(a.Beat, b.Beat))
	})
	return all
}

// about starts a finding on a note at its place on the cylinder.
func (d *derivation) about(kind arrange.FindingKind, note int) arrange.Finding {
	n := d.notes[note]
	angle := d.setup.Cylinder.AngleDeg(n.OnsetMs+d.locks[note].ShiftMs, d.timing.turn)
	f := arrange.Finding{ID: string(kind) + "-" + n.ID, Kind: kind, Notes: []string{n.ID}, Bar: n.Bar, Beat: n.Beat, AngleDeg: &angle}
	if at := d.pluckOf[note]; at >= 0 {
		f.Teeth = []int{d.solution.Plucks[at].Tooth}
	}
	return f
}

// placed names a note by its place in the tune.
func placed(pitch any, bar int, at float64) phrase.Phrase {
	return phrase.Of("{1} in bar {2} beat {3}", pitch, bar, beat(at))
}

func amount(v float64, of string) *arrange.Amount {
	return &arrange.Amount{Value: unit.Round(v), Unit: of}
}

// why is the reason that a note is not played, or not where it was written.
type why struct {
	kind       arrange.FindingKind
	text       phrase.Phrase
	tooth      int // that it would have needed, 0 for none
	neighbour  int // note that stands in its way, -1 for none
	have, need unit.Milliseconds
	governedBy comb.Governor
}

// wished gives the pitch that a note has in the key, moved by octaves.
func (d *derivation) wished(note, octaves int) unit.Pitch {
	return d.notes[note].Pitch + unit.Pitch(d.solution.Transpose+12*octaves)
}

// whyNot gives the reason that a note cannot go to the tooth, or teeth, of one pitch: the best of them is told. Its text can follow a colon.
func (d *derivation) whyNot(note int, pitch unit.Pitch) (why, bool) {
	teeth := d.teethOf[pitch]
	if len(teeth) == 0 {
		return why{kind: arrange.OffComb, neighbour: -1, text: phrase.Of("no tooth has {1}.", pitch)}, true
	}
	rec := d.action.Recover(pitch)
	now := d.notes[note].OnsetMs + d.locks[note].ShiftMs
	best := why{have: -1}
	for _, tooth := range teeth {
		w := why{kind: arrange.Repeat, tooth: tooth, neighbour: -1, have: d.timing.turn, need: rec.RepeatMs, governedBy: rec.GovernedBy}
		plucks := d.byTooth[tooth]
		n := len(plucks)
		after, _ := slices.BinarySearchFunc(plucks, now, func(p int, t unit.Milliseconds) int { return cmp.Compare(d.solution.Plucks[p].TimeMs, t) })
		for _, p := range []int{after - 2, after - 1, after, after + 1} { // the note itself may be one of them
			if n == 0 {
				break
			}
			other := d.solution.Plucks[plucks[(p%n+n)%n]]
			if other.Note == note {
				continue
			}
			if apart := comb.RoundTheCircle(now, other.TimeMs, d.timing.turn); apart < w.have {
				w.have, w.neighbour = apart, other.Note
			}
		}
		if w.have > best.have {
			best = w
		}
	}
	w := best
	chord := d.chords[d.chordOf[note]]
	for other := chord.From; other < chord.To; other++ { // a pitch is plucked once at an onset, on whichever twin
		at := d.pluckOf[other]
		if other == note || at < 0 || d.solution.Plucks[at].Pitch != pitch {
			continue
		}
		w.kind, w.neighbour, w.tooth = arrange.Doubled, other, d.solution.Plucks[at].Tooth
		w.have = comb.RoundTheCircle(now, d.pluckTime(other), d.timing.turn)
		w.text = phrase.Of("{1} is already plucked at this moment, for {2}.", pitch, d.notes[other].Name)
		return w, true
	}
	if w.neighbour < 0 || w.have >= w.need-comb.Slack {
		return w, false
	}
	other := d.pluckTime(w.neighbour)
	direct := now - other
	if direct < 0 {
		direct = -direct
	}
	if direct > d.timing.turn/2 {
		w.kind = arrange.Seam
	}
	w.text = d.tooSoon(pitch, w, (now > other) == (w.kind != arrange.Seam))
	return w, true
}

func (d *derivation) pluckTime(note int) unit.Milliseconds {
	return d.solution.Plucks[d.pluckOf[note]].TimeMs
}

// governs says what governs a repeat time.
func governs(g comb.Governor) phrase.Phrase {
	switch g {
	case comb.Holes:
		return phrase.Of("the metal between its holes governs")
	case comb.Measured:
		return phrase.Of("its measured recovery governs")
	}
	return phrase.Of("its damper governs")
}

// tooSoon says that one tooth would be plucked again too soon; after tells whether the note follows its neighbour.
func (d *derivation) tooSoon(pitch unit.Pitch, w why, after bool) phrase.Phrase {
	if d.mute {
		return phrase.Phrase{}
	}
	have, need := shortfall(w.have, w.need)
	governor := governs(w.governedBy)
	switch seam := w.kind == arrange.Seam; {
	case after && seam:
		return phrase.Of("{1} again after {2} across the datum line; this tooth needs {3}, {4}.", pitch, have, need, governor)
	case after:
		return phrase.Of("{1} again after {2}; this tooth needs {3}, {4}.", pitch, have, need, governor)
	case seam:
		return phrase.Of("{1} again, {2} later across the datum line; this tooth needs {3}, {4}.", pitch, have, need, governor)
	}
	return phrase.Of("{1} again, {2} later; this tooth needs {3}, {4}.", pitch, have, need, governor)
}

// whyDropped gives the reason that a note is not played.
func (d *derivation) whyDropped(note int) why {
	n, lock := d.notes[note], d.locks[note]
	switch {
	case lock.LeaveOut:
		return why{kind: arrange.LeftOut, neighbour: -1, text: phrase.Of("Left out by you.")}
	case d.late[note]:
		return why{kind: arrange.Overrun, neighbour: -1, text: phrase.Of("The turn ends before it: at the written tempo the excerpt does not fit the revolution.")}
	case d.unmet[note]:
		return why{kind: arrange.Contradiction, neighbour: -1, text: d.whyUnmet(note)}
	}
	for _, o := range [...]int{0, 1, -1, 2, -2} {
		if w, blocked := d.whyNot(note, d.wished(note, o)); blocked && w.kind != arrange.OffComb {
			return w
		}
	}
	if d.anyTooth(note) {
		return why{kind: arrange.Repeat, neighbour: -1, text: phrase.Of("No arrangement that was found has room for it.")}
	}
	w := why{kind: arrange.OffComb, neighbour: -1}
	pitch := d.wished(note, 0)
	switch cut, moved := d.setup.Comb.Mode == "cut", d.solution.Transpose != 0; {
	case cut && moved:
		w.text = phrase.Of("No tooth has {1} or an octave of it, and none is worth cutting for it ({2} as written).", pitch, n.Name)
	case cut:
		w.text = phrase.Of("No tooth has {1} or an octave of it, and none is worth cutting for it.", pitch)
	case moved:
		w.text = phrase.Of("No tooth has {1} or an octave of it ({2} as written).", pitch, n.Name)
	default:
		w.text = phrase.Of("No tooth has {1} or an octave of it.", pitch)
	}
	return w
}

func (d *derivation) anyTooth(note int) bool {
	for o := -arrange.Reach; o <= arrange.Reach; o++ {
		if len(d.teethOf[d.wished(note, o)]) > 0 {
			return true
		}
	}
	return false
}

// changed gives a finding for each note that is left out or moved by octaves.
func (d *derivation) changed() []arrange.Finding {
	var all []arrange.Finding
	for i := range d.notes {
		at := d.pluckOf[i]
		if at < 0 {
			w := d.dropped[i]
			if w.kind == arrange.Contradiction {
				continue // told among the contradictions
			}
			f := d.about(w.kind, i)
			f.Text = d.goneWords(i, w)
			d.putFigures(&f, w)
			all = append(all, f)
			continue
		}
		p := d.solution.Plucks[at]
		if p.Octaves == 0 {
			continue
		}
		f := d.about(arrange.Moved, i)
		w, blocked := d.whyNot(i, d.wished(i, 0))
		if blocked && !p.Locked {
			d.putFigures(&f, w)
			f.Teeth = []int{p.Tooth}
		}
		f.Text = d.movedWords(p, w, blocked)
		all = append(all, f)
	}
	return all
}

// goneWords says that a note is left out.
func (d *derivation) goneWords(note int, w why) phrase.Phrase {
	switch {
	case d.mute:
		return phrase.Phrase{}
	case w.kind == arrange.LeftOut:
		return phrase.Of("{1} is left out, as you decided.", d.notes[note].Name)
	}
	return phrase.Of("{1} is left out. {2}", d.notes[note].Name, w.text)
}

// movedWords says that a note is plucked in another octave than its own, for what stands in its way there if anything does.
func (d *derivation) movedWords(p arrange.Placed, w why, blocked bool) phrase.Phrase {
	if d.mute {
		return phrase.Phrase{}
	}
	reason := w.text
	switch {
	case p.Locked:
		reason = phrase.Of("as you decided.")
	case !blocked:
		reason = phrase.Of("that keeps more of the tune than its own octave would.")
	}
	switch wished := d.wished(p.Note, 0); p.Octaves {
	case 1:
		return phrase.Of("{1} is played an octave up, as {2}: {3}", wished, p.Pitch, reason)
	case -1:
		return phrase.Of("{1} is played an octave down, as {2}: {3}", wished, p.Pitch, reason)
	case 2:
		return phrase.Of("{1} is played two octaves up, as {2}: {3}", wished, p.Pitch, reason)
	default:
		return phrase.Of("{1} is played two octaves down, as {2}: {3}", wished, p.Pitch, reason)
	}
}

func (d *derivation) putFigures(f *arrange.Finding, w why) {
	if w.neighbour >= 0 {
		f.Have, f.Need = amount(float64(w.have), "ms"), amount(float64(w.need), "ms")
		f.GovernedBy = string(w.governedBy)
		f.Notes = append(f.Notes, d.notes[w.neighbour].ID)
	}
	if w.tooth > 0 {
		f.Teeth = []int{w.tooth}
	}
}

// doubled gives a finding for each two notes of one onset that are plucked at the same pitch, on whichever teeth, which only
// locks can bring about.
func (d *derivation) doubled() []arrange.Finding {
	var all []arrange.Finding
	for _, c := range d.chords {
		for b := c.From; b < c.To; b++ {
			for a := c.From; a < b; a++ {
				if !d.isDoubled(a, b) {
					continue
				}
				p := d.solution.Plucks[d.pluckOf[b]]
				f := d.about(arrange.Doubled, b)
				f.ID += "-" + d.notes[a].ID
				f.Blocks = true
				f.Notes = append(f.Notes, d.notes[a].ID)
				f.Teeth = []int{p.Tooth}
				if other := d.solution.Plucks[d.pluckOf[a]].Tooth; other != p.Tooth {
					f.Teeth = append(f.Teeth, other)
				}
				f.Have, f.Need = amount(2, "plucks"), amount(1, "plucks")
				f.Text = phrase.Of("{1} is plucked twice at this moment, for {2} and for {3}; once is all that can be heard.", p.Pitch, d.notes[a].Name, d.notes[b].Name)
				all = append(all, f)
			}
		}
	}
	return all
}

// isDoubled reports whether two notes of one onset are plucked at one pitch and time.
func (d *derivation) isDoubled(a, b int) bool {
	i, j := d.pluckOf[a], d.pluckOf[b]
	if i < 0 || j < 0 || d.chordOf[a] != d.chordOf[b] {
		return false
	}
	p, q := d.solution.Plucks[i], d.solution.Plucks[j]
	return p.Pitch == q.Pitch && comb.RoundTheCircle(p.TimeMs, q.TimeMs, d.timing.turn) <= arrange.Together
}

// clashes gives a finding for each two plucks of one tooth that stand too near, which only locks can bring about.
func (d *derivation) clashes() []arrange.Finding {
	var all []arrange.Finding
	for tooth := 1; tooth <= len(d.solution.Teeth); tooth++ {
		plucks := d.byTooth[tooth]
		if len(plucks) < 2 {
			continue
		}
		rec := d.action.Recover(d.solution.Teeth[tooth-1])
		for i, at := range plucks {
			now, before := d.solution.Plucks[at], d.solution.Plucks[plucks[(i+len(plucks)-1)%len(plucks)]]
			apart := now.TimeMs - before.TimeMs
			if i == 0 {
				apart += d.timing.turn
			}
			if apart >= rec.RepeatMs-comb.Slack || d.isDoubled(now.Note, before.Note) {
				continue
			}
			if other := d.timing.turn - apart; len(plucks) == 2 && (other < apart || other == apart && i == 0) {
				continue // the same pair the other way round, which is nearer
			}
			w := why{kind: arrange.Repeat, tooth: tooth, neighbour: before.Note, have: apart, need: rec.RepeatMs, governedBy: rec.GovernedBy}
			if i == 0 {
				w.kind = arrange.Seam
			}
			f := d.about(w.kind, now.Note)
			f.ID += "-" + d.notes[before.Note].ID
			f.Blocks = true
			d.putFigures(&f, w)
			f.Text = d.tooSoon(now.Pitch, w, true)
			all = append(all, f)
		}
	}
	return all
}

// holes gives a finding for each two holes that would break into each other and are not already told as one tooth's repeat.
func (d *derivation) holes() []arrange.Finding {
	pins := d.pins
	var all []arrange.Finding
	for _, c := range pinmap.Crowded(pins, d.setup.Cylinder) {
		if c.SameTrack {
			continue
		}
		a, b := pins[c.A], pins[c.B]
		f := d.about(arrange.Holes, d.byID[b.Note])
		f.ID += "-" + a.Note
		f.Blocks = true
		f.Notes = []string{b.Note, a.Note}
		f.Teeth = []int{b.Tooth, a.Tooth}
		f.Have, f.Need = amount(float64(c.DistanceMm), "mm"), amount(float64(c.NeedMm), "mm")
		apart, need := figure(float64(c.DistanceMm), 3), figure(float64(c.NeedMm), 3)
		f.Text = phrase.Of("The holes of teeth {1} and {2} lie {3} mm apart; they need {4} mm between centres.", a.Tooth, b.Tooth, apart, need)
		if c.AcrossSeam {
			f.Text = phrase.Of("The holes of teeth {1} and {2} lie {3} mm apart across the datum line; they need {4} mm between centres.", a.Tooth, b.Tooth, apart, need)
		}
		all = append(all, f)
	}
	return all
}

// loads gives a finding for each run of plucks in which more teeth are released together than the drive is trusted with.
func (d *derivation) loads() []arrange.Finding {
	pins := d.pins
	n := len(pins)
	most, within := d.setup.Limits.MaxTogether, d.setup.Limits.TogetherMs
	var all []arrange.Finding
	for from := 0; from < n; {
		to := from + 1 // pins from..to-1, counted on round the circle
		for to < from+n && d.later(pins, from, to) <= within {
			to++
		}
		if to-from <= most {
			from++
			continue
		}
		f := d.about(arrange.Load, d.byID[pins[from].Note])
		f.Blocks = true
		f.Notes, f.Teeth = nil, nil
		for i := from; i < to; i++ {
			f.Notes = append(f.Notes, pins[i%n].Note)
			f.Teeth = append(f.Teeth, pins[i%n].Tooth)
		}
		f.Have, f.Need = amount(float64(to-from), "teeth"), amount(float64(most), "teeth")
		f.Text = phrase.Of("{1} teeth are released within {2}; at most {3} at once keep the drive from stumbling.", to-from, ms(within), most)
		all = append(all, f)
		from = to
	}
	return all
}

// later gives the time from pin i to pin j ≥ i, counted on round the circle.
func (d *derivation) later(pins []pinmap.Pin, i, j int) unit.Milliseconds {
	n := len(pins)
	return unit.Milliseconds((pins[j%n].AngleDeg-pins[i%n].AngleDeg+360*unit.Degrees(j/n-i/n))/360) * d.timing.turn
}

// overrun gives a finding where the written tempo does not fit the revolution.
func (d *derivation) overrun() []arrange.Finding {
	k := d.timing
	if !k.overrun {
		return nil
	}
	f := arrange.Finding{ID: string(arrange.Overrun), Kind: arrange.Overrun, Blocks: true, Bar: d.tune.Bars[k.to].Number, Beat: 1,
		Have: amount(float64(k.sounding), "ms"), Need: amount(float64(k.written), "ms"),
		Text: phrase.Of("At the written tempo the excerpt lasts {1}; a turn without its gap has {2}.", ms(k.written), ms(k.sounding))}
	for i := range d.notes {
		if d.late[i] {
			f.Notes = append(f.Notes, d.notes[i].ID)
		}
	}
	if n := len(f.Notes); n > 0 {
		f.Text = phrase.Join(" ", f.Text, phrase.Plural(n, phrase.Of("1 note comes after its end."), phrase.Of("{1} notes come after its end.", n)))
	}
	return []arrange.Finding{f}
}

// contradictions gives a finding for decisions that cannot all be kept, and for those about something that is not there.
func (d *derivation) contradictions() []arrange.Finding {
	var all []arrange.Finding
	d.choices, d.lostAs = map[string]arrange.Conflict{}, map[string]arrange.Step{}
	for _, c := range d.conflicts {
		f := d.about(arrange.Contradiction, c.Note)
		f.ID += "-" + c.Earlier.Name() + "-" + c.Later.Name()
		d.choices[f.ID] = c
		f.Blocks = true
		f.Text = phrase.Of("Decision {1} ({2}) and decision {3} ({4}) cannot both hold. The later one is drawn until you choose.",
			c.Earlier.Name(), d.inWords(c.Earlier.Decision), c.Later.Name(), d.inWords(c.Later.Decision))
		all = append(all, f)
	}
	for _, i := range d.solution.Unmet {
		f := d.about(arrange.Contradiction, i)
		f.Blocks = true
		f.Text = phrase.Of("{1} is left out. {2}", d.notes[i].Name, d.whyUnmet(i))
		all = append(all, f)
	}
	most := d.setup.Limits.ShiftMs
	for i, l := range d.locks {
		if by := max(l.ShiftMs, -l.ShiftMs); by > most {
			f := d.about(arrange.Contradiction, i)
			f.ID += "-shift"
			f.Blocks = true
			f.Have, f.Need = amount(float64(by), "ms"), amount(float64(most), "ms")
			f.Text = phrase.Of("You moved {1} by {2}; the setup now allows {3} at most.", d.notes[i].Name, ms(by), ms(most))
			all = append(all, f)
		}
	}
	for _, s := range d.written.lost {
		all = append(all, arrange.Finding{ID: string(arrange.Unmet) + "-" + s.Name(), Kind: arrange.Unmet,
			Text: phrase.Of("Decision {1} ({2}) cannot be done in this tune; it waits without effect.", s.Name(), d.inWords(s.Decision))})
	}
	all = append(all, d.unplayed()...)
	for _, s := range d.lost {
		f := arrange.Finding{ID: string(arrange.Unmet) + "-" + s.Name(), Kind: arrange.Unmet,
			Text: phrase.Of("Decision {1} speaks of {2}, which is not among the notes that are played now; it waits without effect.", s.Name(), d.lostNote(s.Decision.Note))}
		d.lostAs[f.ID] = s
		all = append(all, f)
	}
	return all
}

// unplayed gives a finding for each note that was written by hand where it is not played.
func (d *derivation) unplayed() []arrange.Finding {
	var all []arrange.Finding
	from, to := d.tune.Bars[d.timing.from].Number, d.tune.Bars[d.timing.to].Number
	for _, id := range d.written.order {
		m := d.written.marks[id]
		if _, played := d.byID[id]; played || m.gone {
			continue
		}
		f := arrange.Finding{ID: string(arrange.Unmet) + "-" + id, Kind: arrange.Unmet, Bar: m.note.Bar, Beat: m.note.Beat,
			Text: phrase.Of("{1}, which you wrote, is not played: its part is off.", d.lostNote(id))}
		if m.note.Bar < from || m.note.Bar > to {
			f.Text = phrase.Of("{1}, which you wrote, is not played: bars {2} to {3} are.", d.lostNote(id), from, to)
		}
		d.lostAs[f.ID] = arrange.Step{Number: m.by.Number, Part: m.by.Part, Decision: arrange.Decision{Kind: arrange.Remove, Note: id}}
		all = append(all, f)
	}
	return all
}

// lostNote names a note that is not played.
func (d *derivation) lostNote(id string) phrase.Phrase {
	if n, _, ok := d.written.find(id); ok {
		return placed(n.Pitch, n.Bar, n.Beat)
	}
	return phrase.Of("the note {1}", short([]byte(id)))
}

// asFiled names a note by its place in the file; one that is not from there by its id.
func (d *derivation) asFiled(id string) phrase.Phrase {
	if i, err := strconv.Atoi(strings.TrimPrefix(id, "n")); err == nil && i >= 1 && i <= len(d.file.Notes) && d.file.Notes[i-1].ID == id {
		n := d.file.Notes[i-1]
		return placed(n.Pitch, n.Bar, n.Beat)
	}
	return phrase.Of("note {1}", id)
}

// whyUnmet says why what the user decided about a note cannot be kept.
func (d *derivation) whyUnmet(note int) phrase.Phrase {
	l := d.locks[note]
	s := d.problem.Comb
	if l.Pitch != nil {
		switch p := *l.Pitch; {
		case s.Fixed != nil && s.Fixed[p] < max(l.Twin, 1):
			return phrase.Of("You set it on tooth {1}, which the comb does not have.", twinName(p, l.Twin))
		case s.Fixed == nil && (p < s.Low || p > s.High):
			return phrase.Of("You set it on {1}, outside the comb, which is cut from {2} to {3}.", p, s.Low, s.High)
		case s.Fixed == nil && l.Twin > s.MaxTwins:
			return phrase.Of("You set it on {1}, but at most {2} teeth may be alike.", twinName(p, l.Twin), s.MaxTwins)
		}
		return phrase.Of("You set it on {1}. {2}", twinName(*l.Pitch, l.Twin), d.noWay())
	}
	switch *l.Octaves {
	case 1:
		return phrase.Of("You set it an octave up. {1}", d.noWay())
	case -1:
		return phrase.Of("You set it an octave down. {1}", d.noWay())
	case 2:
		return phrase.Of("You set it two octaves up. {1}", d.noWay())
	case -2:
		return phrase.Of("You set it two octaves down. {1}", d.noWay())
	}
	return phrase.Of("You set it at its written octave. {1}", d.noWay())
}

// noWay says that nothing keeps all decisions.
func (d *derivation) noWay() phrase.Phrase {
	if s := d.problem.Comb; s.Fixed == nil {
		return phrase.Plural(s.Teeth, phrase.Of("No key and choice of 1 tooth keeps that together with your other decisions."),
			phrase.Of("No key and choice of {1} teeth keeps that together with your other decisions.", s.Teeth))
	}
	return phrase.Of("No key keeps that together with your other decisions on this comb.")
}

func twinName(p unit.Pitch, twin int) phrase.Phrase {
	if twin > 1 {
		return phrase.Of("{1} (twin {2})", p, twin)
	}
	return phrase.Text(p.String())
}

// inWords says what a decision does.
func (d *derivation) inWords(c arrange.Decision) phrase.Phrase {
	name := phrase.Text(c.Note)
	if i, ok := d.byID[c.Note]; ok {
		name = placed(d.notes[i].Name, d.notes[i].Bar, d.notes[i].Beat)
	}
	switch c.Kind {
	case arrange.Add:
		return phrase.Of("{1} {2}", *c.Pitch, Rewriting(c))
	case arrange.Move:
		return phrase.Of("{1} {2}", d.asFiled(c.Note), Rewriting(c))
	case arrange.Remove:
		return phrase.Of("{1} {2}", d.lostNote(c.Note), Rewriting(c))
	case arrange.Octave:
		switch *c.Octaves {
		case 1:
			return phrase.Of("{1} moved an octave up", name)
		case -1:
			return phrase.Of("{1} moved an octave down", name)
		case 2:
			return phrase.Of("{1} moved two octaves up", name)
		case -2:
			return phrase.Of("{1} moved two octaves down", name)
		}
		return phrase.Of("{1} kept at its octave", name)
	case arrange.Place:
		return phrase.Of("{1} set on tooth {2}", name, twinName(c.Pitch.Pitch(), c.Twin))
	case arrange.LeaveOut:
		return phrase.Of("{1} left out", name)
	case arrange.Shift:
		switch by := *c.Ms; {
		case by < 0:
			return phrase.Of("{1} moved {2} ms earlier", name, figure(-by, 1))
		case by > 0:
			return phrase.Of("{1} moved {2} ms later", name, figure(by, 1))
		}
		return phrase.Of("{1} moved back to its time", name)
	case arrange.Release:
		return phrase.Of("{1} released", name)
	case arrange.Change:
		return phrase.Of("setup changed: {1}", changedFields(c.Setup))
	case arrange.Several:
		const most = 4
		parts := make([]phrase.Phrase, min(len(c.Decisions), most))
		for i := range parts {
			parts[i] = d.inWords(c.Decisions[i])
		}
		if all := phrase.Join("; ", parts...); len(c.Decisions) > most {
			return phrase.Of("{1}; {2} more", all, len(c.Decisions)-most)
		} else {
			return all
		}
	}
	return phrase.Text(string(c.Kind))
}
