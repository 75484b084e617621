package arrange

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"math"
	"slices"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
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
	repeat  []unit.Milliseconds // rounded
	need    []int               // teeth that locks ask for
	most    []int               // more teeth than this bring nothing
	notes   []candidate
	groups  groupList // of the notes
	turn    unit.Milliseconds
	head    int   // first notes that the last ones reach round the circle
	limit   int   // most work in one wide pass
	pitch   []int // of each row, where twins have a row each (circle.go); else nil
	laid    []*laneNotes
	prices  []int // on the notes, that bound well with any teeth; nil until they are needed

	priceWork int  // spent on the prices
	charged   bool // reports whether that has been counted for the problem in hand
}

// prepare orders the notes from the class's widest pause on, counts how far the last of them reach round, and how many teeth make sense.
func (c *class) prepare(stock Stock) {
	notes, turn, pitches := c.notes, c.turn, c.pitches
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
	for row, pitch := range c.pitches {
		if c.most[row] = min(c.most[row], stock.most(pitch)); !stock.open() {
			c.most[row] = stock.Fixed[pitch]
			c.need[row] = c.most[row]
		}
	}
}

// round replaces the repeat time of each row by one at which the same notes stand too near to each other: half-way, of the distances of two notes
// round the circle, between the longest that is too short and the shortest that is not. Pitches that recover nearly as fast then make equal
// classes.
func (c *class) round() {
	at := make([]unit.Milliseconds, 0, len(c.notes))
	for row, repeat := range c.repeat {
		at = at[:0]
		for i := range c.notes {
			for _, o := range c.notes[i].options {
				if o.row == row {
					at = append(at, c.notes[i].at)
				}
			}
		}
		slices.Sort(at)
		short, long := unit.Milliseconds(0), c.turn
		n, j := len(at), 1
		for i := range at {
			apart := func(j int) unit.Milliseconds {
				if j >= n {
					return at[j-n] + c.turn - at[i]
				}
				return at[j] - at[i]
			}
			for j = max(j, i+1); j < i+n && apart(j) < repeat-comb.Slack; j++ {
			}
			if j > i+1 {
				short = max(short, apart(j-1))
			}
			if j < i+n {
				long = min(long, apart(j))
			}
		}
		c.repeat[row] = (short+long)/2 + comb.Slack
	}
}

// longest gives the longest repeat time of the class's rows, and never less than an onset's width.
func (c *class) longest() unit.Milliseconds {
	longest := Together + 2*comb.Slack
	for _, r := range c.repeat {
		longest = max(longest, r)
	}
	return longest
}

// crowd gives the most teeth that the notes which could stand on a row can make use of: the largest number of them within one repeat time, L, where
// some pause is as long as that. Round a circle without such a pause it may take more, since three plucks can clash with one another though no moment is
// covered by more than two: at most ⌈L·(l − 1)/(l − 2)⌉, where no fewer than l ≥ 5 repeat times cover the circle, and 2·L − 1 at any rate
// (Tucker, Coloring a family of circular arcs, 1975, and Valencia-Pabon's sharpening of 2003; from memory).
func (c *class) crowd(row int) int {
	var at []unit.Milliseconds
	for _, n := range c.notes {
		for _, o := range n.options {
			if o.row == row {
				at = append(at, n.at)
			}
		}
	}
	repeat := c.repeat[row] - comb.Slack
	most, from, paused := 0, 0, len(at) < 2
	for i := range 2 * len(at) {
		t := at[i%len(at)] + c.turn*unit.Milliseconds(i/len(at))
		if i > 0 && i <= len(at) {
			before := at[i-1]
			paused = paused || t-before >= repeat
		}
		for from < i && t-(at[from%len(at)]+c.turn*unit.Milliseconds(from/len(at))) >= repeat {
			from++
		}
		most = max(most, min(i-from+1, len(at)))
	}
	if paused {
		return most
	}
	more := 2*most - 1
	if l := int(math.Ceil(float64(c.turn / repeat))); l >= 5 {
		more = (most*(l-1) + l - 3) / (l - 2)
	}
	return min(max(most, more), len(at))
}

// group is notes with the same options, which they share.
type group struct {
	options []option
	count   int
	locked  bool
}

type groupList []group

// relaxed gives the best value that notes could have on the rows of a set (bit r for row r) without recovery, or -1
// where a locked note's row is missing.
func (l groupList) relaxed(rows uint64) int {
	sum := 0
	for _, g := range l {
		best := 0
		for _, o := range g.options {
			if rows>>o.row&1 == 1 {
				best = max(best, o.value)
			}
		}
		if g.locked && rows>>g.options[0].row&1 == 0 {
			return -1
		}
		sum += g.count * best
	}
	return sum
}

// allRows is the set of all rows.
func (c *class) allRows() uint64 { return 1<<len(c.pitches) - 1 }

// fingerprint is the same only for classes that are equal but for their pitches.
func (c *class) fingerprint(stock Stock) [sha256.Size]byte {
	b := make([]byte, 0, 32*len(c.notes)+64)
	put := func(v float64) { b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v)) }
	put(float64(c.turn))
	b = binary.AppendVarint(b, int64(c.limit))
	b = binary.AppendVarint(b, int64(stock.Retuned))
	if stock.open() {
		b = append(b, 'o')
	}
	for row, p := range c.pitches {
		b = binary.AppendVarint(b, int64(stock.most(p)))
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
			b = binary.AppendVarint(b, int64(o.octaves))
			b = binary.AppendVarint(b, int64(o.value))
		}
	}
	return sha256.Sum256(b)
}
