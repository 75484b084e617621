package arrange

import (
	"slices"

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
// What the seam forbids is left out, which only raises the bound. The class must be free of locks.
func (c *class) rest(room *scratch, teeth []int) (rest []int, work int) {
	n := len(c.notes)
	lanes := c.lanes(teeth)
	prices, work := haggle(room, lanes, c.start(room), 160, 6)
	rest = make([]int, n+1)
	for i := n - 1; i >= 0; i-- {
		rest[i] = rest[i+1] + prices[i]
	}
	for _, l := range lanes {
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

// start gives prices that suit the class whatever its teeth.
func (c *class) start(room *scratch) []int {
	if c.prices == nil {
		first := make([]int, len(c.notes))
		for i, note := range c.notes {
			for _, o := range note.options {
				first[i] = max(first[i], o.value*2/3)
			}
		}
		c.prices, c.priceWork = haggle(room, c.lanes(c.most), first, 240, 12)
	}
	return c.prices
}

// priced bounds a class whatever its teeth: by sum, and by what each row brings with so many teeth at the prices.
type priced struct {
	sum  int
	rows [][]int // by teeth
	work int
}

// offer makes prices for a way of sharing teeth and asks what each row would bring at them with any number of teeth.
func (c *class) offer(room *scratch, teeth []int) *priced {
	prices, work := haggle(room, c.lanes(teeth), c.start(room), 160, 6)
	p := &priced{rows: make([][]int, len(teeth)), work: work}
	for _, v := range prices {
		p.sum += v
	}
	for row, most := range c.most {
		p.rows[row] = make([]int, most+1)
		l := c.lane(row, 0)
		for n := 1; n <= most; n++ {
			l.teeth[0] = n
			s := l.sweep(room, prices)
			p.work += s.work
			p.rows[row][n] = s.bound
		}
	}
	return p
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

// lane is one row of a class with all notes that could stand on it.
type lane struct {
	*class
	teeth  []int
	notes  []int // of the class
	values []int // of those notes on this row
}

func (c *class) lane(row, teeth int) *lane {
	count := 0
	for _, note := range c.notes {
		for _, o := range note.options {
			if o.row == row {
				count++
			}
		}
	}
	l := &lane{class: &class{pitches: c.pitches[row : row+1], repeat: c.repeat[row : row+1], turn: c.turn, limit: c.limit / 64, notes: make([]candidate, 0, count)},
		teeth: []int{teeth}, notes: make([]int, 0, count), values: make([]int, 0, count)}
	options := make([]option, count)
	for i, note := range c.notes {
		for _, o := range note.options {
			if o.row == row {
				at := len(l.notes)
				l.notes, l.values = append(l.notes, i), append(l.values, o.value)
				l.class.notes = append(l.class.notes, candidate{note: note.note, at: note.at, chord: note.chord, options: options[at : at : at+1]})
			}
		}
	}
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

// sweep gives the best of the row alone.
func (l *lane) sweep(room *scratch, prices []int) swept {
	sum := l.price(prices)
	s := l.pass(room, l.teeth, sweep{most: someStates, limit: l.limit})
	if s.bound = s.value; !s.exact {
		s.bound = sum
	}
	return s
}

// tails gives a bound on the best of the row alone from each of its notes on, by sweeping it backwards.
func (l *lane) tails(room *scratch, prices []int) (tail []int, work int) {
	l.price(prices)
	n := len(l.notes)
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
