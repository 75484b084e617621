package project

import (
	"bytes"
	"cmp"
	"context"
	"math"
	"reflect"
	"slices"

	"pinwright/arrange"
	"pinwright/arrange/comb"
	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/tolerance"
)

// Options say what of a result is wanted.
type Options struct {
	Remedies bool   // compute the remedies of the findings: many more solutions
	Few      bool   // only those of the first findings, for an answer at once
	Finding  string // id of the one finding whose remedies are wanted, all of them; "" for those of all, within a budget
}

// Derive gives everything that follows from a tune, the setup as first posted, and the log of decisions, undo and redo
// among them. Errors of the setup are of type *FieldError; otherwise it fails only where ctx ends.
func Derive(ctx context.Context, t *tune.Tune, setup Setup, log []arrange.Decision, o Options) (*Result, error) {
	return NewSession(t, setup).Derive(ctx, log, o)
}

// derivation is a result in the making, with what findings and remedies need to know.
type derivation struct {
	file      *tune.Tune // as it was read
	tune      *tune.Tune // as it stands
	written   *written
	base      Setup // as first posted
	done      []arrange.Decision
	setup     Setup // as it stands
	steps     []arrange.Step
	changes   [][]byte       // of the setup, among the decisions
	writes    []arrange.Step // those that change the tune as written
	roles     []arrange.Role // of the parts
	timing    timing
	action    comb.Action
	notes     []arrange.Note
	byID      map[string]int // index of each note, also by the ids merged into it
	locks     []arrange.Lock
	conflicts []arrange.Conflict
	lost      []arrange.Step
	stepsOf   map[int][]arrange.Decision  // in force, by note
	choices   map[string]arrange.Conflict // by the id of their finding
	lostAs    map[string]arrange.Step     // by the id of their finding
	late      map[int]bool                // notes that the turn ends before
	problem   *arrange.Problem
	solution  *arrange.Solution
	pluckOf   []int         // index into solution.Plucks, -1 for dropped
	byTooth   map[int][]int // plucks of each tooth, by time
	teethOf   map[unit.Pitch][]int
	unmet     map[int]bool
	placedIn  [12]bool // written pitch classes in which the user placed a note
	chords    []arrange.Chord
	chordOf   []int       // index into chords, by note
	dropped   map[int]why // why notes are not played
	pins      []pinmap.Pin
	table     *indexing.Table   // how the holes are set, once asked for
	report    *tolerance.Report // what may be expected of them, once asked for
	tools     []offer           // other tools that break nothing, once asked for
	found     []arrange.Finding
	fit       *fit               // of a tune that stands beside another; nil of any other
	company   *company           // what is remembered of the tunes beside this one
	others    []*BesideView      // the tunes beside this one
	crossed   map[string][2]Hole // holes of different tunes that lie too near, by the id of their finding
	mute      bool               // reports whether findings of which there are many go without words
	result    *Result
}

// derive does it. What an earlier derivation of the same tune and setup, where there is one, has in common with it is taken from there.
func derive(ctx context.Context, t *tune.Tune, base Setup, done []arrange.Decision, solver *arrange.Exact, earlier *derivation) (*derivation, error) {
	d := &derivation{file: t, base: base, done: done}
	if earlier == nil {
		d.company = newCompany()
	} else {
		d.company = earlier.company
	}
	err := d.state(earlier)
	if err != nil {
		return nil, err
	}
	if earlier == nil {
		d.solution, err = solver.Solve(ctx, d.problem)
	} else {
		d.solution, err = solver.Again(ctx, d.problem, earlier.solution)
	}
	if err != nil {
		return nil, err
	}
	if err := d.gather(ctx); err != nil {
		return nil, err
	}
	d.lay()
	d.view()
	return d, nil
}

// try derives what would be with other decisions in force, solved from where this solution was left. It has no result, and its findings
// may have no words, until it is told.
func (d *derivation) try(ctx context.Context, solver *arrange.Exact, done []arrange.Decision) (*derivation, error) {
	then := &derivation{file: d.file, base: d.base, done: done, company: d.company, mute: true}
	err := then.state(d)
	if err != nil {
		return nil, err
	}
	if then.solution, err = solver.Try(ctx, then.problem, d.solution); err != nil {
		return nil, err
	}
	if err := then.gather(ctx); err != nil {
		return nil, err
	}
	then.lay()
	return then, nil
}

// tell gives what was tried its words and its result.
func (d *derivation) tell() {
	d.mute = false
	d.lay()
	d.view()
}

// state states the problem.
func (d *derivation) state(earlier *derivation) error {
	d.steps = arrange.Steps(d.done)
	for _, s := range d.steps {
		if s.Decision.Kind == arrange.Change {
			d.changes = append(d.changes, s.Decision.Setup)
		}
	}
	d.writes = writes(d.steps)
	same := func(a, b arrange.Step) bool { return reflect.DeepEqual(a, b) }
	if earlier != nil && slices.EqualFunc(d.changes, earlier.changes, bytes.Equal) && slices.EqualFunc(d.writes, earlier.writes, same) {
		d.tune, d.written = earlier.tune, earlier.written
		d.setup, d.roles, d.timing, d.action = earlier.setup, earlier.roles, earlier.timing, earlier.action
		d.notes, d.byID, d.chords, d.chordOf = earlier.notes, earlier.byID, earlier.chords, earlier.chordOf
	} else if err := d.compose(earlier); err != nil {
		return err
	}
	d.settle()
	d.pose()
	return nil
}

// compose turns the file's notes, and those written by hand, into those to be played, as the setup has it.
func (d *derivation) compose(earlier *derivation) (err error) {
	d.written = write(d.file, d.writes)
	d.tune = d.written.tune()
	d.setup = d.base
	changes := d.changes
	if earlier != nil && len(earlier.changes) <= len(changes) && slices.EqualFunc(earlier.changes, changes[:len(earlier.changes)], bytes.Equal) {
		d.setup, changes = earlier.setup, changes[len(earlier.changes):] // a change can be long: whole projects that stand beside this one
	}
	for _, change := range changes {
		if d.setup, err = d.setup.With(change); err != nil {
			return err
		}
	}
	if d.fit != nil {
		d.setup = d.fit.onto(d.setup)
	}
	if d.roles, err = d.partRoles(); err != nil {
		return err
	}
	if d.timing, err = newTiming(d.written, d.tune, d.roles, d.setup); err != nil {
		return err
	}
	d.notes = arrange.Compose(d.timing.sources(d.tune, d.roles))
	d.byID = arrange.ByID(d.notes)
	d.chords, d.chordOf = arrange.Onsets(d.notes), make([]int, len(d.notes))
	for i, c := range d.chords {
		for n := c.From; n < c.To; n++ {
			d.chordOf[n] = i
		}
	}
	c, turn := d.setup.Comb, d.timing.turn
	d.action = comb.Action{ContactMs: d.setup.Cylinder.ContactMs(turn), HoleMs: d.setup.Cylinder.HoleMs(turn),
		DampingCycles: c.DampingCycles, LeastRingMs: c.LeastRingMs, Measured: map[unit.Pitch]unit.Milliseconds{}}
	for p, own := range c.RecoveryMs {
		d.action.Measured[p.Pitch()] = own
	}
	return nil
}

// lay puts the pins on the cylinder and finds what stands in the way there.
func (d *derivation) lay() {
	d.index()
	d.pins = d.layout()
	d.table, d.report, d.tools = nil, nil, nil
	d.found = d.findings()
}

// partRoles gives the role of each part: what the user set, off for percussion, else "".
func (d *derivation) partRoles() ([]arrange.Role, error) {
	roles := make([]arrange.Role, len(d.tune.Parts))
	index := map[string]int{}
	for i, p := range d.tune.Parts {
		index[p.ID] = i
		if p.Percussion {
			roles[i] = arrange.Off
		}
	}
	for i, p := range d.setup.Parts {
		part, ok := index[p.ID]
		if !ok {
			return nil, fieldError(at("/parts", i, "id"), phrase.Of("the file has no part {1}; its parts are {2}", quote(p.ID), joined(sortedKeys(index), 20)))
		}
		roles[part] = p.Role
	}
	return roles, nil
}

// settle turns the decisions in force into locks.
func (d *derivation) settle() {
	d.locks, d.conflicts, d.lost = arrange.Locks(d.byID, len(d.notes), d.steps)
	d.stepsOf = map[int][]arrange.Decision{}
	for _, s := range d.steps {
		if i, ok := d.byID[s.Decision.Note]; ok && !s.Decision.Writes() {
			d.stepsOf[i] = append(d.stepsOf[i], s.Decision)
		}
	}
}

// pose states the optimisation. Notes that the turn ends before are left out of it.
func (d *derivation) pose() {
	c, turn := d.setup.Comb, d.timing.turn
	p := &arrange.Problem{Notes: d.notes, Locks: slices.Clone(d.locks), RevolutionMs: turn, MinX: d.setup.Transpose.Min, MaxX: d.setup.Transpose.Max,
		Comb: arrange.Stock{Teeth: c.Teeth, Low: c.Low.Pitch(), High: c.High.Pitch(), MaxTwins: c.MaxTwins}, Work: d.setup.Limits.SolveMs * arrange.WorkPerMs}
	for pitch := range p.RepeatMs {
		p.RepeatMs[pitch] = d.action.Recover(unit.Pitch(pitch)).RepeatMs
	}
	if c.Mode == "fixed" {
		p.Comb.Fixed = map[unit.Pitch]int{}
		for _, pitch := range c.Pitches {
			p.Comb.Fixed[pitch.Pitch()]++
		}
	}
	d.late = map[int]bool{}
	for i, n := range d.notes {
		if n.OnsetMs > d.timing.sounding+lateSlack {
			d.late[i] = true
			p.Locks[i] = arrange.Lock{LeaveOut: true}
		}
		switch at := n.OnsetMs + p.Locks[i].ShiftMs; { // a shift can carry it across the turn's end
		case at < 0:
			p.Locks[i].ShiftMs += turn
		case at >= turn:
			p.Locks[i].ShiftMs -= turn
		}
	}
	d.problem = p
}

// lateSlack is how far the written tempo may overrun the turn without its gap, for the sake of rounding.
const lateSlack unit.Milliseconds = 0.5

// index orders the plucks by note and by tooth, and finds out why notes are not played.
func (d *derivation) index() {
	d.pluckOf = make([]int, len(d.notes))
	for i := range d.pluckOf {
		d.pluckOf[i] = -1
	}
	d.byTooth, d.teethOf = map[int][]int{}, map[unit.Pitch][]int{}
	for i, p := range d.solution.Plucks {
		switch angle := float64(d.setup.Cylinder.GapDeg)/2 + 360*float64(p.TimeMs/d.timing.turn); { // a shift can carry it across the datum line
		case angle < 0:
			d.solution.Plucks[i].TimeMs += d.timing.turn
		case angle >= 360:
			d.solution.Plucks[i].TimeMs -= d.timing.turn
		}
		d.pluckOf[p.Note] = i
		d.byTooth[p.Tooth] = append(d.byTooth[p.Tooth], i)
	}
	for _, plucks := range d.byTooth {
		slices.SortFunc(plucks, func(a, b int) int {
			return cmp.Or(cmp.Compare(d.solution.Plucks[a].TimeMs, d.solution.Plucks[b].TimeMs), cmp.Compare(a, b))
		})
	}
	for i, p := range d.solution.Teeth {
		d.teethOf[p] = append(d.teethOf[p], i+1)
	}
	for i, l := range d.locks {
		if l.Placed() {
			d.placedIn[d.notes[i].Pitch.Class()] = true
		}
	}
	d.unmet = map[int]bool{}
	for _, i := range d.solution.Unmet {
		d.unmet[i] = true
	}
	d.dropped = map[int]why{}
	for i := range d.notes {
		if d.pluckOf[i] < 0 {
			d.dropped[i] = d.whyDropped(i)
		}
	}
}

// timing is how the file's time becomes time on the cylinder.
type timing struct {
	from, to int // indexes of the excerpt's first and last bar
	chosen   bool
	first    tune.Note         // the first note that sounds; where none does, the excerpt's first bar line
	written  unit.Milliseconds // span as written, from the first onset to the end of the last bar
	turn     unit.Milliseconds // T
	sounding unit.Milliseconds // T without the gap
	stretch  float64           // time on the cylinder for time as written
	overrun  bool
}

// newTiming chooses the excerpt and the turn. That nothing sounds is an error, unless the tune is written by hand. Cost: linear in notes
// and bars.
func newTiming(w *written, t *tune.Tune, roles []arrange.Role, s Setup) (timing, error) {
	sounds := func(n tune.Note) bool { return roles[n.Part] != arrange.Off }
	k := timing{turn: s.Tempo.RevolutionMs, chosen: s.Excerpt != nil}
	if k.turn == 0 {
		k.turn = s.Drive.RevolutionMs()
	}
	at := slices.IndexFunc(t.Notes, sounds)
	if at < 0 && !w.edited() {
		if len(s.Parts) == 0 {
			return k, fieldError("/parts", phrase.Of("every note of the file is percussion, which has no pitch to pluck; give one of its parts a role such as lead to play it all the same"))
		}
		return k, fieldError("/parts", phrase.Of("every part is off; give at least one of them another role"))
	}
	if e := s.Excerpt; e != nil {
		first, last := t.Bars[0].Number, t.Bars[len(t.Bars)-1].Number
		if e.FromBar < first || e.FromBar > last {
			return k, fieldError("/excerpt/fromBar", phrase.Of("the tune has no bar {1}; its bars run from {2} to {3}", e.FromBar, first, last))
		}
		if e.ToBar > last {
			return k, fieldError("/excerpt/toBar", phrase.Of("the tune has no bar {1}; its bars run from {2} to {3}", e.ToBar, first, last))
		}
		k.from, k.to = e.FromBar-first, e.ToBar-first
		at = slices.IndexFunc(t.Notes, func(n tune.Note) bool { return sounds(n) && n.Bar >= e.FromBar })
		if at >= 0 && t.Notes[at].Bar > e.ToBar {
			at = -1
		}
		if at < 0 && !w.edited() {
			return k, fieldError("/excerpt", phrase.Of("nothing sounds in bars {1} to {2}; choose bars with notes of parts that are not off", e.FromBar, e.ToBar))
		}
	}
	if at >= 0 {
		k.first = t.Notes[at]
	} else {
		b := t.Bars[k.from]
		k.first = tune.Note{Bar: b.Number, OnsetMs: b.StartMs, Quarter: b.StartQuarter}
	}
	if s.Excerpt == nil {
		k.from = k.first.Bar - t.Bars[0].Number
		last := k.from
		for _, n := range t.Notes[max(at, 0):] {
			if sounds(n) {
				last = n.Bar - t.Bars[0].Number
			}
		}
		if w.fromNothing() { // all bars that were asked for, and those that were written beyond
			k.to = max(last, len(w.file.Bars)-1)
		} else {
			if at < 0 {
				last = len(t.Bars) - 1
			}
			k.to = nearestSpan(t.Bars[:last+1], k.from, k.first.OnsetMs, s.Cylinder.SoundingMs(k.turn))
		}
	}
	k.written = t.Bars[k.to].EndMs - k.first.OnsetMs
	switch {
	case s.Tempo.Mode == "fill":
		k.sounding = s.Cylinder.SoundingMs(k.turn)
		k.stretch = float64(k.sounding / k.written)
	default:
		if s.Tempo.RevolutionMs == 0 {
			k.turn = k.written / unit.Milliseconds(1-s.Cylinder.GapDeg/360)
		}
		k.sounding = s.Cylinder.SoundingMs(k.turn)
		k.stretch = 1
		k.overrun = k.written > k.sounding+lateSlack
	}
	if !(k.turn >= shortestTurn && k.turn <= longestTurn) {
		return k, fieldError("/tempo", phrase.Of("at the written tempo the cylinder would turn once in {1}, which no cylinder does; choose other bars or the mode fill", ms(k.turn)))
	}
	return k, nil
}

// nearestSpan gives the last bar of the run of whole bars whose span from the first onset is nearest in ratio to want;
// the shorter where two are equally near.
func nearestSpan(bars []tune.Bar, from int, first, want unit.Milliseconds) int {
	best, off := from, math.Inf(1)
	for to := from; to < len(bars); to++ {
		span := float64(bars[to].EndMs - first)
		if span <= 0 {
			continue
		}
		if o := math.Abs(math.Log(span / float64(want))); o < off-1e-12 {
			best, off = to, o
		}
	}
	return best
}

// onCylinder gives the time on the cylinder of a time of the file.
func (k timing) onCylinder(at unit.Milliseconds) unit.Milliseconds {
	return (at - k.first.OnsetMs) * unit.Milliseconds(k.stretch)
}

// sources gives the excerpt's notes that sound, on the cylinder.
func (k timing) sources(t *tune.Tune, roles []arrange.Role) []arrange.Source {
	from, to := t.Bars[k.from].Number, t.Bars[k.to].Number
	var sources []arrange.Source
	for _, n := range t.Notes {
		if n.Bar < from || n.Bar > to || roles[n.Part] == arrange.Off {
			continue
		}
		sources = append(sources, arrange.Source{ID: n.ID, AtMs: k.onCylinder(n.OnsetMs), Pitch: n.Pitch,
			Part: t.Parts[n.Part].ID, Role: roles[n.Part], Bar: n.Bar, Beat: n.Beat})
	}
	return sources
}

// Accept checks a decision against what stands: that its note, tooth and figures are there and that the result can be
// derived with it. It gives the decision as it is to be stored, with the tooth named by its pitch. Errors of the decision
// are of type *FieldError.
func Accept(ctx context.Context, t *tune.Tune, setup Setup, log []arrange.Decision, d arrange.Decision) (arrange.Decision, error) {
	return NewSession(t, setup).Accept(ctx, log, d)
}

// Accept is as the function of that name, with what the session remembers.
func (s *Session) Accept(ctx context.Context, log []arrange.Decision, d arrange.Decision) (arrange.Decision, error) {
	if err := checkDecision(d, "", true); err != nil {
		return d, err
	}
	done, undone := arrange.Fold(log)
	switch d.Kind {
	case arrange.Undo:
		if len(done) == 0 {
			return d, fieldError("/kind", phrase.Of("there is no decision to take back"))
		}
		return d, nil
	case arrange.Redo:
		if len(undone) == 0 {
			return d, fieldError("/kind", phrase.Of("there is no decision to make again; only what was just taken back can be"))
		}
		return d, nil
	}
	parts, pointers := []arrange.Decision{d}, []string{""}
	if d.Kind == arrange.Several {
		parts, pointers = slices.Clone(d.Decisions), nil
		for i := range parts {
			pointers = append(pointers, at("/decisions", i, ""))
		}
	}
	done = slices.Clip(done)
	until := func(i int) []arrange.Decision { // what is in force with the first i parts
		switch {
		case i == 0:
			return done
		case d.Kind != arrange.Several:
			return append(done, parts[0])
		}
		return append(done, several(parts[:i]...))
	}
	var now *derivation // as it stands before the part in hand; nil where that is not known
	wrote := -1         // the last part that changed the tune as written, where that has not been derived
	for i := range parts {
		var err error
		switch {
		case parts[i].Kind == arrange.Change:
			if now, err = s.at(ctx, until(i+1)); err != nil {
				return d, below(pointers[i]+"/setup", err)
			}
			wrote = -1
			continue
		case parts[i].Writes():
			if _, err = write(s.tune, writes(arrange.Steps(until(i)))).after(parts[i], pointers[i]); err != nil {
				return d, err
			}
			now, wrote = nil, i
			continue
		case now == nil:
			if now, err = s.at(ctx, until(i)); err != nil {
				return d, whole(pointers, wrote, err)
			}
			wrote = -1
		}
		if parts[i], err = now.resolve(parts[i], pointers[i]); err != nil {
			return d, err
		}
	}
	if wrote >= 0 {
		if _, err := s.at(ctx, until(len(parts))); err != nil {
			return d, whole(pointers, wrote, err)
		}
	}
	if d.Kind == arrange.Several {
		d.Decisions = parts
		return d, nil
	}
	return parts[0], nil
}

// whole lays what cannot be derived at the door of the part that wrote, if there is one: its fields are all sound, and the fault's pointer leads
// into the setup.
func whole(pointers []string, wrote int, err error) error {
	if fault, ok := err.(*FieldError); ok && wrote >= 0 {
		return &FieldError{Pointer: pointers[wrote], Message: fault.Message}
	}
	return err
}

// below puts the pointer of a field in front of an error's own.
func below(pointer string, err error) error {
	if fault, ok := err.(*FieldError); ok {
		return &FieldError{Pointer: pointer + fault.Pointer, Message: fault.Message}
	}
	return err
}

// resolve checks one decision that is not several and names its tooth by pitch and twin.
func (d *derivation) resolve(c arrange.Decision, pointer string) (arrange.Decision, error) {
	if c.Writes() {
		_, err := d.written.after(c, pointer)
		return c, err
	}
	i, ok := d.byID[c.Note]
	if !ok && c.Kind == arrange.Release {
		for _, lost := range d.lost {
			if lost.Decision.Note == c.Note {
				return c, nil
			}
		}
	}
	if !ok {
		return c, fieldError(pointer+"/note", phrase.Of("the excerpt has no note {1}; choose one of those in tune.notes", quote(c.Note)))
	}
	n := d.notes[i]
	switch c.Kind {
	case arrange.Place:
		if c.Tooth > 0 {
			if c.Tooth > len(d.solution.Teeth) {
				return c, fieldError(pointer+"/tooth", phrase.Of("the comb has no tooth {1}; it has {2}", c.Tooth, len(d.solution.Teeth)))
			}
			pitch := d.solution.Teeth[c.Tooth-1]
			name := unit.NoteName(pitch)
			c.Pitch, c.Twin, c.Tooth = &name, 1+slices.Index(d.teethOf[pitch], c.Tooth), 0
		}
		pitch := c.Pitch.Pitch()
		if pitch.Class() != (n.Pitch + unit.Pitch(d.solution.Transpose)).Class() {
			return c, fieldError(pointer+"/pitch", phrase.Of("{1} is not {2} nor an octave of it; in this key the note can go to a tooth of the same name only", pitch, n.Pitch+unit.Pitch(d.solution.Transpose)))
		}
		if away := (int(pitch) - int(n.Pitch) - d.solution.Transpose) / 12; away < -arrange.Reach || away > arrange.Reach {
			return c, fieldError(pointer+"/pitch", phrase.Of("{1} lies more than two octaves from {2}", pitch, n.Pitch+unit.Pitch(d.solution.Transpose)))
		}
		if err := d.onComb(pitch, c.Twin, pointer); err != nil {
			return c, err
		}
	case arrange.Octave:
		pitch := n.Pitch + unit.Pitch(d.solution.Transpose+12**c.Octaves)
		if d.problem.Comb.Fixed != nil && d.problem.Comb.Fixed[pitch] == 0 || d.problem.Comb.Fixed == nil && (pitch < d.problem.Comb.Low || pitch > d.problem.Comb.High) {
			if d.problem.Comb.Fixed != nil {
				return c, fieldError(pointer+"/octaves", phrase.Of("that would be {1}, and the comb has no such tooth", pitch))
			}
			return c, fieldError(pointer+"/octaves", phrase.Of("that would be {1}, and the comb is cut from {2} to {3}", pitch, d.problem.Comb.Low, d.problem.Comb.High))
		}
	case arrange.Shift:
		if most := float64(d.setup.Limits.ShiftMs); math.Abs(*c.Ms) > most {
			return c, fieldError(pointer+"/ms", phrase.Of("{1} ms is more than the tolerance of {2} ms; move it less or raise limits.shiftMs in the setup", *c.Ms, most))
		}
	}
	return c, nil
}

// onComb reports, as an error, a tooth that the comb cannot have.
func (d *derivation) onComb(pitch unit.Pitch, twin int, pointer string) error {
	s := d.problem.Comb
	if s.Fixed != nil {
		if s.Fixed[pitch] == 0 {
			return fieldError(pointer+"/pitch", phrase.Of("the comb has no tooth {1}", pitch))
		}
		if twin > s.Fixed[pitch] {
			return fieldError(pointer+"/twin", phrase.Plural(s.Fixed[pitch], phrase.Of("the comb has 1 tooth of {1}, not {2}", pitch, twin),
				phrase.Of("the comb has {1} teeth of {2}, not {3}", s.Fixed[pitch], pitch, twin)))
		}
		return nil
	}
	if pitch < s.Low || pitch > s.High {
		return fieldError(pointer+"/pitch", phrase.Of("{1} lies outside the comb, which is cut from {2} to {3}", pitch, s.Low, s.High))
	}
	if twin > s.MaxTwins {
		return fieldError(pointer+"/twin", phrase.Of("at most {1} teeth may be alike; raise comb.maxTwins for {2}", s.MaxTwins, twin))
	}
	return nil
}
