package project

import (
	"cmp"
	"context"
	"encoding/json"
	"math"
	"reflect"
	"slices"

	"pinwright/arrange"
	"pinwright/arrange/comb"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
)

// offer is a remedy before its effect is known.
type offer struct {
	label    phrase.Phrase
	decision arrange.Decision
}

// outcome is a remedy with the number of findings it would raise that stand in the way.
type outcome struct {
	remedy arrange.Remedy
	blocks int
	then   map[string]bool // ids of the findings that would be left
}

// The most that is spent on the remedies of all findings, in units of work of which one core does about allRemediesWork in three quarters of
// a second. Where the answer is wanted at once, only the first finding has its remedies. What each remedy takes is estimated
// from the tune alone, so that which remedies there are does not depend on what happens to be remembered.
const (
	allRemediesWork = 32_000_000
	outcomeWork     = 10_000 // for everything that surrounds the solution
	mostLockWork    = 400    // a note
)

// takes estimates what deriving an offer takes. A note that is locked is one class of some keys again, which measured on real tunes grows as
// the cube of the notes until the tune is longer than a few turns; with another setup all is new, some ten times as much.
func (d *derivation) takes(c arrange.Decision) int {
	n := len(d.notes)
	lock := n * min(n*n/800, mostLockWork)
	locks, others := 0, 0
	for _, o := range d.others {
		others += o.Notes * min(o.Notes*o.Notes/800, mostLockWork)
	}
	for _, s := range arrange.Steps([]arrange.Decision{c}) {
		if s.Decision.Kind == arrange.Change {
			return outcomeWork + 10*(lock+others)
		}
		locks++
	}
	if d.setup.Comb.Mode == "cut" { // another comb, on which the others are solved anew
		return outcomeWork + lock*(1+locks)/2 + 10*others
	}
	return outcomeWork + lock*(1+locks)/2
}

// addRemedies computes the remedies of the findings by deriving everything again with each of them, those that block
// first, until the work allowed is spent; findings for which there would be more say so. With a finding's id, only its remedies are
// computed, all of them. The solver remembers the classes of notes that a remedy does not touch, and a remedy that several
// findings share is derived once.
func (d *derivation) addRemedies(ctx context.Context, solver *arrange.Exact, o Options) error {
	before := ids(d.found)
	known := map[string]*outcome{}
	left := allRemediesWork
	if o.Few {
		left = 0
	}
	only := o.Finding
	for i := range d.result.Findings {
		f := &d.result.Findings[i]
		if only != "" && f.ID != only || o.Few && i > 0 && f.Kind == arrange.Risk { // to look for what lowers a risk is work itself
			f.RemediesLater = true
			continue
		}
		var tried []*outcome
		for _, o := range d.offers(*f) {
			name, err := json.Marshal(o.decision)
			if err != nil {
				return err
			}
			out, ok := known[string(name)]
			if !ok {
				if only == "" && i > 0 { // what stands first has all of its remedies
					takes := d.takes(o.decision)
					if takes > left {
						f.RemediesLater = true
						continue
					}
					left -= takes
				}
				if out, err = d.outcome(ctx, solver, o, before); err != nil {
					return err
				}
				known[string(name)] = out
			}
			if out != nil && !out.then[f.ID] {
				own := *out
				own.remedy.Label = o.label // another finding may call the same decision by another name
				tried = append(tried, &own)
			}
		}
		slices.SortStableFunc(tried, func(a, b *outcome) int {
			return cmp.Or(cmp.Compare(a.blocks, b.blocks), cmp.Compare(b.remedy.ValueChange, a.remedy.ValueChange))
		})
		for _, t := range tried {
			f.Remedies = append(f.Remedies, t.remedy)
		}
	}
	return nil
}

// outcome derives everything with one offer taken; nil where the offer cannot be used.
func (d *derivation) outcome(ctx context.Context, solver *arrange.Exact, o offer, before map[string]bool) (*outcome, error) {
	if !d.acceptable(o.decision) {
		return nil, nil
	}
	then, err := d.try(ctx, solver, append(slices.Clone(d.done), o.decision))
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		return nil, nil // a setup that cannot be used is no remedy
	}
	out := &outcome{then: ids(then.found)}
	out.remedy = arrange.Remedy{Label: o.label, Decision: o.decision, Effect: d.effect(then), Clears: []string{}, Raises: []string{},
		ValueChange: unit.Round(then.solution.Objective - d.solution.Objective)}
	for _, g := range d.found {
		if !out.then[g.ID] {
			out.remedy.Clears = append(out.remedy.Clears, g.ID)
		}
	}
	for _, g := range then.found {
		if !before[g.ID] {
			out.remedy.Raises = append(out.remedy.Raises, g.ID)
			if g.Blocks {
				out.blocks++
			}
		}
	}
	return out, nil
}

// acceptable reports whether Accept would take an offer, as far as that can be told without deriving it.
func (d *derivation) acceptable(c arrange.Decision) bool {
	if checkDecision(c, "", true) != nil {
		return false // more parts than one decision may have
	}
	for _, s := range arrange.Steps([]arrange.Decision{c}) {
		if s.Decision.Kind != arrange.Change {
			if _, err := d.resolve(s.Decision, ""); err != nil {
				return false
			}
		}
	}
	return true
}

// narrows reports whether a decision only locks a note that is free, so that no arrangement can be worth more with it. A second
// place in a pitch class can be: locked notes may stand nearer than free ones.
func (d *derivation) narrows(c arrange.Decision) bool {
	i, ok := d.byID[c.Note]
	if !ok || d.locks[i].Placed() || d.locks[i].LeaveOut {
		return false
	}
	switch c.Kind {
	case arrange.Octave, arrange.Place:
		return !d.placedIn[d.notes[i].Pitch.Class()]
	}
	return c.Kind == arrange.LeaveOut
}

func ids(findings []arrange.Finding) map[string]bool {
	m := make(map[string]bool, len(findings))
	for _, f := range findings {
		m[f.ID] = true
	}
	return m
}

// effect says in words how a result differs from this one.
func (d *derivation) effect(then *derivation) phrase.Phrase {
	var parts []phrase.Phrase
	add := func(p phrase.Phrase) { parts = append(parts, p) }
	if a, b := d.solution.Transpose, then.solution.Transpose; a != b {
		add(phrase.Of("the key moves by {1}", signed(b-a)))
	}
	switch more := len(then.solution.Plucks) - len(d.solution.Plucks); {
	case more > 0:
		add(phrase.Plural(more, phrase.Of("1 note more played"), phrase.Of("{1} notes more played", more)))
	case more < 0:
		add(phrase.Plural(-more, phrase.Of("1 note fewer played"), phrase.Of("{1} notes fewer played", -more)))
	}
	switch more := octaveMoves(then) - octaveMoves(d); {
	case more > 0:
		add(phrase.Plural(more, phrase.Of("1 note more moved by octaves"), phrase.Of("{1} notes more moved by octaves", more)))
	case more < 0:
		add(phrase.Plural(-more, phrase.Of("1 note fewer moved by octaves"), phrase.Of("{1} notes fewer moved by octaves", -more)))
	}
	if a, b := d.timing.turn, then.timing.turn; a != b {
		add(phrase.Of("one turn takes {1} s in place of {2} s", figure(float64(b)/1000, 2), figure(float64(a)/1000, 2)))
	}
	if a, b := len(d.solution.Teeth), len(then.solution.Teeth); a != b {
		add(phrase.Of("{1} teeth in place of {2}", b, a))
	}
	if fewer := d.setup.Beside.count() - then.setup.Beside.count(); fewer > 0 {
		add(phrase.Plural(fewer, phrase.Of("1 tune fewer on the cylinder"), phrase.Of("{1} tunes fewer on the cylinder", fewer)))
	}
	if len(parts) == 0 {
		return phrase.Of("nothing else changes")
	}
	return phrase.Join(", ", parts...)
}

func octaveMoves(d *derivation) (n int) {
	for _, p := range d.solution.Plucks {
		if p.Octaves != 0 {
			n++
		}
	}
	return n
}

// offers gives what could mend a finding.
func (d *derivation) offers(f arrange.Finding) []offer {
	if len(d.others) > 0 && (f.Kind == arrange.Beside || len(f.Tunes) > 0 || f.ID == string(arrange.Holes)+"-beside") {
		return d.besideOffers(f)
	}
	note := -1
	if len(f.Notes) > 0 {
		note = d.byID[f.Notes[0]]
	}
	switch f.Kind {
	case arrange.Moved:
		return append(d.octaveOffers(note), d.leaveOut(note))
	case arrange.LeftOut:
		return []offer{{phrase.Of("Take the note back in"), d.on(note, arrange.Decision{Kind: arrange.Release})}}
	case arrange.OffComb:
		return append(d.octaveOffers(note), d.combOffers(note)...)
	case arrange.Repeat, arrange.Seam, arrange.Doubled:
		return d.repeatOffers(f, note)
	case arrange.Holes:
		return d.holeOffers(f)
	case arrange.Indexing:
		return d.missetOffers(f)
	case arrange.Short:
		return d.shortOffers()
	case arrange.Risk:
		return d.riskOffers()
	case arrange.Load:
		return d.loadOffers(f)
	case arrange.Overrun:
		return d.overrunOffers()
	case arrange.Contradiction:
		return d.choiceOffers(f, note)
	case arrange.Unmet:
		return d.forget(f)
	}
	return nil
}

// on makes a decision about a note. Where it would contradict what stands, the note is released first, and what the
// decision does not speak of, its shift or its place, is decided again.
func (d *derivation) on(note int, c arrange.Decision) arrange.Decision {
	c.Note = d.notes[note].ID
	l := d.locks[note]
	if c.Kind == arrange.Release || c.Kind == arrange.Shift && l.ShiftMs == 0 || c.Kind != arrange.Shift && !l.Placed() && !l.LeaveOut {
		return c
	}
	parts := []arrange.Decision{{Kind: arrange.Release, Note: c.Note}, c}
	if c.Kind != arrange.LeaveOut {
		parts = append(parts, d.standing(note, c.Kind != arrange.Shift)...)
	}
	return several(parts...)
}

// standing gives the decisions in force about a note that shift it, or those that place it.
func (d *derivation) standing(note int, shifts bool) []arrange.Decision {
	var all []arrange.Decision
	for _, c := range d.stepsOf[note] {
		switch {
		case c.Kind == arrange.Release, c.Kind == arrange.Shift && shifts && *c.Ms == 0:
			all = nil
		case (c.Kind == arrange.Shift) == shifts && !(len(all) > 0 && reflect.DeepEqual(all[len(all)-1], c)):
			all = append(all, c)
		}
	}
	return all
}

func several(parts ...arrange.Decision) arrange.Decision {
	return arrange.Decision{Kind: arrange.Several, Decisions: parts}
}

func (d *derivation) leaveOut(note int) offer {
	return offer{phrase.Of("Leave {1} out", d.notes[note].Name), d.on(note, arrange.Decision{Kind: arrange.LeaveOut})}
}

// octaveOffers places a note at each octave for which there is, or could be cut, a tooth, other than where it is.
func (d *derivation) octaveOffers(note int) []offer {
	var all []offer
	at := 99
	if p := d.pluckOf[note]; p >= 0 {
		at = d.solution.Plucks[p].Octaves
	}
	for _, o := range [...]int{0, 1, -1, 2, -2} {
		pitch := d.wished(note, o)
		if o == at || d.onComb(pitch, 0, "") != nil {
			continue
		}
		octaves := o
		label := phrase.Of("Play it as {1} all the same", pitch)
		switch o {
		case 1:
			label = phrase.Of("Play it an octave up, as {1}", pitch)
		case -1:
			label = phrase.Of("Play it an octave down, as {1}", pitch)
		case 2:
			label = phrase.Of("Play it two octaves up, as {1}", pitch)
		case -2:
			label = phrase.Of("Play it two octaves down, as {1}", pitch)
		}
		all = append(all, offer{label, d.on(note, arrange.Decision{Kind: arrange.Octave, Octaves: &octaves})})
	}
	return all
}

// change makes a decision on the setup. The excerpt is kept, which would else be chosen anew for another turn.
func (d *derivation) change(keepExcerpt bool, fields map[string]any) arrange.Decision {
	if keepExcerpt {
		fields["excerpt"] = Excerpt{d.tune.Bars[d.timing.from].Number, d.tune.Bars[d.timing.to].Number}
	}
	data, err := json.Marshal(fields)
	if err != nil {
		panic("project: a change of the setup does not marshal: " + err.Error())
	}
	return arrange.Decision{Kind: arrange.Change, Setup: data}
}

// combOffers changes the comb for a note that has no tooth.
func (d *derivation) combOffers(note int) []offer {
	c := d.setup.Comb
	if c.Mode == "cut" {
		if c.Teeth >= mostTeeth {
			return nil
		}
		return []offer{{phrase.Of("Cut one more tooth"), d.change(false, map[string]any{"comb": map[string]any{"teeth": c.Teeth + 1}})}}
	}
	return d.retune(d.wished(note, 0))
}

// retune offers to retune a tooth of a given comb that nothing plucks, one where it keeps its place among the others: teeth stand in the order of
// their pitches.
func (d *derivation) retune(pitch unit.Pitch) []offer {
	teeth := d.solution.Teeth
	for tooth := 1; tooth <= len(teeth); tooth++ {
		if len(d.byTooth[tooth]) > 0 || teeth[tooth-1] == pitch || tooth > 1 && teeth[tooth-2] > pitch || tooth < len(teeth) && teeth[tooth] < pitch {
			continue
		}
		pitches := make([]unit.NoteName, len(d.solution.Teeth))
		for i, p := range d.solution.Teeth {
			pitches[i] = unit.NoteName(p)
		}
		pitches[tooth-1] = unit.NoteName(pitch)
		label := phrase.Of("Retune the unused tooth {1}, {2}, to {3}", tooth, d.solution.Teeth[tooth-1], pitch)
		return []offer{{label, d.change(false, map[string]any{"comb": map[string]any{"pitches": pitches}})}}
	}
	return nil
}

// repeatOffers mends two plucks of one tooth that stand too near: the first note of the finding is the one that is left
// out or clashes, the second the one that it clashes with.
func (d *derivation) repeatOffers(f arrange.Finding, note int) []offer {
	if len(f.Notes) < 2 || len(f.Teeth) == 0 {
		return append(append(d.octaveOffers(note), d.combOffers(note)...), d.leaveOut(note))
	}
	other := d.byID[f.Notes[1]]
	pitch := d.solution.Teeth[f.Teeth[0]-1]
	var all []offer
	name := unit.NoteName(pitch)
	for twin, tooth := range d.teethOf[pitch] {
		if f.Kind != arrange.Doubled && tooth != f.Teeth[0] && d.isFree(tooth, note) {
			all = append(all, offer{phrase.Of("Use the twin tooth, {1}", tooth), d.on(note, arrange.Decision{Kind: arrange.Place, Pitch: &name, Twin: twin + 1})})
		}
	}
	all = append(all, d.octaveOffers(note)...)
	if f.Have.Unit == "ms" {
		short := unit.Milliseconds(f.Need.Value - f.Have.Value)
		all = append(all, d.shiftOffers(note, other, short, short)...)
	}
	all = append(all, d.combOffers(note)...)
	for _, n := range []int{note, other} {
		if d.pluckOf[n] < 0 {
			continue
		}
		o := d.leaveOut(n)
		if d.notes[note].Name == d.notes[other].Name {
			o.label = phrase.Of("Leave the {1} of bar {2} beat {3} out", d.notes[n].Name, d.notes[n].Bar, beat(d.notes[n].Beat))
		}
		all = append(all, o)
	}
	if f.Kind != arrange.Doubled && (f.Blocks || d.notes[note].Role == arrange.Lead) {
		all = append(all, d.slower(note, other, pitch)...)
	}
	return all
}

// isFree reports whether a tooth can take a note beside its plucks.
func (d *derivation) isFree(tooth, note int) bool {
	repeat := d.action.Recover(d.solution.Teeth[tooth-1]).RepeatMs
	at := d.notes[note].OnsetMs + d.locks[note].ShiftMs
	return !slices.ContainsFunc(d.byTooth[tooth], func(p int) bool {
		o := d.solution.Plucks[p]
		return o.Note != note && comb.RoundTheCircle(at, o.TimeMs, d.timing.turn) < repeat-comb.Slack
	})
}

// shiftOffers moves one note away from another, or the other from it, each by what it lacks, where the tolerance allows it.
func (d *derivation) shiftOffers(note, other int, lacks, otherLacks unit.Milliseconds) []offer {
	a, b := d.notes[note].OnsetMs+d.locks[note].ShiftMs, d.notes[other].OnsetMs+d.locks[other].ShiftMs
	later := a >= b
	if math.Abs(float64(a-b)) > float64(d.timing.turn)/2 {
		later = !later
	}
	var all []offer
	for _, side := range []struct {
		note  int
		later bool
		short unit.Milliseconds
	}{{note, later, lacks}, {other, !later, otherLacks}} {
		short := unit.Milliseconds(math.Ceil(float64(side.short)*10) / 10)
		by := d.locks[side.note].ShiftMs + short
		label := phrase.Of("Move {1} {2} ms later", d.notes[side.note].Name, figure(float64(short), 1))
		if !side.later {
			by = d.locks[side.note].ShiftMs - short
			label = phrase.Of("Move {1} {2} ms earlier", d.notes[side.note].Name, figure(float64(short), 1))
		}
		if math.Abs(float64(by)) > float64(d.setup.Limits.ShiftMs) {
			continue
		}
		shift := unit.Round(float64(by))
		c := arrange.Decision{Kind: arrange.Shift, Ms: &shift, Note: d.notes[side.note].ID}
		if d.locks[side.note].ShiftMs != 0 {
			continue // moved once already; the user's figure stands
		}
		all = append(all, offer{label, c})
	}
	return all
}

// slower turns the cylinder just slowly enough, or makes it just thick enough, that two plucks of a tooth lie a repeat time apart.
func (d *derivation) slower(note, other int, pitch unit.Pitch) []offer {
	a, b := d.notes[note].OnsetMs+d.locks[note].ShiftMs, d.notes[other].OnsetMs+d.locks[other].ShiftMs
	share := float64(comb.RoundTheCircle(a, b, d.timing.turn) / d.timing.turn) // of a turn
	if share <= 0 || d.setup.Tempo.Mode != "fill" {
		return nil
	}
	c := d.setup.Cylinder
	rec := d.action.Recover(pitch)
	var all []offer
	if hole := float64((c.PinDiameterMm + c.HoleWebMm) / c.CircumferenceMm()); share > hole {
		turn := math.Inf(1)
		switch contact := float64(c.Contact()) / 360; {
		case rec.GovernedBy == comb.Measured:
			turn = float64(rec.RecoveryMs) / share
		case share > contact:
			turn = float64(rec.DampMs+d.setup.Comb.LeastRingMs) / (share - contact)
		}
		turn = math.Ceil(turn)
		if turn > float64(d.timing.turn) && turn <= 2*float64(d.timing.turn) {
			all = append(all, offer{phrase.Of("Slow the cylinder to {1} s a turn", figure(turn/1000, 2)),
				d.change(true, map[string]any{"tempo": map[string]any{"revolutionMs": turn}})})
		}
	}
	if rec.GovernedBy == comb.Holes {
		around := float64(c.PinDiameterMm+c.HoleWebMm) / share
		diameter := math.Ceil(around/math.Pi*10) / 10
		if diameter <= 2*float64(c.DiameterMm) && diameter <= 400 {
			all = append(all, offer{phrase.Of("Use a cylinder {1} mm thick", figure(diameter, 1)),
				d.change(true, map[string]any{"cylinder": map[string]any{"diameterMm": diameter}})})
		}
	}
	return all
}

// holeOffers mends two holes of different tracks that lie too near.
func (d *derivation) holeOffers(f arrange.Finding) []offer {
	var all []offer
	for _, id := range f.Notes {
		all = append(all, d.leaveOut(d.byID[id]))
	}
	c := d.setup.Cylinder
	spacing := math.Ceil(float64(c.PinDiameterMm+c.HoleWebMm)*20) / 20
	if spacing > float64(c.ToothSpacingMm) {
		all = append(all, offer{phrase.Of("Space the teeth {1} mm apart", figure(spacing, 2)),
			d.change(false, map[string]any{"cylinder": map[string]any{"toothSpacingMm": spacing}})})
	}
	return all
}

// loadOffers eases a moment at which too many teeth are released.
func (d *derivation) loadOffers(f arrange.Finding) []offer {
	notes := make([]int, len(f.Notes))
	for i, id := range f.Notes {
		notes[i] = d.byID[id]
	}
	var all []offer
	l := d.setup.Limits
	half := unit.Milliseconds(math.Ceil(float64(l.TogetherMs)*5)/10 + 0.1) // a little more than half the window, to either side
	free := !slices.ContainsFunc(notes, func(n int) bool { return d.locks[n].ShiftMs != 0 })
	if half <= l.ShiftMs && len(notes) <= 2*l.MaxTogether && free {
		byPitch := slices.Clone(notes)
		slices.SortFunc(byPitch, func(a, b int) int {
			return cmp.Or(cmp.Compare(d.solution.Plucks[d.pluckOf[a]].Pitch, d.solution.Plucks[d.pluckOf[b]].Pitch), cmp.Compare(a, b))
		})
		var parts []arrange.Decision
		for i, n := range byPitch {
			by := float64(half)
			if i < len(byPitch)/2 {
				by = -by
			}
			parts = append(parts, arrange.Decision{Kind: arrange.Shift, Note: d.notes[n].ID, Ms: &by})
		}
		all = append(all, offer{phrase.Of("Roll the chord, low notes first"), several(parts...)})
	}
	cheapest := slices.Clone(notes)
	slices.SortStableFunc(cheapest, func(a, b int) int {
		return cmp.Compare(d.solution.Plucks[d.pluckOf[a]].Value, d.solution.Plucks[d.pluckOf[b]].Value)
	})
	var parts []arrange.Decision
	for _, n := range cheapest[:len(notes)-l.MaxTogether] {
		parts = append(parts, d.leaveOut(n).decision)
	}
	if len(parts) == 1 {
		all = append(all, d.leaveOut(cheapest[0]))
	} else {
		all = append(all, offer{phrase.Of("Leave the {1} least notes out", len(parts)), flat(parts)})
	}
	if len(notes) <= mostTeeth {
		all = append(all, offer{phrase.Of("Allow {1} teeth together", len(notes)),
			d.change(false, map[string]any{"limits": map[string]any{"maxTogether": len(notes)}})})
	}
	return all
}

// flat puts decisions together, those that are several themselves taken apart.
func flat(parts []arrange.Decision) arrange.Decision {
	var all []arrange.Decision
	for _, p := range parts {
		if p.Kind == arrange.Several {
			all = append(all, p.Decisions...)
		} else {
			all = append(all, p)
		}
	}
	return several(all...)
}

// overrunOffers makes the excerpt fit the revolution.
func (d *derivation) overrunOffers() []offer {
	k := d.timing
	need := math.Ceil(float64(k.written) / (1 - float64(d.setup.Cylinder.GapDeg)/360))
	all := []offer{
		{phrase.Of("Let the tune fill the turn"), d.change(true, map[string]any{"tempo": map[string]any{"mode": "fill"}})},
		{phrase.Of("Slow the cylinder to {1} s a turn", figure(need/1000, 2)), d.change(true, map[string]any{"tempo": map[string]any{"revolutionMs": need}})},
	}
	to := k.to
	for to > k.from && d.tune.Bars[to].EndMs-k.first.OnsetMs > k.sounding {
		to--
	}
	if to < k.to && d.tune.Bars[to].EndMs-k.first.OnsetMs <= k.sounding {
		from, last := d.tune.Bars[k.from].Number, d.tune.Bars[to].Number
		all = append(all, offer{phrase.Of("End with bar {1}", last), d.change(false, map[string]any{"excerpt": Excerpt{from, last}})})
	}
	return all
}

// choiceOffers settles decisions that contradict each other, or the setup.
func (d *derivation) choiceOffers(f arrange.Finding, note int) []offer {
	id := d.notes[note].ID
	release := arrange.Decision{Kind: arrange.Release, Note: id}
	if f.Have != nil { // a shift beyond the tolerance
		none, most := 0.0, f.Have.Value
		return []offer{
			{phrase.Of("Take the shift back"), arrange.Decision{Kind: arrange.Shift, Note: id, Ms: &none}},
			{phrase.Of("Allow shifts of {1} ms", figure(most, 1)), d.change(false, map[string]any{"limits": map[string]any{"shiftMs": most}})},
		}
	}
	all := []offer{{phrase.Of("Release {1}", d.notes[note].Name), release}}
	if c, ok := d.choices[f.ID]; ok {
		for _, s := range []arrange.Step{c.Earlier, c.Later} {
			parts := append([]arrange.Decision{release, s.Decision}, d.standing(note, s.Decision.Kind != arrange.Shift)...)
			all = append(all, offer{phrase.Of("Keep decision {1}", s.Name()), several(parts...)})
		}
		return all
	}
	return append(all, d.leaveOut(note))
}

// forget offers to take back decisions about a note that is not played; of one that was written where nothing plays, to play it or to take it out.
func (d *derivation) forget(f arrange.Finding) []offer {
	switch c := d.lostAs[f.ID].Decision; {
	case c.Kind == "":
		return nil
	case c.Kind == arrange.Remove:
		out := offer{phrase.Of("Take it out of the tune"), c}
		from, to := d.tune.Bars[d.timing.from].Number, d.tune.Bars[d.timing.to].Number
		if f.Bar >= from && f.Bar <= to {
			return []offer{out}
		}
		from, to = min(from, f.Bar), max(to, f.Bar)
		return []offer{{phrase.Of("Play bars {1} to {2}", from, to), d.change(false, map[string]any{"excerpt": Excerpt{from, to}})}, out}
	}
	return []offer{{phrase.Of("Forget what was decided about it"), arrange.Decision{Kind: arrange.Release, Note: d.lostAs[f.ID].Decision.Note}}}
}
