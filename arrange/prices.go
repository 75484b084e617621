package arrange

import (
	"slices"
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
// What the seam forbids is left out, which only raises the bound.
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
func (c *class) lanes(teeth []int) []lane {
	lanes := make([]lane, 0, len(teeth))
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
		for n := 1; n <= most; n++ {
			bound, _, work := c.lane(row, n).sweep(room, prices)
			p.rowWork += work
			p.rows[row][n] = bound
		}
	}
}

// haggle moves prices against the breach of the rule, first by step hundredths and then by less, and gives the best that it saw.
func haggle(room *scratch, lanes []lane, first []int, step, rounds int) (best []int, work int) {
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
			bound, plucked, spent := l.sweep(room, prices)
			work += spent
			total += bound
			for at, yes := range plucked {
				if yes {
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
