package arrange

import (
	"math/bits"
	"slices"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
)

// Limits of the sweep: beyond them it goes on with the best that it has and says that it is no longer exact.
const (
	fewStates  = 12   // ways in which the recent notes can stand, in a first pass
	someStates = 256  // of one row, where prices are made
	mostStates = 512  // where a bound helps
	manyStates = 4096 // where twins have a row each
	mostRecent = 31   // notes of one class within one repeat time, a bit each
	headBits   = 64   // for the first notes that the last reach round the circle
)

// mostRows is the largest number of pitches of one class among the MIDI note numbers.
const mostRows = 11

// stand is how the recent notes stand: for each row a bit for each note back from the present one, the latest lowest,
// set where the note is plucked on that row.
type stand [mostRows]uint32

// state is one way in which the recent notes stand, with the best value that leads there.
type state struct {
	recent stand
	value  int32
	from   int32  // index of the state before, in all layers
	head   uint64 // some bits for each of the first notes: 0 left out, else option + 1
	option int8   // taken for this layer's note, -1 for left out
}

// scratch is room for the layers of a pass, used again and again.
type scratch struct {
	states []state  // of all layers, one after another
	starts []int    // of each layer
	next   []state  // that may make the next layer
	order  []uint64 // of those

	lane       []laneState // of one row alone, all layers
	laneStarts []int       // of each layer

	tables turnTables
}

// swept is what a sweep found.
type swept struct {
	value  int    // hundredths; -1 where the locked notes cannot all be placed
	choice []int8 // the option of each note, -1 for left out
	bound  int    // no choice is worth more
	exact  bool   // reports whether value is the greatest that counting allows
	work   int    // states compared
	layers []int  // the best value after each number of notes
	rest   []int  // what the notes from each on can bring, where it was needed
	final  bool   // reports whether no more is to be found out
}

// quick sweeps the class with teeth[row] teeth for each row, keeping few states.
func (c *class) quick(room *scratch, teeth []int) swept {
	s := c.pass(room, teeth, sweep{most: fewStates})
	if s.value < 0 { // every state that had room for the first notes, or the locked ones, was left behind
		s.value, s.choice = c.lockedOnly()
	}
	if s.bound = s.value; !s.exact {
		s.bound = c.groups.relaxed(c.allRows())
	}
	return s
}

// bounded adds to what a quick sweep found, where it was not enough, what prices on the notes allow to gain (prices.go).
func (c *class) bounded(room *scratch, teeth []int, s swept, prices []int) swept {
	s.rest, s.work = c.rest(room, teeth, prices)
	s.bound = min(s.bound, s.rest[0])
	s.exact = s.value >= s.bound
	return s
}

// study sweeps the class once more where that was not enough: wider, but without the states that, by the prices, cannot better what was found.
func (c *class) study(room *scratch, teeth []int, s swept) swept {
	s.final = true
	wide := c.pass(room, teeth, sweep{most: mostStates, limit: c.limit, rest: s.rest, floor: s.value})
	s.work = wide.work
	if wide.value > s.value {
		s.value, s.choice = wide.value, wide.choice
	}
	if wide.exact {
		s.bound = s.value
	}
	s.exact = s.value == s.bound
	return s
}

// lockedOnly plucks the locked notes and leaves out the rest, which is always possible.
func (c *class) lockedOnly() (value int, choice []int8) {
	choice = make([]int8, len(c.notes))
	for i, n := range c.notes {
		choice[i] = -1
		if n.locked {
			choice[i] = 0
			value += n.options[0].value
		}
	}
	return value, choice
}

// sweep says how a class is swept: with how many states at most, and how much work (0 for any). With rest, a bound on what
// the notes from each on can bring, states that cannot better floor are left out.
type sweep struct {
	most, limit int
	rest        []int
	floor       int
}

// pass sweeps the class in order of time; the value is -1 where no state is left.
//
// Cost: notes × states². A state is passed over where another can do all that it can, and is worth as much (dominates),
// so that the states depend on the density of the tune and not on its length.
func (c *class) pass(room *scratch, teeth []int, how sweep) swept {
	r := swept{exact: true}
	head := c.head
	each := 0 // bits of head for a note
	for _, note := range c.notes {
		each = max(each, bits.Len(uint(len(note.options))))
	}
	if head*each > headBits {
		head, r.exact = 0, false
	}
	n := len(c.notes)
	g := c.newGauge(head)
	room.states = append(room.states[:0], state{from: -1, option: -1})
	room.starts = append(room.starts[:0], 0)
	for i := range n + head {
		r.exact = g.advance(i) && r.exact
		note := &c.notes[i%n]
		from, start := room.starts[i], len(room.states)
		room.starts = append(room.starts, start)
		room.next = room.next[:0]
		for ; from < start; from++ {
			s := &room.states[from]
			take := func(o int) {
				t := state{head: s.head, value: s.value, from: int32(from), option: int8(o)}
				if o >= 0 && i < n {
					t.value += int32(note.options[o].value)
				}
				if how.rest != nil && i < n && int(t.value)+how.rest[i+1] <= how.floor {
					return
				}
				for row := range c.pitches {
					t.recent[row] = s.recent[row] & g.keep[row] << 1
				}
				if o >= 0 {
					t.recent[note.options[o].row] |= 1
				}
				if i < head {
					t.head |= uint64(o+1) << (each * i)
				}
				room.next = append(room.next, t)
			}
			if i >= n {
				o := int(s.head>>(each*(i-n))&(1<<each-1)) - 1
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
		r.exact = g.keepBest(room, start, how.most) && r.exact
		if over := how.limit > 0 && g.work > how.limit; over || len(room.states) == start {
			r.value, r.work, r.exact = -1, g.work, r.exact && !over
			return r
		}
	}
	r.work = g.work
	room.starts = append(room.starts, len(room.states))
	r.layers = make([]int, n+1)
	for l := range r.layers {
		for _, s := range room.states[room.starts[l]:room.starts[l+1]] {
			r.layers[l] = max(r.layers[l], int(s.value))
		}
	}
	best := room.starts[n+head]
	for i := best; i < len(room.states); i++ {
		if room.states[i].value > room.states[best].value {
			best = i
		}
	}
	r.choice = make([]int8, n)
	r.value = int(room.states[best].value)
	for l := n + head; l > 0; l-- {
		s := &room.states[best]
		if l <= n {
			r.choice[l-1] = s.option
		}
		best = int(s.from)
	}
	return r
}

// gauge measures, for the note that a sweep has come to, how far back each row's plucks still matter.
type gauge struct {
	c      *class
	first  [mostRows]int     // the earliest note within one repeat time of the present one
	reach  [mostRows]uint32  // bits of the notes within one repeat time
	keep   [mostRows]uint32  // bits of those that the next note may still clash with, or sound together with
	chord  uint32            // bits of the notes of the present one's onset
	locked uint32            // bits of locked notes
	worth  [mostRows]int     // the most that a pluck on the row can be worth
	swap   bool              // reports whether any note that a recent pluck can stand in the way of may be left out
	must   int               // the next note that may not: a locked one, or one of the first notes met again
	most   int               // notes, and the first of them met again
	within unit.Milliseconds // the longest repeat time
	from   int               // the earliest note of the present one's onset
	work   int               // states compared
}

func (c *class) newGauge(head int) *gauge {
	g := &gauge{c: c, most: len(c.notes) + head, within: c.longest()}
	for _, n := range c.notes {
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
	for g.must = max(g.must, i+1); g.must < n && !c.notes[g.must].locked; g.must++ {
	}
	// Where twins have a row each, a pluck can stand in the way of two: of one on its row, and of one of its chord on another.
	g.swap = c.pitch == nil && (g.must >= g.most || c.time(g.must)-now >= g.within)
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
	if g.c.pitch != nil {
		for other, p := range g.c.pitch {
			if p == g.c.pitch[row] {
				together |= recent[other] & g.chord
			}
		}
	}
	if together == 0 && bits.OnesCount32(near) < teeth[row] {
		return true
	}
	return note.locked && (near|together)&^g.locked == 0
}

// keepBest makes a layer of the states that come next: those that no better one dominates, the most valuable first. It reports whether
// there was room for them all.
func (g *gauge) keepBest(room *scratch, start, most int) (all bool) {
	next := room.next
	room.order = room.order[:0]
	for i := range next {
		plucks := 0 // of equals, that with fewer recent plucks comes first, since it dominates more
		for row := range g.c.pitches {
			plucks += bits.OnesCount32(next[i].recent[row])
		}
		room.order = append(room.order, ^uint64(next[i].value)<<32|uint64(min(plucks, 255))<<24|uint64(i))
	}
	slices.Sort(room.order)
	all = true
	for _, key := range room.order {
		s := &next[key&(1<<24-1)]
		layer := room.states[start:]
		dominated := false
		for i := range layer {
			g.work++
			if g.dominates(&layer[i], s) {
				dominated = true
				break
			}
		}
		if dominated {
			continue
		}
		if len(layer) == most {
			all = false
			break
		}
		room.states = append(room.states, *s)
	}
	g.work += len(next)
	if all {
		return true
	}
	headless := func(s state) bool { return s.head == 0 } // it gets round the circle whatever the others do
	if !slices.ContainsFunc(room.states[start:], headless) {
		for _, key := range room.order {
			if s := &next[key&(1<<24-1)]; headless(*s) {
				room.states[len(room.states)-1] = *s
				break
			}
		}
	}
	return false
}

// dominates reports whether a is as good as b whatever comes: what may follow b may follow a, but for one later pluck
// for each recent pluck of a that has no counterpart in b as late or later (on one tooth intervals of equal length
// overlap it once at most), and a is ahead by what those could be worth.
func (g *gauge) dominates(a, b *state) bool {
	ahead := int(a.value - b.value)
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
	for a, b = a&^b, b&^a; a != 0; a &= a - 1 {
		if b == 0 {
			return count + bits.OnesCount32(a)
		}
		if low := a & -a; b&(low-1) != 0 {
			b &= b - 1
		} else {
			count++
		}
	}
	return count
}
