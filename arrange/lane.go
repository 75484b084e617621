package arrange

import (
	"math/bits"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
)

// lane is one row of a class with all notes that could stand on it, each for its value less its price, and the locked ones that do. What
// the seam forbids is left out.
type lane struct {
	*laneNotes
	teeth  int
	limit  int  // most work in one sweep
	ignore bool // reports whether locked notes are left aside, since they stand nearer to each other than the teeth allow
}

// force is the worth of a locked note: more than that of all free notes of any tune together, so that a sum shows whether each
// locked one is in it. An int has 64 bits here.
const force = 1 << 40

// laneNotes is what does not change with the teeth and the prices.
type laneNotes struct {
	notes  []int // of the class
	values []int // of those notes on this row, force for a locked one
	chords []int
	locked []int   // how many notes from each on are locked
	next   []int   // the first note that one tooth can pluck after each
	before []reach // what each note meets of those before it
	after  []reach // of those after it, where the lane is swept backwards
	crowd  int     // most notes within one repeat time
}

// reach is how many of the nearest notes lie within a repeat time of a note, and how many are of its onset.
type reach struct{ repeat, chord int }

// lane gives a row with so many teeth.
func (c *class) lane(row, teeth int) lane {
	if c.laid == nil {
		c.laid = make([]*laneNotes, len(c.pitches))
	}
	if c.laid[row] == nil {
		c.laid[row] = c.lay(row)
	}
	return lane{laneNotes: c.laid[row], teeth: teeth, limit: c.limit / 64}
}

func (c *class) lay(row int) *laneNotes {
	l := &laneNotes{}
	var at []unit.Milliseconds
	for i, note := range c.notes {
		for _, o := range note.options {
			if o.row == row {
				l.notes, l.values, l.chords = append(l.notes, i), append(l.values, o.value), append(l.chords, note.chord)
				at = append(at, note.at)
				if note.locked {
					l.values[len(l.values)-1] = force
				}
			}
		}
	}
	n, repeat := len(at), c.repeat[row]-comb.Slack
	l.next, l.before, l.after = make([]int, n), make([]reach, n), make([]reach, n)
	from := 0
	for i := range at {
		for at[i]-at[from] >= repeat {
			from++
		}
		l.crowd = max(l.crowd, i-from+1)
		l.before[i].repeat = i - from
		for j := i - 1; j >= 0 && l.chords[j] == l.chords[i]; j-- {
			l.before[i].chord++
		}
	}
	l.locked = make([]int, n+1)
	for i := n - 1; i >= 0; i-- {
		l.locked[i] = l.locked[i+1]
		if l.values[i] == force {
			l.locked[i]++
		}
	}
	next, within := 0, 0
	for i := range at {
		for next = max(next, i+1); next < n && (at[next]-at[i] < repeat || l.chords[next] == l.chords[i]); next++ {
		}
		for within = max(within, i+1); within < n && at[within]-at[i] < repeat; within++ {
		}
		l.next[i] = next
		l.after[n-1-i].repeat = within - i - 1
		for j := i + 1; j < n && l.chords[j] == l.chords[i]; j++ {
			l.after[n-1-i].chord++
		}
	}
	return l
}

// worth gives the value of a note less its price.
func (l lane) worth(at int, prices []int) int {
	if l.ignore && l.values[at] == force {
		return 0
	}
	return l.values[at] - prices[l.notes[at]]
}

// sweep gives a bound on the most that the free notes of the row alone can have beside its locked ones, and whether each note is plucked
// then.
func (l lane) sweep(room *scratch, prices []int) (bound int, plucked []bool, work int) {
	plucked = make([]bool, len(l.notes))
	bound, work, exact := l.best(room, prices, plucked)
	if !exact {
		return l.sum(prices), plucked, work
	}
	if locked := l.locked[0]; locked > 0 && !l.ignore {
		if bound -= locked * force; bound < 0 {
			l.ignore = true
			bound, more, _ := l.sweep(room, prices)
			return bound, more, work + l.crowd
		}
	}
	return bound, plucked, work
}

// best gives the greatest worth of the row, and marks the notes that have it. It reports whether it could.
func (l lane) best(room *scratch, prices []int, plucked []bool) (best, work int, exact bool) {
	n := len(l.notes)
	switch k := l.teeth; {
	case k == 1:
		tail := l.oneTooth(prices)
		for i := 0; i < n; {
			if tail[i] == tail[i+1] {
				i++
				continue
			}
			plucked[i] = true
			i = l.next[i]
		}
		return tail[0], n, true
	case k >= l.crowd:
		dearest := -1 // of the chord
		for i := range n {
			v := l.worth(i, prices)
			if dearest >= 0 && l.chords[dearest] == l.chords[i] {
				w := l.worth(dearest, prices)
				if v <= w {
					continue
				}
				plucked[dearest] = false
				best -= w
			}
			if v > 0 {
				plucked[i], dearest = true, i
				best += v
			}
		}
		return best, n, true
	}
	work, exact = l.share(room, prices, false)
	if !exact {
		return 0, work, false
	}
	at := room.laneStarts[n]
	for i := at; i < len(room.lane); i++ {
		if room.lane[i].value > room.lane[at].value {
			at = i
		}
	}
	best = int(room.lane[at].value)
	for i := n - 1; i >= 0; i-- {
		s := &room.lane[at]
		plucked[i] = s.recent&1 == 1
		at = int(s.from)
	}
	return best, work, true
}

// sum gives the worth of all free notes that are worth their price.
func (l lane) sum(prices []int) (sum int) {
	l.ignore = true
	for i := range l.notes {
		sum += max(l.worth(i, prices), 0)
	}
	return sum
}

// oneTooth gives the best from each note on with one tooth: either without the note, or with it and what can follow.
func (l lane) oneTooth(prices []int) []int {
	tail := make([]int, len(l.notes)+1)
	for i := len(l.notes) - 1; i >= 0; i-- {
		tail[i] = max(tail[i+1], l.worth(i, prices)+tail[l.next[i]])
	}
	return tail
}

// tails gives a bound on what the free notes of the row alone can have from each of its notes on.
func (l lane) tails(room *scratch, prices []int) (tail []int, work int) {
	tail, work = l.ends(room, prices)
	if l.locked[0] == 0 || l.ignore {
		return tail, work
	}
	for i := range tail {
		if tail[i] -= l.locked[i] * force; tail[i] < 0 {
			l.ignore = true
			tail, more := l.ends(room, prices)
			return tail, work + more
		}
	}
	return tail, work
}

// ends gives a bound on the worth of the row from each of its notes on.
func (l lane) ends(room *scratch, prices []int) (tail []int, work int) {
	n := len(l.notes)
	if l.teeth == 1 {
		return l.oneTooth(prices), n
	}
	tail = make([]int, n+1)
	if l.teeth >= l.crowd { // every note from there on that is worth its price, one of a chord
		best := 0
		for i := n - 1; i >= 0; i-- {
			v := max(l.worth(i, prices), 0)
			if i+1 < n && l.chords[i+1] == l.chords[i] {
				tail[i] = tail[i+1] + max(v-best, 0)
				best = max(best, v)
			} else {
				tail[i], best = tail[i+1]+v, v
			}
		}
		return tail, n
	}
	work, exact := l.share(room, prices, true)
	for at := n - 1; at >= 0; at-- {
		if !exact {
			tail[at] = tail[at+1] + max(l.worth(at, prices), 0)
			continue
		}
		layer := n - at
		for _, s := range room.lane[room.laneStarts[layer]:room.laneEnd(layer)] {
			tail[at] = max(tail[at], int(s.value))
		}
	}
	return tail, work
}

// laneState is one way in which the recent notes of a lane stand, with the best worth that leads there.
type laneState struct {
	value  int64
	recent uint32 // a bit each, the latest lowest, set where it is plucked
	from   int32  // index of the state before
}

func (room *scratch) laneEnd(layer int) int {
	if layer+1 < len(room.laneStarts) {
		return room.laneStarts[layer+1]
	}
	return len(room.lane)
}

// share sweeps a lane whose teeth are fewer than the notes that may crowd, from its first note on or backwards from its last, and leaves
// a layer of states for each number of notes. It reports whether it kept all that matter.
func (l lane) share(room *scratch, prices []int, backwards bool) (work int, exact bool) {
	n := len(l.notes)
	if l.crowd > mostRecent+1 {
		return n, false
	}
	reaches, ahead := l.before, l.after
	if backwards {
		reaches, ahead = ahead, reaches
	}
	room.lane = append(room.lane[:0], laneState{from: -1})
	room.laneStarts = append(room.laneStarts[:0], 0)
	for i := range n {
		at, on := i, 1
		if backwards {
			at, on = n-1-i, -1
		}
		most := 0 // of what a recent pluck can stand in the way of
		for j := range max(ahead[n-1-i].repeat, ahead[n-1-i].chord) {
			most = max(most, l.worth(at+on*(j+1), prices))
		}
		r := reaches[i]
		repeat, chord := uint32(1)<<r.repeat-1, uint32(1)<<min(r.chord, mostRecent)-1
		worth := int64(l.worth(at, prices))
		keep := ^uint32(0)
		if i+1 < n {
			keep = uint32(1)<<max(reaches[i+1].repeat, min(reaches[i+1].chord, mostRecent)) - 1
		}
		from, start := room.laneStarts[i], len(room.lane)
		room.laneStarts = append(room.laneStarts, start)
		for ; from < start; from++ {
			s := room.lane[from]
			if worth > 0 && bits.OnesCount32(s.recent&repeat) < l.teeth && s.recent&chord == 0 {
				work += room.addLane(start, laneState{s.value + worth, (s.recent<<1 | 1) & (keep | 1), int32(from)}, most)
			}
			work += room.addLane(start, laneState{s.value, s.recent << 1 & keep, int32(from)}, most)
		}
		if len(room.lane)-start > someStates || work > l.limit && l.limit > 0 {
			return work, false
		}
	}
	return work, true
}

// addLane puts a state into the layer that begins at start, unless one there dominates it; those that it dominates are taken out. One
// state dominates another if what may follow the other may follow it, but for a later pluck worth most for each of its plucks that
// has no counterpart as late or later in the other, and it is ahead by what those could be worth.
func (room *scratch) addLane(start int, s laneState, most int) (work int) {
	layer := room.lane[start:]
	for i := range layer {
		if t := &layer[i]; t.value >= s.value && int(t.value-s.value) >= most*unmatched(t.recent, s.recent) {
			return i + 1
		}
	}
	kept := layer[:0]
	for _, t := range layer {
		if s.value < t.value || int(s.value-t.value) < most*unmatched(s.recent, t.recent) {
			kept = append(kept, t)
		}
	}
	room.lane = append(room.lane[:start+len(kept)], s)
	return 2*len(layer) + 1
}
