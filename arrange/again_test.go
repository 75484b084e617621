package arrange_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"pinwright/arrange"
	"pinwright/arrange/unit"
)

// TestAgain: as decisions are made one after another, what is solved from where the last solution was left is what is solved as if for the
// first time, down to which of equals is taken.
func TestAgain(t *testing.T) {
	problems := map[string]*arrange.Problem{}
	for _, kind := range hardnesses {
		for seed := range uint64(40) {
			p := kind.pose(seed)
			p.MinX, p.MaxX = p.MinX-6, p.MaxX+6
			problems[fmt.Sprintf("%s %d", kind.name, seed)] = p
		}
	}
	for seed := range 6 {
		p := tuneLike(60+40*seed, 15_000)
		problems[fmt.Sprintf("a tune of %d notes", len(p.Notes))] = p
	}
	var workAgain, workFirst int
	for name, p := range problems {
		r := rand.New(rand.NewPCG(uint64(len(name)), uint64(len(p.Notes))))
		solver := arrange.NewExact()
		last := solve(t, solver, p)
		for step := range 6 {
			q := *p
			q.Locks = slices.Clone(p.Locks)
			free := true // reports whether it can be solved from there
			for range 1 + r.IntN(3) {
				i := r.IntN(len(q.Locks))
				free = free && !p.Locks[i].Placed()
				q.Locks[i] = anyLock(r, &q)
				if at := q.Notes[i].OnsetMs + q.Locks[i].ShiftMs; at < 0 || at >= q.RevolutionMs {
					q.Locks[i].ShiftMs = 0
				}
			}
			first := solve(t, arrange.NewExact(), &q)
			tried, err := solver.Try(context.Background(), &q, last)
			if err != nil {
				t.Fatal(err)
			}
			again, err := solver.Again(context.Background(), &q, last)
			if err != nil {
				t.Fatal(err)
			}
			if free && last.Proven && len(last.Unmet)+len(again.Unmet) == 0 {
				workAgain += again.Work
				workFirst += first.Work
			}
			for which, s := range map[string]*arrange.Solution{"tried": tried, "again": again} {
				if first.Proven && seen(s) != seen(first) {
					t.Errorf("%s, step %d, locks %+v:\n%s %s\nfirst %s", name, step, q.Locks, which, seen(s), seen(first))
				}
			}
			p, last = &q, again
		}
	}
	t.Logf("%d units of work, %d as if for the first time", workAgain, workFirst)
	if 2*workAgain > workFirst {
		t.Error("solving again takes more than half of the work")
	}
}

// anyLock is what a user may decide about a note that has no decision yet, or taking it back.
func anyLock(r *rand.Rand, p *arrange.Problem) arrange.Lock {
	octaves := r.IntN(5) - 2
	switch r.IntN(6) {
	case 0:
		return arrange.Lock{}
	case 1:
		return arrange.Lock{ShiftMs: unit.Milliseconds(r.IntN(301) - 150)}
	case 2, 3:
		return arrange.Lock{LeaveOut: true}
	case 4:
		pitch := unit.Pitch(60 + r.IntN(24))
		return arrange.Lock{Pitch: &pitch}
	}
	return arrange.Lock{Octaves: &octaves}
}

func solve(t *testing.T, solver *arrange.Exact, p *arrange.Problem) *arrange.Solution {
	t.Helper()
	s, err := solver.Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// seen is all of a solution that a user may see.
func seen(s *arrange.Solution) string {
	return fmt.Sprint(s.Transpose, s.Objective, s.Bound, s.Proven, s.Teeth, s.Spare, s.Unmet, s.Plucks)
}
