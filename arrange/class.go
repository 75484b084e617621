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
	mostStates = 64 // ways in which the recent notes can stand
	mostRecent = 31 // notes of one class within one repeat time, a bit each
	mostHead   = 21 // first notes that the last reach round the circle, three bits each
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

// mostRows is the largest number of pitches of one class among the MIDI note numbers.
const mostRows = 11

// stand is how the recent notes stand: for each row a bit for each note back from the present one, the latest lowest,
// set where the note is plucked on that row.
type stand [mostRows]uint32

// state is one way in which the recent notes stand, with the best value that leads there.
type state struct {
	recent stand
	head   uint64 // three bits for each of the first notes: 0 left out, else option + 1
	value  int
	from   int // index of the state before, in the layer before
	option int // taken for this layer's note, -1 for left out
}

// sweep gives the best value of the class with teeth[row] teeth for each row, and the option of each note (-1 for left
// out). It reports in exact whether the value is the greatest that counting allows; where it is not, it is one that can
// be had. Value -1 says that the locked notes cannot all be placed.
//
// Cost: notes × states². A state is passed over where another can do all that it can, and is worth as much (dominates),
// so that the states depend on the density of the tune and not on its length.
func (c *class) sweep(teeth []int) (value int, choice []int, exact bool) {
	exact = true
	head := c.head
	if head > mostHead {
		head, exact = 0, false
	}
	n := len(c.notes)
	g := c.newGauge(head)
	layers := make([][]state, 1, n+head+1)
	layers[0] = []state{{from: -1, option: -1}}
	for i := range n + head {
		exact = g.advance(i) && exact
		note := &c.notes[i%n]
		var next []state
		for from := range layers[i] {
			s := &layers[i][from]
			take := func(o int) {
				t := state{head: s.head, value: s.value, from: from, option: o}
				for row := range c.pitches {
					t.recent[row] = s.recent[row] & g.keep[row] << 1
				}
				if o >= 0 {
					t.recent[note.options[o].row] |= 1
					if i < n {
						t.value += note.options[o].value
					}
				}
				if i < head {
					t.head |= uint64(o+1) << (3 * i)
				}
				next = g.add(next, t)
			}
			if i >= n {
				o := int(s.head>>(3*(i-n))&7) - 1
				if o < 0 || g.fits(&s.recent, note, o, teeth) {
					take(o)
				}
				continue
			}
			for o := range note.options {
				if teeth[note.options[o].row] > 0 && g.fits(&s.recent, note, o, teeth) {
					take(o)
				}
			}
			if !note.locked {
				take(-1)
			}
		}
		if len(next) > mostStates {
			exact = false
			slices.SortStableFunc(next, func(a, b state) int { return cmp.Compare(b.value, a.value) })
			next = next[:mostStates]
		}
		if len(next) == 0 {
			return -1, nil, exact
		}
		layers = append(layers, next)
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
		s := &layers[l][best]
		if l <= n {
			choice[l-1] = s.option
		}
		best = s.from
	}
	return value, choice, exact
}

// gauge measures, for the note that a sweep has come to, how far back each row's plucks still matter.
type gauge struct {
	c      *class
	first  [mostRows]int    // the earliest note within one repeat time of the present one
	reach  [mostRows]uint32 // bits of the notes within one repeat time
	keep   [mostRows]uint32 // bits of those that the next note may still clash with, or sound together with
	chord  uint32           // bits of the notes of the present one's onset
	locked uint32           // bits of locked notes
	worth  [mostRows]int    // the most that a pluck on the row can be worth
	swap   bool             // reports whether any later note may be left out for another
	from   int              // the earliest note of the present one's onset
}

func (c *class) newGauge(head int) *gauge {
	g := &gauge{c: c, swap: head == 0}
	for _, n := range c.notes {
		g.swap = g.swap && !n.locked
		for _, o := range n.options {
			g.worth[o.row] = max(g.worth[o.row], o.value)
		}
	}
	return g
}

// time gives the time of note i, counted on round the circle.
func (c *class) time(i int) unit.Milliseconds {
	if n := len(c.notes); i >= n {
		return c.notes[i-n].at + c.turn
	}
	return c.notes[i].at
}

// advance comes to note i. It reports whether the notes that matter fit the words; where they do not, the oldest are
// taken for gone.
func (g *gauge) advance(i int) bool {
	c, n, fits := g.c, len(g.c.notes), true
	now := c.time(i)
	for g.from < i && (c.notes[g.from%n].chord != c.notes[i%n].chord || i-g.from >= n) {
		g.from++
	}
	low := func(bits int) uint32 {
		if bits >= n {
			bits = n - 1 // not the note itself, once round
		}
		if bits > mostRecent {
			bits, fits = mostRecent, false
		}
		return 1<<bits - 1
	}
	g.chord = low(i - g.from)
	g.locked <<= 1
	if i > 0 && c.notes[(i-1)%n].locked {
		g.locked |= 1
	}
	for row := range c.pitches {
		for g.first[row] < i && now-c.time(g.first[row]) >= c.repeat[row]-comb.Slack {
			g.first[row]++
		}
		g.reach[row] = low(i - g.first[row])
		g.keep[row] = g.reach[row] | g.chord
	}
	return fits
}

// fits reports whether the present note can take an option: no more plucks on the row within one repeat time than there
// are teeth, and none at the same onset. Where all of these are locked the user has decided it so, and a finding says
// what is wrong with it.
func (g *gauge) fits(recent *stand, note *candidate, o int, teeth []int) bool {
	row := note.options[o].row
	near := recent[row] & g.reach[row]
	together := recent[row] & g.chord
	if together == 0 && bits.OnesCount32(near) < teeth[row] {
		return true
	}
	return note.locked && (near|together)&^g.locked == 0
}

// add puts a state into a layer, unless one there dominates it; those that it dominates are taken out.
func (g *gauge) add(states []state, s state) []state {
	for i := range states {
		if g.dominates(&states[i], &s) {
			return states
		}
	}
	kept := states[:0]
	for i := range states {
		if !g.dominates(&s, &states[i]) {
			kept = append(kept, states[i])
		}
	}
	return append(kept, s)
}

// dominates reports whether a is as good as b whatever comes: what may follow b may follow a, but for one later pluck
// for each recent pluck of a that has no counterpart in b as late or later (on one tooth intervals of equal length
// overlap it once at most), and a is ahead by what those could be worth.
func (g *gauge) dominates(a, b *state) bool {
	ahead := a.value - b.value
	if ahead < 0 || a.head != b.head {
		return false
	}
	for row := range g.c.pitches {
		extra := unmatched(a.recent[row], b.recent[row])
		if extra == 0 {
			continue
		}
		if ahead -= extra * g.worth[row]; ahead < 0 || !g.swap {
			return false
		}
	}
	return true
}

// unmatched counts the bits of a that find no bit of b as low or lower, each used once.
func unmatched(a, b uint32) (count int) {
	if a&^b == 0 {
		return 0
	}
	free := 0
	for rest := a | b; rest != 0; rest &= rest - 1 {
		low := rest & -rest
		if b&low != 0 {
			free++
		}
		if a&low != 0 {
			if free == 0 {
				count++
			} else {
				free--
			}
		}
	}
	return count
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
