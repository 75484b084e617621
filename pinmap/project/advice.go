package project

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
)

// AdviceSchema names the version of Advice.
const AdviceSchema = "pinwright/advice/1"

// Advice says what another comb, key or tempo would bring to a project as it stands. Every figure is the value after
// solving again. Changes of value are against Objective.
type Advice struct {
	Schema     string          `json:"schema"`
	Objective  float64         `json:"objective"`
	TotalValue float64         `json:"totalValue"`
	Proven     bool            `json:"proven"`
	OneMore    *CombChange     `json:"oneMore"`   // null where there can be no more teeth
	Teeth      []ToothWorth    `json:"teeth"`     // in the order of the comb
	Retunings  []CombChange    `json:"retunings"` // of one, two and three teeth of a given comb, as far as each brings more than the last
	Line       []LinePoint     `json:"line"`      // the best combs of 1 to 72 teeth
	Keys       []KeyChange     `json:"keys"`      // the three next best
	Tempo      *TempoChange    `json:"tempo"`     // null where nothing is lost to repeats
	Sentences  []phrase.Phrase `json:"sentences"` // the same in words
	CutShort   bool            `json:"cutShort"`  // reports whether the tune was too dense for all of it
	InTheWay   int             `json:"inTheWay"`  // notes left out or moved since a tooth has not recovered
}

// CombChange is a comb that differs in a few teeth.
type CombChange struct {
	Teeth       int              `json:"teeth"` // of the changed comb
	Added       []unit.NoteName  `json:"added"`
	Removed     []unit.NoteName  `json:"removed"`
	ValueChange float64          `json:"valueChange"`
	Proven      bool             `json:"proven"`
	Decision    arrange.Decision `json:"decision"`
}

// ToothWorth is what would be lost without one tooth, the others staying as they are.
type ToothWorth struct {
	Tooth  int           `json:"tooth"`
	Note   unit.NoteName `json:"note"`
	Value  float64       `json:"value"`
	Proven bool          `json:"proven"`
}

// LinePoint is the value of the best comb with so many teeth.
type LinePoint struct {
	Teeth     int     `json:"teeth"`
	Objective float64 `json:"objective"`
	Proven    bool    `json:"proven"`
}

// KeyChange is the best arrangement in another key.
type KeyChange struct {
	Transpose   int              `json:"transpose"`
	ValueChange float64          `json:"valueChange"`
	Proven      bool             `json:"proven"`
	Decision    arrange.Decision `json:"decision"`
}

// TempoChange is the least slowing at which no note is lost or moved since a tooth has not recovered.
type TempoChange struct {
	RevolutionMs unit.Milliseconds `json:"revolutionMs"`
	PlayedBPM    unit.BPM          `json:"playedBpm"`
	Left         int               `json:"left"` // findings of repeats that are left even so
	Decision     arrange.Decision  `json:"decision"`
}

const (
	longestLine   = 72          // teeth
	mostRetunings = 3           // teeth
	slowest       = 4.0         // times the revolution
	tempoSteps    = 9           // halvings, to within 1 %
	adviceWork    = 200_000_000 // units of the solver's work, some seconds
)

// Advise gives advice about a project as it stands. Errors are those of Derive.
func Advise(ctx context.Context, t *tune.Tune, setup Setup, log []arrange.Decision) (*Advice, error) {
	done, _ := arrange.Fold(log)
	solver := arrange.NewExact()
	d, err := derive(ctx, t, setup, done, solver, nil)
	if err != nil {
		return nil, err
	}
	c := &counsel{derivation: d, ctx: ctx, solver: solver}
	a := &Advice{Schema: AdviceSchema, Objective: d.result.Arrangement.Objective, TotalValue: d.result.Arrangement.TotalValue,
		Proven: d.solution.Proven, Teeth: []ToothWorth{}, Retunings: []CombChange{}, Line: []LinePoint{}, Keys: []KeyChange{}, InTheWay: repeats(d.found)}
	for _, part := range []func(*Advice) error{c.oneMore, c.keys, c.worth, c.retunings, c.line, c.tempo} {
		if c.spent(a) {
			break
		}
		if err := part(a); err != nil {
			return nil, err
		}
	}
	a.Sentences = a.say(d)
	return a, nil
}

// counsel is advice in the making.
type counsel struct {
	*derivation
	ctx    context.Context
	solver *arrange.Exact
}

// spent reports whether the work allowed is spent, and notes that the rest is left out.
func (c *counsel) spent(a *Advice) bool {
	a.CutShort = a.CutShort || c.solver.Work() > adviceWork
	return a.CutShort
}

// sure reports whether the value of a solution against that of the project is exact. Where decisions contradict each other on one of the
// combs, which of them is kept is not a question of value.
func (c *counsel) sure(s *arrange.Solution) bool {
	return s.Proven && c.solution.Proven && len(s.Unmet)+len(c.solution.Unmet) == 0
}

// with gives the problem with another comb.
func (c *counsel) with(stock arrange.Stock) *arrange.Problem {
	p := *c.problem
	p.Comb = stock
	if !c.solution.Proven { // nor will the others be; what counts is that all are asked
		p.Work = max(p.Work/20, 1)
	}
	return &p
}

// given is the comb as it stands.
func (c *counsel) given() map[unit.Pitch]int {
	teeth := map[unit.Pitch]int{}
	for _, p := range c.solution.Teeth {
		teeth[p]++
	}
	return teeth
}

// reach gives the bounds of teeth that could be cut: those of the setup, and those of the comb.
func (c *counsel) reach() (low, high unit.Pitch) {
	low, high = c.setup.Comb.Low.Pitch(), c.setup.Comb.High.Pitch()
	for _, p := range c.solution.Teeth {
		low, high = min(low, p), max(high, p)
	}
	return low, high
}

// change compares a solution on another comb with the comb as it stands.
func (c *counsel) change(s *arrange.Solution) CombChange {
	ch := CombChange{Teeth: len(s.Teeth), Added: []unit.NoteName{}, Removed: []unit.NoteName{}, Proven: c.sure(s),
		ValueChange: unit.Round(s.Objective - c.solution.Objective)}
	left := c.given()
	for _, p := range s.Teeth {
		if left[p] > 0 {
			left[p]--
		} else {
			ch.Added = append(ch.Added, unit.NoteName(p))
		}
	}
	for _, p := range c.solution.Teeth {
		if left[p] > 0 {
			left[p]--
			ch.Removed = append(ch.Removed, unit.NoteName(p))
		}
	}
	if c.setup.Comb.Mode == "cut" {
		ch.Decision = c.derivation.change(false, map[string]any{"comb": map[string]any{"teeth": c.setup.Comb.Teeth + 1}})
		return ch
	}
	pitches := make([]unit.NoteName, len(s.Teeth))
	for i, p := range s.Teeth {
		pitches[i] = unit.NoteName(p)
	}
	ch.Decision = c.derivation.change(false, map[string]any{"comb": map[string]any{"pitches": pitches}})
	return ch
}

// oneMore asks what one more tooth would bring: of a comb to be cut, the best with one more; of a given one, the same with one added.
func (c *counsel) oneMore(a *Advice) error {
	stock := c.problem.Comb
	if stock.Fixed == nil {
		stock.Teeth++
	} else {
		stock.Retuned, stock.Teeth, stock.MaxTwins = 1, len(c.solution.Teeth)+1, c.setup.Comb.MaxTwins
		stock.Low, stock.High = c.reach()
	}
	if stock.Teeth > mostTeeth {
		return nil
	}
	s, err := c.solver.Solve(c.ctx, c.with(stock))
	if err != nil {
		return err
	}
	if len(s.Teeth) > len(c.solution.Teeth) {
		change := c.change(s)
		a.OneMore = &change
	}
	return nil
}

// worth asks what each tooth brings, by taking it away.
func (c *counsel) worth(a *Advice) error {
	a.Teeth = make([]ToothWorth, len(c.solution.Teeth))
	known := map[unit.Pitch]ToothWorth{}
	for i, p := range c.solution.Teeth {
		w, ok := known[p]
		if !ok {
			if c.spent(a) {
				a.Teeth = a.Teeth[:i]
				return nil
			}
			teeth := c.given()
			teeth[p]--
			s, err := c.solver.Narrow(c.ctx, c.with(arrange.Stock{Fixed: teeth}), c.solution)
			if err != nil {
				return err
			}
			w = ToothWorth{Note: unit.NoteName(p), Value: unit.Round(c.solution.Objective - s.Objective), Proven: c.sure(s)}
			known[p] = w
		}
		w.Tooth = i + 1
		a.Teeth[i] = w
	}
	return nil
}

// retunings asks which teeth of a given comb had better have another pitch.
func (c *counsel) retunings(a *Advice) error {
	stock := c.problem.Comb
	if stock.Fixed == nil {
		return nil
	}
	stock.Teeth, stock.MaxTwins = len(c.solution.Teeth), c.setup.Comb.MaxTwins
	stock.Low, stock.High = c.reach()
	before := 0.0
	for stock.Retuned = 1; stock.Retuned <= min(mostRetunings, stock.Teeth) && !c.spent(a); stock.Retuned++ {
		s, err := c.solver.Solve(c.ctx, c.with(stock))
		if err != nil {
			return err
		}
		change := c.change(s)
		if change.ValueChange <= before {
			break
		}
		before = change.ValueChange
		a.Retunings = append(a.Retunings, change)
	}
	return nil
}

// line asks for the best comb of each size. Fewer teeth can bring no more in any key, so that each size bounds the next.
func (c *counsel) line(a *Advice) error {
	stock := c.problem.Comb
	if stock.Fixed != nil {
		stock = arrange.Stock{MaxTwins: c.setup.Comb.MaxTwins}
		stock.Low, stock.High = c.reach()
	}
	a.Line = []LinePoint{}
	var last *arrange.Solution
	for stock.Teeth = longestLine; stock.Teeth > 0 && !c.spent(a); stock.Teeth-- {
		var s *arrange.Solution
		var err error
		if last == nil {
			s, err = c.solver.Solve(c.ctx, c.with(stock))
		} else {
			s, err = c.solver.Narrow(c.ctx, c.with(stock), last)
		}
		if err != nil {
			return err
		}
		a.Line = append(a.Line, LinePoint{Teeth: stock.Teeth, Objective: unit.Round(s.Objective), Proven: s.Proven && len(s.Unmet) == 0})
		last = s
	}
	slices.Reverse(a.Line)
	return nil
}

// keys asks for the three best keys beside the one that is played.
func (c *counsel) keys(a *Advice) error {
	best, err := c.solver.Keys(c.ctx, c.problem, 4)
	if err != nil {
		return err
	}
	a.Keys = []KeyChange{}
	for _, k := range best {
		if k.Transpose == c.solution.Transpose || len(a.Keys) == 3 {
			continue
		}
		a.Keys = append(a.Keys, KeyChange{Transpose: k.Transpose, ValueChange: unit.Round(k.Objective - c.solution.Objective),
			Proven: k.Proven && c.sure(c.solution), Decision: c.derivation.change(false, map[string]any{"transpose": Transpose{k.Transpose, k.Transpose}})})
	}
	return nil
}

// repeats counts the notes that are lost or moved since a tooth has not recovered.
func repeats(findings []arrange.Finding) (n int) {
	for _, f := range findings {
		switch f.Kind {
		case arrange.Repeat, arrange.Seam:
			n++
		}
	}
	return n
}

// tempo looks for the least slowing that leaves no repeat too fast. Slower is not always better, since another comb may be best then,
// so what it finds is a turn at which nothing is lost, and the next quicker one that it tried, about 1 % less, loses something.
func (c *counsel) tempo(a *Advice) error {
	if a.InTheWay == 0 || c.setup.Tempo.Mode != "fill" {
		return nil
	}
	left := func(turn unit.Milliseconds) (*derivation, int, arrange.Decision, error) {
		decision := c.derivation.change(true, map[string]any{"tempo": map[string]any{"revolutionMs": turn}})
		then, err := derive(c.ctx, c.file, c.base, append(slices.Clone(c.done), decision), c.solver, nil)
		if err != nil {
			return nil, 0, decision, err
		}
		return then, repeats(then.found), decision, nil
	}
	fast, slow := c.timing.turn, min(unit.Milliseconds(math.Floor(float64(c.timing.turn)*slowest)), longestTurn)
	then, n, decision, err := left(slow)
	if err != nil {
		return err
	}
	for step := 0; n == 0 && step < tempoSteps && !c.spent(a); step++ {
		between := unit.Milliseconds(math.Ceil(math.Sqrt(float64(fast) * float64(slow))))
		if between >= slow {
			break
		}
		mid, lost, by, err := left(between)
		if err != nil {
			return err
		}
		if lost > 0 {
			fast = between
		} else {
			slow, then, decision = between, mid, by
		}
	}
	a.Tempo = &TempoChange{RevolutionMs: slow, PlayedBPM: then.result.Tune.PlayedBPM, Left: n, Decision: decision}
	return nil
}

// say puts advice into words.
func (a *Advice) say(d *derivation) []phrase.Phrase {
	var all []phrase.Phrase
	add := func(p phrase.Phrase) { all = append(all, p) }
	share := func(value float64) string {
		if a.TotalValue == 0 {
			return "0 %"
		}
		return figure(100*value/a.TotalValue, 1) + " %"
	}
	names := func(notes []unit.NoteName) phrase.Phrase {
		words := make([]string, len(notes))
		for i, n := range notes {
			words[i] = n.String()
		}
		return joined(words, 12)
	}
	if m := a.OneMore; m != nil {
		switch {
		case m.ValueChange <= 0:
			add(phrase.Of("One more tooth would bring nothing: {1} are enough for this tune.", len(a.Teeth)))
		case len(m.Removed) == 0:
			add(phrase.Of("One more tooth, {1}, would bring {2} of the tune's value.", names(m.Added), share(m.ValueChange)))
		default:
			add(phrase.Of("One more tooth would bring {1} of the tune's value; the comb would then have {2} in place of {3}.", share(m.ValueChange), names(m.Added), names(m.Removed)))
		}
	}
	if len(a.Teeth) > 0 {
		least := slices.MinFunc(a.Teeth, func(a, b ToothWorth) int { return cmp.Compare(a.Value, b.Value) })
		most := slices.MaxFunc(a.Teeth, func(a, b ToothWorth) int { return cmp.Compare(a.Value, b.Value) })
		if idle := idle(a.Teeth); idle > 0 {
			add(phrase.Plural(idle, phrase.Of("1 tooth could go without a loss."), phrase.Of("{1} teeth could go without a loss, one at a time.", idle)))
		}
		add(phrase.Of("Tooth {1}, {2}, brings most: {3}. Tooth {4}, {5}, brings least: {6}.", most.Tooth, most.Note, share(most.Value), least.Tooth, least.Note, share(least.Value)))
	}
	for _, r := range a.Retunings {
		if changed := d.placesChanged(r); changed > len(r.Removed) {
			add(phrase.Of("Retuning {1} to {2} would bring {3}, on a comb of which {4} teeth have another note then.", names(r.Removed), names(r.Added), share(r.ValueChange), changed))
		} else {
			add(phrase.Of("Retuning {1} to {2} would bring {3}.", names(r.Removed), names(r.Added), share(r.ValueChange)))
		}
	}
	if d.setup.Comb.Mode == "fixed" && len(a.Retunings) == 0 {
		add(phrase.Of("No retuning of one tooth would bring more."))
	}
	for _, p := range a.Line {
		if full := a.Line[len(a.Line)-1].Objective; p.Objective >= full-1e-9 {
			if p.Teeth < longestLine {
				add(phrase.Plural(p.Teeth, phrase.Of("A comb cut for this tune needs 1 tooth for all that a comb of {1} could play, {2}.", longestLine, share(full)),
					phrase.Of("A comb cut for this tune needs {1} teeth for all that a comb of {2} could play, {3}.", p.Teeth, longestLine, share(full))))
			}
			break
		}
	}
	if len(a.Keys) > 0 {
		if k := a.Keys[0]; k.ValueChange >= 0 {
			add(asGood(a.Keys))
		} else {
			add(phrase.Of("The next best key, {1}, would keep {2} less.", signed(k.Transpose), share(-k.ValueChange)))
		}
	}
	switch t := a.Tempo; {
	case t != nil && t.Left == 0:
		add(phrase.Of("At one turn in {1} s, {2} beats a minute, no tooth would be plucked too soon.", figure(float64(t.RevolutionMs)/1000, 2), figure(float64(t.PlayedBPM), 1)))
	case t != nil:
		turn := figure(float64(t.RevolutionMs)/1000, 2)
		add(phrase.Plural(t.Left, phrase.Of("Slowing alone does not help: at one turn in {1} s, 1 note would still come too soon.", turn),
			phrase.Of("Slowing alone does not help: at one turn in {1} s, {2} notes would still come too soon.", turn, t.Left)))
	case a.InTheWay > 0:
		add(phrase.Of("The tune is played at its written tempo; let it fill the turn to try slower ones."))
	}
	if a.CutShort {
		add(phrase.Of("The tune is too dense to ask for all of it in the time given; fewer bars, or parts switched off, let more be said."))
	}
	return all
}

// asGood names the keys that keep as much: "The keys +18 and +19 would keep as much."
func asGood(keys []KeyChange) phrase.Phrase {
	var names []string
	for _, k := range keys {
		if k.ValueChange >= 0 {
			names = append(names, signed(k.Transpose))
		}
	}
	last := len(names) - 1
	if last == 0 {
		return phrase.Of("The key {1} would keep as much.", names[0])
	}
	return phrase.Of("The keys {1} and {2} would keep as much.", strings.Join(names[:last], ", "), names[last])
}

// idle counts the teeth without which nothing is lost.
func idle(teeth []ToothWorth) (n int) {
	for _, t := range teeth {
		if t.Value == 0 {
			n++
		}
	}
	return n
}

// placesChanged counts the teeth that would have another note, more than are retuned where those do not keep their places: teeth stand in the
// order of their pitches.
func (d *derivation) placesChanged(r CombChange) (changed int) {
	teeth := slices.Clone(d.solution.Teeth)
	for _, gone := range r.Removed {
		if i := slices.Index(teeth, gone.Pitch()); i >= 0 {
			teeth = slices.Delete(teeth, i, i+1)
		}
	}
	for _, come := range r.Added {
		teeth = append(teeth, come.Pitch())
	}
	slices.Sort(teeth)
	for i, p := range teeth {
		if i < len(d.solution.Teeth) && d.solution.Teeth[i] != p {
			changed++
		}
	}
	return changed
}
