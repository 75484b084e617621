package project

import (
	"cmp"
	"context"
	"slices"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
)

// SettlementSchema names the version of Settlement.
const SettlementSchema = "pinwright/settlement/1"

// Settlement says what settling everything would do to a project as it stands: one decision made of the remedies it takes, the
// value before and after, and what it leaves.
type Settlement struct {
	Schema   string            `json:"schema"`
	Decision *arrange.Decision `json:"decision"` // of the kind several; null where there is nothing that it can settle
	Steps    []SettledStep     `json:"steps"`    // in the order in which they are taken
	Before   Standing          `json:"before"`
	After    Standing          `json:"after"`
	Left     []arrange.Finding `json:"left"` // findings after it, without remedies
	More     bool              `json:"more"` // reports whether it stopped at a bound, so that settling again may settle more
}

// SettledStep is one remedy that settling takes.
type SettledStep struct {
	Finding     string        `json:"finding"` // its id
	Text        phrase.Phrase `json:"text"`    // of the finding
	Bar         int           `json:"bar"`
	Beat        float64       `json:"beat"`
	Blocks      bool          `json:"blocks"`
	Label       phrase.Phrase `json:"label"` // of the remedy
	Effect      phrase.Phrase `json:"effect"`
	ValueChange float64       `json:"valueChange"` // against the step before
}

// Standing is how a project stands.
type Standing struct {
	Objective    float64 `json:"objective"`
	TotalValue   float64 `json:"totalValue"` // of all notes of the excerpt
	Proven       bool    `json:"proven"`
	Blocking     int     `json:"blocking"` // findings that stand in the way of drilling
	Findings     int     `json:"findings"` // all of them
	ClearToDrill bool    `json:"clearToDrill"`
}

// settleWork bounds what one settlement spends, in the solver's units of work: about half a second. Every derivation counts for
// the work on each note too, which is not the solver's.
const (
	settleWork  = 20_000_000
	workPerNote = 150
)

// Settle takes the best remedy of one finding after another until none is left that it may take. Everything is derived again
// after each, so that the next is chosen from what then stands.
//
//  1. Of each finding that stands in the way, in their order, it takes the remedy that raises fewest others and then keeps most
//     value, of those that leave fewer findings in the way than before. What the user decided or set up may yield here, and only
//     here. A limit is never raised, and no tune is taken off the cylinder: that hides what stands in the way and does
//     not settle it.
//  2. Where none of those is left, it takes of each other finding the remedy that keeps most value, of those that leave no more
//     in the way and either more value, or as much and fewer findings. The setup stays as it is, and so do notes that were
//     decided about. A remedy that only locks a free note is not tried: the arrangement is the best already.
//
// So each step lowers the number of findings in the way, or leaves it and raises the value, or leaves both and lowers the
// number of findings: it ends. It also ends at the most parts that one decision may have, and at a bound of work.
//
// Errors are those of Derive.
func Settle(ctx context.Context, t *tune.Tune, setup Setup, log []arrange.Decision) (*Settlement, error) {
	done, _ := arrange.Fold(log)
	solver := arrange.NewExact()
	start, err := derive(ctx, t, setup, done, solver, nil)
	if err != nil {
		return nil, err
	}
	s := &settling{ctx: ctx, solver: solver, begun: solver.Work(), start: start, now: start, checked: start, steps: []SettledStep{}}
	if err := s.all(); err != nil {
		return nil, err
	}
	r := &Settlement{Schema: SettlementSchema, Steps: s.steps, Before: start.stands(),
		After: s.now.stands(), Left: s.now.found, More: s.more}
	if len(s.parts) > 0 {
		whole := several(s.parts...)
		r.Decision = &whole
	}
	return r, nil
}

// stands says how the project stands.
func (d *derivation) stands() Standing {
	return Standing{Objective: d.result.Arrangement.Objective, TotalValue: d.result.Arrangement.TotalValue, Proven: d.result.Arrangement.Proven, Blocking: d.blocking(),
		Findings: len(d.found), ClearToDrill: d.result.ClearToDrill}
}

// blocking counts the findings that stand in the way.
func (d *derivation) blocking() (n int) {
	for _, f := range d.found {
		if f.Blocks {
			n++
		}
	}
	return n
}

// settling is a settlement in the making.
type settling struct {
	ctx     context.Context
	solver  *arrange.Exact
	start   *derivation // as the project stands
	now     *derivation // with the parts so far
	checked *derivation // what Accept checks the next part against: as it stands after the last part that changes the setup
	parts   []arrange.Decision
	steps   []SettledStep
	begun   int // work of the solver before the first trial
	trials  int // derivations
	more    bool
}

// all settles what it may, those in the way first.
func (s *settling) all() error {
	tried, progress := map[string]bool{}, false // in one pass over the findings
	for {
		i := slices.IndexFunc(s.now.found, func(f arrange.Finding) bool { return !tried[f.ID] })
		if i < 0 && !progress {
			return nil
		}
		if i < 0 {
			clear(tried)
			progress = false
			continue
		}
		f := s.now.found[i] // those in the way stand first
		taken, err := s.settle(f)
		if err != nil {
			return err
		}
		if s.more {
			return nil
		}
		tried[f.ID] = true
		progress = progress || taken
	}
}

// trial is a remedy with what it would leave.
type trial struct {
	offer  offer
	parts  []arrange.Decision
	then   *derivation
	raises int // findings in the way
	change float64
}

// settle takes the best remedy of a finding, if there is one that it may take.
func (s *settling) settle(f arrange.Finding) (taken bool, err error) {
	var best *trial
	for _, o := range s.now.offers(f) {
		if !s.may(o.decision, f.Blocks) {
			continue
		}
		t, err := s.try(o)
		if err != nil || s.more {
			return false, err
		}
		if t != nil && s.better(t, f) && (best == nil || cmp.Or(cmp.Compare(best.raises, t.raises), cmp.Compare(t.change, best.change)) > 0) {
			best = t
		}
	}
	if best == nil {
		return false, nil
	}
	s.steps = append(s.steps, SettledStep{Finding: f.ID, Text: f.Text, Bar: f.Bar, Beat: f.Beat, Blocks: f.Blocks, Label: best.offer.label,
		Effect: s.now.effect(best.then), ValueChange: unit.Round(best.change)})
	s.parts, s.now = best.parts, best.then
	s.now.tell()
	if s.parts[len(s.parts)-1].Kind == arrange.Change {
		s.checked = s.now
	}
	return true, nil
}

// may reports whether a remedy is one that settling takes.
func (s *settling) may(c arrange.Decision, blocks bool) bool {
	for _, step := range arrange.Steps([]arrange.Decision{c}) {
		i, ok := s.now.byID[step.Decision.Note]
		switch {
		case step.Decision.Kind == arrange.Change:
			if then, err := s.now.setup.With(step.Decision.Setup); !blocks || err != nil || then.Limits != s.now.setup.Limits || then.Beside.count() != s.now.setup.Beside.count() {
				return false
			}
		case !blocks && (!ok || len(s.now.stepsOf[i]) > 0):
			return false
		}
	}
	return blocks || !s.now.narrows(c)
}

// try derives everything with one remedy more; nil where it cannot be used.
func (s *settling) try(o offer) (*trial, error) {
	parts := append(slices.Clone(s.parts), flat([]arrange.Decision{o.decision}).Decisions...)
	if len(parts) > mostDecisions || s.solver.Work()-s.begun+s.trials*workPerNote*len(s.now.notes) > settleWork {
		s.more = true
		return nil, nil
	}
	whole := several(parts...)
	if !s.checked.acceptable(o.decision) || !s.now.acceptable(o.decision) {
		return nil, nil
	}
	s.trials++
	then, err := s.now.try(s.ctx, s.solver, append(slices.Clone(s.start.done), whole))
	if s.ctx.Err() != nil {
		return nil, s.ctx.Err()
	}
	if err != nil {
		return nil, nil // a setup that cannot be used is no remedy
	}
	t := &trial{offer: o, parts: parts, then: then, change: then.solution.Objective - s.now.solution.Objective}
	before := ids(s.now.found)
	for _, g := range then.found {
		if g.Blocks && !before[g.ID] {
			t.raises++
		}
	}
	return t, nil
}

// better reports whether a trial settles a finding and leaves less to settle.
func (s *settling) better(t *trial, f arrange.Finding) bool {
	if ids(t.then.found)[f.ID] {
		return false
	}
	before, after := s.now.blocking(), t.then.blocking()
	if f.Blocks {
		return after < before
	}
	const same = 1e-6
	return after <= before && (t.change > same || t.change > -same && len(t.then.found) < len(s.now.found))
}
