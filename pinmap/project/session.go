package project

import (
	"context"
	"reflect"

	"pinwright/arrange"
	"pinwright/arrange/tune"
)

// Session derives what follows from one tune and setup again and again, as decisions are made. It remembers what the last
// decision left as it was; what it remembers changes no result. It must not be shared between goroutines.
type Session struct {
	tune   *tune.Tune
	setup  Setup
	solver *arrange.Exact
	last   *derivation
}

// NewSession starts with nothing remembered.
func NewSession(t *tune.Tune, setup Setup) *Session {
	return &Session{tune: t, setup: setup, solver: arrange.NewExact()}
}

// Derive is as the function of that name.
func (s *Session) Derive(ctx context.Context, log []arrange.Decision, o Options) (*Result, error) {
	done, undone := arrange.Fold(log)
	d, err := s.at(ctx, done)
	if err != nil {
		return nil, err
	}
	result := *d.result
	then := *d
	then.result = &result
	if o.Remedies {
		result.Findings = append([]arrange.Finding{}, d.found...)
		if err := then.addRemedies(ctx, s.solver, o); err != nil {
			return nil, err
		}
	}
	result.CanUndo, result.CanRedo = len(done) > 0, len(undone) > 0
	return &result, nil
}

// at derives what follows from the decisions in force, unless that was the last thing asked for.
func (s *Session) at(ctx context.Context, done []arrange.Decision) (*derivation, error) {
	if s.last != nil && reflect.DeepEqual(s.last.done, done) {
		return s.last, nil
	}
	d, err := derive(ctx, s.tune, s.setup, append([]arrange.Decision(nil), done...), s.solver, s.last)
	if err != nil {
		return nil, err
	}
	s.last = d
	return d, nil
}
