package arrange

import (
	"cmp"
	"context"

	"pinwright/arrange/unit"
)

// Reach is how many octaves a note may be moved at most.
const Reach = 2

// Problem is one tune to be put on one comb.
type Problem struct {
	Notes        []Note // sorted by onset, then pitch
	Locks        []Lock // one for each note; with its shift, each note lies within the turn: at 0 or later, before RevolutionMs
	RevolutionMs unit.Milliseconds
	RepeatMs     [unit.HighestPitch + 1]unit.Milliseconds // by pitch
	MinX, MaxX   int                                      // allowed transpositions, semitones
	Comb         Stock
	Work         int // most that the solution may cost, in the solver's units of work; 0 for DefaultWork
}

// WorkPerMs is about what one core does in a millisecond: a unit is one comparison of two states, some 25 ns with all that goes with it.
const WorkPerMs = 40_000

// DefaultWork is about a second's worth.
const DefaultWork = 1000 * WorkPerMs

func (p *Problem) work() int { return cmp.Or(p.Work, DefaultWork) }

// Stock is what the comb may be: the teeth of a given comb, or the bounds of one still to be cut, or between the two a given comb
// some of whose teeth may be retuned.
type Stock struct {
	Fixed     map[unit.Pitch]int // teeth by pitch; nil for a comb to be cut
	Retuned   int                // how many teeth may have another pitch than in Fixed
	Teeth     int                // of a comb that is cut or partly retuned
	Low, High unit.Pitch         // of the teeth that are not given
	MaxTwins  int                // as many alike may be cut
}

// open reports whether there is anything to choose about the comb.
func (s Stock) open() bool { return s.Fixed == nil || s.Retuned > 0 }

// fresh gives how many of the teeth of a pitch are not given.
func (s Stock) fresh(p unit.Pitch, teeth int) int {
	if s.Fixed == nil {
		return 0
	}
	return max(teeth-s.Fixed[p], 0)
}

// most gives how many teeth of a pitch there may be.
func (s Stock) most(p unit.Pitch) int {
	if s.open() && p.Valid() && p >= s.Low && p <= s.High {
		return max(s.MaxTwins, s.Fixed[p])
	}
	return s.Fixed[p]
}

// Lock is what the user decided about a note; the zero Lock leaves it free.
type Lock struct {
	LeaveOut bool
	Octaves  *int        // from its place in the chosen key
	Pitch    *unit.Pitch // on the comb, in any key that allows it
	Twin     int         // 1 for the first of the teeth alike; 0 for any
	ShiftMs  unit.Milliseconds
}

// Placed reports whether the note must be plucked.
func (l Lock) Placed() bool { return !l.LeaveOut && (l.Octaves != nil || l.Pitch != nil) }

// Solution is an arrangement.
type Solution struct {
	Transpose        int
	Objective, Bound float64
	Proven           bool
	Teeth            []unit.Pitch // lowest first
	Spare            int          // teeth of a comb to be cut that nothing gains from
	Plucks           []Placed     // in the order of the notes
	Unmet            []int        // notes whose lock cannot be kept, with the others, in any key
	Work             int          // that finding it takes: of Solve with nothing remembered, of Again from where it began
	outlook          *outlook     // what was found out of all keys
}

// Placed is a note on a tooth.
type Placed struct {
	Note    int // index into Problem.Notes
	Tooth   int // from 1
	Pitch   unit.Pitch
	Octaves int
	TimeMs  unit.Milliseconds // with the user's shift
	Value   float64
	Locked  bool
}

// Solver solves problems; the same problem always gives the same solution.
type Solver interface {
	Solve(ctx context.Context, p *Problem) (*Solution, error)
}

// hundredths gives the value of a note moved by octaves in whole hundredths.
func hundredths(r Role, octaves int) int {
	return int(r.Value()*ShiftFactor(octaves)*100 + 0.5)
}
