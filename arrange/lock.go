package arrange

import (
	"slices"

	"pinwright/arrange/unit"
)

// Fold replays a log of decisions, undo and redo among them: done holds those in force, undone those that a redo would
// bring back, the next one last. An undo or redo with nothing to act on changes nothing.
func Fold(log []Decision) (done, undone []Decision) {
	for _, d := range log {
		switch d.Kind {
		case Undo:
			if n := len(done); n > 0 {
				done, undone = done[:n-1], append(undone, done[n-1])
			}
		case Redo:
			if n := len(undone); n > 0 {
				done, undone = append(done, undone[n-1]), undone[:n-1]
			}
		default:
			done, undone = append(done, d), nil
		}
	}
	return done, undone
}

// Step is one plain decision with the number of the decision that it belongs to, from 1.
type Step struct {
	Number   int
	Decision Decision
}

// Steps takes decisions of the kind several apart.
func Steps(done []Decision) []Step {
	var steps []Step
	for i, d := range done {
		steps = appendSteps(steps, i+1, d)
	}
	return steps
}

func appendSteps(steps []Step, number int, d Decision) []Step {
	if d.Kind != Several {
		return append(steps, Step{number, d})
	}
	for _, part := range d.Decisions {
		steps = appendSteps(steps, number, part)
	}
	return steps
}

// Conflict is a pair of decisions about one note that cannot both be kept; the later one is followed until the user settles it.
type Conflict struct {
	Note           int
	Earlier, Later Step
}

// Locks turns the steps in force into a lock for each note. Steps about notes that are not there come back as lost.
func Locks(notes []Note, steps []Step) (locks []Lock, conflicts []Conflict, lost []Step) {
	locks = make([]Lock, len(notes))
	index := map[string]int{}
	for i, n := range notes {
		index[n.ID] = i
		for _, id := range n.Merged {
			index[id] = i
		}
	}
	placed, shifted := map[int]Step{}, map[int]Step{} // the step that a note's lock comes from
	for _, s := range steps {
		if s.Decision.Note == "" {
			continue
		}
		i, ok := index[s.Decision.Note]
		if !ok {
			if s.Decision.Kind != Release {
				lost = append(lost, s)
			}
			continue
		}
		from := placed
		if s.Decision.Kind == Shift {
			from = shifted
		}
		if earlier, ok := from[i]; ok && s.Decision.Kind != Release && !same(earlier.Decision, s.Decision) {
			conflicts = append(conflicts, Conflict{i, earlier, s})
		}
		from[i] = s
		l := &locks[i]
		switch d := s.Decision; d.Kind {
		case Octave:
			*l = Lock{Octaves: d.Octaves, ShiftMs: l.ShiftMs}
		case Place:
			pitch := d.Pitch.Pitch()
			*l = Lock{Pitch: &pitch, Twin: d.Twin, ShiftMs: l.ShiftMs}
		case LeaveOut:
			*l = Lock{LeaveOut: true, ShiftMs: l.ShiftMs}
		case Shift:
			l.ShiftMs = unit.Milliseconds(*d.Ms)
		case Release:
			*l = Lock{}
			delete(placed, i)
			delete(shifted, i)
			conflicts = slices.DeleteFunc(conflicts, func(c Conflict) bool { return c.Note == i })
		}
	}
	return locks, conflicts, lost
}

// same reports whether two decisions about a note ask for the same.
func same(a, b Decision) bool {
	return a.Kind == b.Kind && a.Twin == b.Twin && equal(a.Octaves, b.Octaves) && equal(a.Pitch, b.Pitch) && equal(a.Ms, b.Ms)
}

func equal[T comparable](a, b *T) bool {
	return a == nil && b == nil || a != nil && b != nil && *a == *b
}
