package arrange

import (
	"slices"
	"strconv"

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

// Step is one plain decision with the number of the decision that it belongs to, from 1, and its place in that where it is
// one of several, from 1.
type Step struct {
	Number, Part int
	Decision     Decision
}

// Name gives the step's number, "3", or "3.2" for the second part of decision 3. No other step has it, and later
// decisions do not change it.
func (s Step) Name() string {
	if s.Part == 0 {
		return strconv.Itoa(s.Number)
	}
	return strconv.Itoa(s.Number) + "." + strconv.Itoa(s.Part)
}

// Steps takes decisions of the kind several apart.
func Steps(done []Decision) []Step {
	var steps []Step
	for i, d := range done {
		if d.Kind != Several {
			steps = append(steps, Step{i + 1, 0, d})
		}
		for part, p := range d.Decisions {
			steps = append(steps, Step{i + 1, part + 1, p})
		}
	}
	return steps
}

// ByID gives the index of each note by its id and by those of the notes merged into it.
func ByID(notes []Note) map[string]int {
	index := make(map[string]int, len(notes))
	for i, n := range notes {
		index[n.ID] = i
		for _, id := range n.Merged {
			index[id] = i
		}
	}
	return index
}

// Conflict is a pair of decisions about one note that cannot both be kept; the later one is followed until the user settles it.
type Conflict struct {
	Note           int
	Earlier, Later Step
}

// Locks turns the steps in force into a lock for each of the notes of an index. Steps about notes that are not there come
// back as lost, until they are released or the note is removed. Steps that change the tune as written lock nothing.
func Locks(index map[string]int, notes int, steps []Step) (locks []Lock, conflicts []Conflict, lost []Step) {
	locks = make([]Lock, notes)
	placed, shifted := map[int]Step{}, map[int]Step{} // the step that a note's lock comes from
	for _, s := range steps {
		if s.Decision.Note == "" || s.Decision.Kind == Move {
			continue
		}
		i, ok := index[s.Decision.Note]
		if !ok {
			if s.Decision.Kind == Release || s.Decision.Kind == Remove {
				lost = slices.DeleteFunc(lost, func(l Step) bool { return l.Decision.Note == s.Decision.Note })
			} else {
				lost = append(lost, s)
			}
			continue
		}
		if s.Decision.Kind == Remove {
			continue // it is there all the same, so it was not removed: the step itself is lost
		}
		from := placed
		if s.Decision.Kind == Shift {
			from = shifted
			if *s.Decision.Ms == 0 {
				locks[i].ShiftMs = 0
				delete(shifted, i)
				conflicts = slices.DeleteFunc(conflicts, func(c Conflict) bool { return c.Note == i && c.Later.Decision.Kind == Shift })
				continue
			}
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
