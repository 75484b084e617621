package arrange

import (
	"slices"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
)

// rest bounds what the notes from each on can bring: rest[i] for the notes from i to the end.
//
// The rule that a note goes to one row only is lifted, and paid for: each note has a price λ ≥ 0, a row that takes it has
// only its value less the price, and the price itself is counted once. For any prices
//
//	rest[i] = Σ_{j≥i} λ_j + Σ_rows (the best of the row alone with values less prices, from i on)
//
// is at least what any choice is worth, by weak duality; the rows alone are sweeps with one row, which stay small. The prices are
// moved against the rule's breach for a few rounds (subgradient steps), since any prices will do and good ones bound well.
// What the seam forbids is left out, and what locked notes forbid to others, which only raises the bound.
func (c *class) rest(room *scratch, teeth, prices []int) (rest []int, work int) {
	n := len(c.notes)
	rest = make([]int, n+1)
	for i := n - 1; i >= 0; i-- {
		rest[i] = rest[i+1] + prices[i]
		if c.notes[i].locked {
			rest[i] += c.notes[i].options[0].value
		}
	}
	for _, l := range c.lanes(teeth) {
		tail, spent := l.tails(room, prices)
		work += spent
		at := len(l.notes)
		for i := n; i >= 0; i-- {
			for at > 0 && l.notes[at-1] >= i {
				at--
			}
			rest[i] += tail[at]
		}
	}
	return rest, work
}

// lanes gives the rows that have teeth.
func (c *class) lanes(teeth []int) []*lane {
	lanes := make([]*lane, 0, len(teeth))
	for row, k := range teeth {
		if k > 0 {
			lanes = append(lanes, c.lane(row, k))
		}
	}
	return lanes
}

// start makes prices that suit the class whatever its teeth.
func (c *class) start(room *scratch) {
	if c.prices != nil {
		return
	}
	first := make([]int, len(c.notes))
	for i, note := range c.notes {
		for _, o := range note.options {
			if !note.locked {
				first[i] = max(first[i], o.value*2/3)
			}
		}
	}
	c.prices, c.priceWork = haggle(room, c.lanes(c.most), first, 240, 12)
}

// priced bounds a class whatever its teeth: by sum, and by what each row brings with so many teeth at the prices.
type priced struct {
	prices  []int
	work    int // of making them
	sum     int
	rows    [][]int // by teeth
	rowWork int
}

// offer asks what each row would bring at given prices with any number of teeth.
func (c *class) offer(room *scratch, prices []int, p *priced) {
	p.rows = make([][]int, len(c.most))
	for i, v := range prices {
		p.sum += v
		if n := c.notes[i]; n.locked {
			p.sum += n.options[0].value
		}
	}
	for row, most := range c.most {
		p.rows[row] = make([]int, most+1)
		l := c.lane(row, 0)
		for n := 1; n <= most; n++ {
			l.teeth[0] = n
			s := l.sweep(room, prices)
			p.rowWork += s.work
			p.rows[row][n] = s.bound
		}
	}
}

// haggle moves prices against the breach of the rule, first by step hundredths and then by less, and gives the best that it saw.
func haggle(room *scratch, lanes []*lane, first []int, step, rounds int) (best []int, work int) {
	prices := slices.Clone(first)
	least := -1
	taken := make([]int, len(prices))
	for round := range rounds {
		total := 0
		clear(taken)
		for _, p := range prices {
			total += p
		}
		for _, l := range lanes {
			s := l.sweep(room, prices)
			work += s.work
			total += s.bound
			for at, o := range s.choice {
				if o >= 0 {
					taken[l.notes[at]]++
				}
			}
		}
		if least < 0 || total < least {
			least = total
			best = slices.Clone(prices)
		}
		by := max(step>>(round/2), 1)
		for i := range prices {
			prices[i] = max(prices[i]+by*(taken[i]-1), 0)
		}
	}
	return best, work
}

// lane is one row of a class with all free notes that could stand on it.
type lane struct {
	*class
	teeth  []int
	notes  []int // of the class
	values []int // of those notes on this row
	next   []int // the first note that one tooth can pluck after each
	crowd  int   // most notes within one repeat time
}

// lane gives a row with so many teeth. Lanes of one row share what does not change, and the room for offers, so that they are used
// one after the other.
func (c *class) lane(row, teeth int) *lane {
	if c.laid == nil {
		c.laid = make([]*lane, len(c.pitches))
	}
	if c.laid[row] == nil {
		c.laid[row] = c.lay(row)
	}
	l := *c.laid[row]
	l.teeth = []int{teeth}
	return &l
}

func (c *class) lay(row int) *lane {
	count := 0
	for _, note := range c.notes {
		for _, o := range note.options {
			if o.row == row {
				count++
			}
		}
	}
	l := &lane{class: &class{pitches: c.pitches[row : row+1], repeat: c.repeat[row : row+1], turn: c.turn, limit: c.limit / 64, notes: make([]candidate, 0, count)},
		notes: make([]int, 0, count), values: make([]int, 0, count)}
	options := make([]option, count)
	for i, note := range c.notes {
		for _, o := range note.options {
			if o.row == row && !note.locked {
				at := len(l.notes)
				l.notes, l.values = append(l.notes, i), append(l.values, o.value)
				l.class.notes = append(l.class.notes, candidate{note: note.note, at: note.at, chord: note.chord, options: options[at : at : at+1]})
			}
		}
	}
	l.link()
	return l
}

// price sets the value of each note less its price; a note that is not worth its price is not offered.
func (l *lane) price(prices []int) (sum int) {
	for at := range l.class.notes {
		note := &l.class.notes[at]
		note.options = note.options[:0]
		if v := l.values[at] - prices[l.notes[at]]; v > 0 {
			note.options = append(note.options, option{value: v})
			sum += v
		}
	}
	return sum
}

// link finds out which notes can follow each other on one tooth.
func (l *lane) link() {
	notes, repeat := l.class.notes, l.repeat[0]-comb.Slack
	l.next = make([]int, len(notes))
	from := 0
	for i := range notes {
		for notes[i].at-notes[from].at >= repeat {
			from++
		}
		l.crowd = max(l.crowd, i-from+1)
	}
	next := 0
	for i := range notes {
		for next = max(next, i+1); next < len(notes) && (notes[next].at-notes[i].at < repeat || notes[next].chord == notes[i].chord); next++ {
		}
		l.next[i] = next
	}
}

// sweep gives the best of the row alone.
func (l *lane) sweep(room *scratch, prices []int) swept {
	switch k := l.teeth[0]; {
	case k == 1:
		tail := l.oneTooth(prices)
		s := swept{value: tail[0], bound: tail[0], exact: true, choice: make([]int8, len(l.notes)), work: len(l.notes)}
		for i := range s.choice {
			s.choice[i] = -1
		}
		for i := 0; i < len(l.notes); {
			if tail[i] == tail[i+1] {
				i++
				continue
			}
			s.choice[i] = 0
			i = l.next[i]
		}
		return s
	case k >= l.crowd:
		s := swept{exact: true, choice: make([]int8, len(l.notes)), work: len(l.notes)}
		best := -1 // of the chord
		for i := range l.notes {
			s.choice[i] = -1
			v := l.worth(i, prices)
			if best >= 0 && l.class.notes[best].chord == l.class.notes[i].chord {
				if w := l.worth(best, prices); v > w {
					s.choice[best] = -1
					s.value -= w
				} else {
					continue
				}
			}
			if v > 0 {
				s.choice[i], best = 0, i
				s.value += v
			}
		}
		s.bound = s.value
		return s
	}
	sum := l.price(prices)
	s := l.pass(room, l.teeth, sweep{most: someStates, limit: l.limit})
	if s.bound = s.value; !s.exact {
		s.bound = sum
	}
	return s
}

// worth gives the value of a note less its price.
func (l *lane) worth(at int, prices []int) int { return l.values[at] - prices[l.notes[at]] }

// oneTooth gives the best from each note on with one tooth: either without the note, or with it and what can follow.
func (l *lane) oneTooth(prices []int) []int {
	tail := make([]int, len(l.notes)+1)
	for i := len(l.notes) - 1; i >= 0; i-- {
		tail[i] = max(tail[i+1], l.worth(i, prices)+tail[l.next[i]])
	}
	return tail
}

// tails gives a bound on the best of the row alone from each of its notes on, by sweeping it backwards.
func (l *lane) tails(room *scratch, prices []int) (tail []int, work int) {
	n := len(l.notes)
	switch k := l.teeth[0]; {
	case k == 1:
		return l.oneTooth(prices), n
	case k >= l.crowd: // every note from there on that is worth its price, one of a chord
		tail = make([]int, n+1)
		best := 0
		for i := n - 1; i >= 0; i-- {
			v := max(l.worth(i, prices), 0)
			if i+1 < n && l.class.notes[i+1].chord == l.class.notes[i].chord {
				tail[i] = tail[i+1] + max(v-best, 0)
				best = max(best, v)
			} else {
				tail[i], best = tail[i+1]+v, v
			}
		}
		return tail, n
	}
	l.price(prices)
	back := &class{pitches: l.pitches, repeat: l.repeat, turn: l.turn, limit: l.limit, notes: make([]candidate, n)}
	end := unit.Milliseconds(0)
	if n > 0 {
		end = l.class.notes[n-1].at
	}
	for at, note := range l.class.notes {
		note.at = end - note.at
		back.notes[n-1-at] = note
	}
	tail = make([]int, n+1)
	s := back.pass(room, l.teeth, sweep{most: someStates, limit: l.limit})
	if s.exact {
		for at := range n {
			tail[at] = s.layers[n-at]
		}
	} else { // every note from there on that is worth its price
		for at := n - 1; at >= 0; at-- {
			tail[at] = tail[at+1]
			for _, o := range l.class.notes[at].options {
				tail[at] += o.value
			}
		}
	}
	return tail, s.work
}
