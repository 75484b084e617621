package arrange

import (
	"cmp"
	"encoding/binary"
	"math/bits"
	"slices"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
)

// Limits of the sweep: beyond them it goes on with the best that it has and says that it is no longer exact.
const (
	mostStates = 2048 // ways in which the recent notes can stand
	mostRecent = 20   // notes of one class within one recovery time, three bits each in a word
)

// option is one pitch that a note may be plucked at.
type option struct {
	row     int // of the class
	octaves int
	value   int // hundredths
}

// candidate is one note of a class; locked, it has one option, which must be taken.
type candidate struct {
	note    int // index into Problem.Notes
	at      unit.Milliseconds
	chord   int
	locked  bool
	twin    int // wanted by the lock, 0 for any
	options []option
}

// class is the part of a problem in one key that concerns one pitch class. Rows are its pitches on the comb.
type class struct {
	pitches []unit.Pitch
	repeat  []unit.Milliseconds
	need    []int // teeth that locks ask for
	most    []int // more teeth than this bring nothing
	notes   []candidate
	turn    unit.Milliseconds
	head    int // first notes that the last ones reach round the circle
}

// newClass orders the notes from the class's widest pause on, and counts how far the last of them reach round.
func newClass(pitches []unit.Pitch, repeat []unit.Milliseconds, notes []candidate, turn unit.Milliseconds) *class {
	c := &class{pitches: pitches, repeat: repeat, notes: notes, turn: turn}
	c.need, c.most = make([]int, len(pitches)), make([]int, len(pitches))
	slices.SortStableFunc(notes, func(a, b candidate) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.note, b.note)) })
	start, widest := 0, unit.Milliseconds(-1)
	for i := range notes {
		before := notes[i].at - notes[(i+len(notes)-1)%len(notes)].at
		if i == 0 {
			before += turn
		}
		if before > widest {
			start, widest = i, before
		}
	}
	origin := unit.Milliseconds(0)
	if len(notes) > 0 {
		origin = notes[start].at
	}
	for i := range notes {
		notes[i].at -= origin
		if i < start {
			notes[i].at += turn
		}
	}
	c.notes = append(slices.Clone(notes[start:]), notes[:start]...)
	if len(notes) > 0 {
		last := c.notes[len(c.notes)-1].at
		for c.head < len(c.notes) && c.notes[c.head].at+turn-last < c.longest()-comb.Slack {
			c.head++
		}
	}
	for row := range pitches {
		c.most[row] = c.crowd(row)
	}
	for _, n := range c.notes {
		if n.locked {
			row := n.options[0].row
			c.need[row] = max(c.need[row], n.twin, 1)
			c.most[row] = max(c.most[row], c.need[row])
		}
	}
	return c
}

// longest gives the longest repeat time of the class's rows, and never less than an onset's width.
func (c *class) longest() unit.Milliseconds {
	longest := Together + 2*comb.Slack
	for _, r := range c.repeat {
		longest = max(longest, r)
	}
	return longest
}

// crowd gives the largest number of notes that could stand on a row within one repeat time, round the circle.
func (c *class) crowd(row int) int {
	var at []unit.Milliseconds
	for _, n := range c.notes {
		for _, o := range n.options {
			if o.row == row {
				at = append(at, n.at)
			}
		}
	}
	most, from := 0, 0
	for i := range 2 * len(at) {
		t := at[i%len(at)] + c.turn*unit.Milliseconds(i/len(at))
		for from < i && t-(at[from%len(at)]+c.turn*unit.Milliseconds(from/len(at))) >= c.repeat[row]-comb.Slack {
			from++
		}
		most = max(most, min(i-from+1, len(at)))
	}
	return most
}

// relaxed gives the best value that notes could have on the rows of a set (bit r for row r) without recovery, or -1
// where a locked note's row is missing.
func (c *class) relaxed(rows uint64) int {
	sum := 0
	for _, n := range c.notes {
		best := 0
		for _, o := range n.options {
			if rows>>o.row&1 == 1 {
				best = max(best, o.value)
			}
		}
		if n.locked && rows>>n.options[0].row&1 == 0 {
			return -1
		}
		sum += best
	}
	return sum
}

// allRows is the set of all rows.
func (c *class) allRows() uint64 { return 1<<len(c.pitches) - 1 }

// state is one way in which the recent notes stand, with the best value that leads there.
type state struct {
	recent uint64 // three bits a note, the latest lowest: 0 left out, else option + 1
	head   uint64 // three bits for each of the first notes
	value  int
	from   int // index of the state before, in the layer before
	option int // taken for this layer's note, -1 for left out
}

// sweep gives the best value of the class with teeth[row] teeth for each row and the option of each note (-1 for left
// out). It reports in exact whether the value is the greatest that counting allows; where it is not, it is one that can be had.
// Cost: notes × states × options; the states depend on the density, not on the number of notes.
func (c *class) sweep(teeth []int) (value int, choice []int, exact bool) {
	exact = true
	head := c.head
	if head > mostRecent {
		head, exact = 0, false
	}
	n := len(c.notes)
	longest := c.longest()
	layers := make([][]state, 1, n+1)
	layers[0] = []state{{from: -1, option: -1}}
	oldest := 0
	for i := range n + head {
		note, at := &c.notes[i%n], c.notes[i%n].at
		if i >= n {
			at += c.turn
		}
		for oldest < i && at-c.time(oldest) >= longest {
			oldest++
		}
		window := i - oldest
		if window > mostRecent {
			window, exact = mostRecent, false
		}
		var next layer
		for from, s := range layers[len(layers)-1] {
			s.recent = c.forget(s.recent, i, at, window)
			from := from
			take := func(o int) {
				t := state{recent: s.recent << 3, head: s.head, value: s.value, from: from, option: o}
				if o >= 0 {
					t.recent |= uint64(o + 1)
					if i < n {
						t.value += note.options[o].value
					}
				}
				if i < head {
					t.head |= uint64(o+1) << (3 * i)
				}
				next.add(t)
			}
			if i >= n {
				o := int(s.head>>(3*(i-n))&7) - 1
				if o < 0 || c.fits(i, at, note.options[o], s.recent, window, teeth) {
					take(o)
				}
				continue
			}
			if !note.locked {
				take(-1)
			}
			for o := range note.options {
				if teeth[note.options[o].row] > 0 && c.fits(i, at, note.options[o], s.recent, window, teeth) {
					take(o)
				}
			}
		}
		if len(next.states) > mostStates {
			exact = false
			slices.SortStableFunc(next.states, func(a, b state) int { return cmp.Compare(b.value, a.value) })
			next.states = next.states[:mostStates]
		}
		if len(next.states) == 0 {
			return -1, nil, exact
		}
		layers = append(layers, next.states)
	}
	best := 0
	last := layers[len(layers)-1]
	for i, s := range last {
		if s.value > last[best].value {
			best = i
		}
	}
	choice = make([]int, n)
	value = last[best].value
	for l := len(layers) - 1; l > 0; l-- {
		s := layers[l][best]
		if l <= n {
			choice[l-1] = s.option
		}
		best = s.from
	}
	return value, choice, exact
}

// time gives the time of note i, counted on round the circle.
func (c *class) time(i int) unit.Milliseconds {
	if n := len(c.notes); i >= n {
		return c.notes[i-n].at + c.turn
	}
	return c.notes[i].at
}

// forget clears the recent notes that note i, at time at, can no longer clash with, so that states alike from here on become one.
func (c *class) forget(recent uint64, i int, at unit.Milliseconds, window int) uint64 {
	recent &= 1<<(3*window) - 1
	for rest := recent; rest != 0; {
		back := bits.TrailingZeros64(rest) / 3
		o := rest >> (3 * back) & 7
		rest &^= 7 << (3 * back)
		j := i - 1 - back
		row := c.notes[j%len(c.notes)].options[o-1].row
		if at-c.time(j) >= max(c.repeat[row]-comb.Slack, Together+comb.Slack) {
			recent &^= 7 << (3 * back)
		}
	}
	return recent
}

// fits reports whether note i can take the option: no more plucks on the row within one repeat time than there are
// teeth, and none at the same onset. Where all of these are locked the user has decided it so, and a finding says what
// is wrong with it.
func (c *class) fits(i int, at unit.Milliseconds, opt option, recent uint64, window int, teeth []int) bool {
	n := len(c.notes)
	self := &c.notes[i%n]
	count, free, doubled := 1, !self.locked, false
	for back := 0; back < window && recent>>(3*back) != 0; back++ {
		o := recent >> (3 * back) & 7
		if o == 0 {
			continue
		}
		j := i - 1 - back
		other := &c.notes[j%n]
		if other.options[o-1].row != opt.row || other == self {
			continue
		}
		apart := at - c.time(j)
		if other.chord == self.chord {
			doubled = true
		} else if apart >= c.repeat[opt.row]-comb.Slack {
			continue
		}
		count++
		free = free || !other.locked
	}
	return !free || (count <= teeth[opt.row] && !doubled)
}

// layer collects states, the best for each way of standing.
type layer struct {
	states []state
	index  map[[2]uint64]int
}

func (l *layer) add(s state) {
	const few = 24
	at := -1
	if l.index == nil {
		for i := range l.states {
			if l.states[i].recent == s.recent && l.states[i].head == s.head {
				at = i
				break
			}
		}
	} else if i, ok := l.index[[2]uint64{s.recent, s.head}]; ok {
		at = i
	}
	if at >= 0 {
		if s.value > l.states[at].value {
			l.states[at] = s
		}
		return
	}
	l.states = append(l.states, s)
	if l.index != nil {
		l.index[[2]uint64{s.recent, s.head}] = len(l.states) - 1
	} else if len(l.states) > few {
		l.index = make(map[[2]uint64]int, 4*few)
		for i, s := range l.states {
			l.index[[2]uint64{s.recent, s.head}] = i
		}
	}
}

// fingerprint gives bytes that are equal for equal classes.
func (c *class) fingerprint(stock Stock) string {
	b := make([]byte, 0, 32*len(c.notes)+64)
	put := func(v float64) { b = binary.AppendVarint(b, int64(v*1e6)) }
	put(float64(c.turn))
	b = binary.AppendVarint(b, int64(stock.Teeth))
	b = binary.AppendVarint(b, int64(stock.MaxTwins))
	for row, p := range c.pitches {
		b = binary.AppendVarint(b, int64(p))
		b = binary.AppendVarint(b, int64(stock.Fixed[p]))
		put(float64(c.repeat[row]))
	}
	b = append(b, '|')
	for _, n := range c.notes {
		put(float64(n.at))
		locked := int64(0)
		if n.locked {
			locked = 1
		}
		for _, v := range []int64{int64(n.note), int64(n.chord), locked, int64(n.twin), int64(len(n.options))} {
			b = binary.AppendVarint(b, v)
		}
		for _, o := range n.options {
			b = binary.AppendVarint(b, int64(o.row))
			b = binary.AppendVarint(b, int64(o.value))
		}
	}
	return string(b)
}
