package arrange

import (
	"slices"
)

// memory holds what is known of one class, and of all that differ from it in their pitches only, by the teeth of its rows.
type memory struct {
	class                    *class
	quicks, glances, studies map[string]swept
	priced                   map[string]*priced
	alone                    [][]int // what each row brings alone, by teeth
	ways                     []way   // as first bounded
	table                    table   // of those, by cost up to most
	most                     cost
	apart                    map[cost][]way
	cost                     int // of bounding them
}

// way is one way of sharing teeth among the rows of a class.
type way struct {
	teeth   []int
	sum     int
	fresh   int // of the teeth, those that are not given
	bound   int // hundredths; no arrangement of the class with these teeth is worth more
	value   int // that can be had, -1 while it has not been looked at
	known   bool
	stands  bool   // reports whether the bound is that of other ways as well
	priced  bool   // reports whether prices made for this way have bounded all of them
	haggled bool   // reports whether those prices have been counted for the problem in hand
	choice  []int8 // that has the value
}

// prices gives prices that suit a way.
func (e *Exact) prices(m *memory, w *way) []int {
	c := m.class
	if !c.charged {
		had := c.priceWork
		c.start(&e.room)
		e.work += c.priceWork - had
		e.spent, c.charged = e.spent+c.priceWork, true
	}
	p, ok := m.priced[w.name()]
	if !ok {
		p = &priced{}
		p.prices, p.work = haggle(&e.room, c.lanes(w.teeth), c.prices, 160, 6)
		e.work += p.work
		m.priced[w.name()] = p
	}
	if !w.haggled {
		e.spent, w.haggled = e.spent+p.work, true
	}
	return p.prices
}

// price makes prices for a way, which bound the others as well.
func (e *Exact) price(m *memory, ways []way, w *way) {
	prices := e.prices(m, w)
	p := m.priced[w.name()]
	if p.rows == nil {
		m.class.offer(&e.room, prices, p)
		e.work += p.rowWork
	}
	e.spent += p.rowWork
	w.priced = true
	for i := range ways {
		if v := &ways[i]; !v.stands {
			sum := p.sum
			for row, n := range v.teeth {
				sum += p.rows[row][n]
			}
			v.bound = min(v.bound, sum)
		}
	}
}

// below bounds the ways that have no more teeth on any row than one that is known; a way that stands for others has their bound too.
func below(ways []way, w *way) {
	for i := range ways {
		v := &ways[i]
		if v.stands || v.bound <= w.bound || v.sum > w.sum {
			continue
		}
		less := true
		for row, n := range v.teeth {
			less = less && n <= w.teeth[row]
		}
		if less {
			v.bound = w.bound
		}
	}
}

// name tells the ways of a class apart.
func (w *way) name() string {
	name := make([]byte, len(w.teeth))
	for i, n := range w.teeth {
		name[i] = byte(n)
	}
	return string(name)
}

// look finds out more of a way: at first by a glance, then by a study. Where all that may be spent is spent, it makes do with
// what a narrow sweep gives.
func (e *Exact) look(m *memory, w *way) {
	c := m.class
	if e.spent >= e.most {
		if w.value < 0 {
			s := c.quick(&e.room, w.teeth)
			e.spend(s.work)
			w.value, w.choice = s.value, s.choice
		}
		w.known = true
		return
	}
	name := w.name()
	var s swept
	if w.value < 0 {
		var ok bool
		if s, ok = m.quicks[name]; !ok {
			s = c.roundTheCircle(&e.room, w.teeth, c.quick(&e.room, w.teeth))
			e.work += s.work
			m.quicks[name] = s
		}
		e.spent += s.work
		if !s.exact && !w.stands && s.value >= w.bound { // it is the best, as is known from elsewhere
			s.exact, s.bound = true, s.value
			had := s.work
			s = c.roundTheCircle(&e.room, w.teeth, s)
			e.spend(s.work - had)
		}
		if !s.exact {
			prices := e.prices(m, w)
			glance, ok := m.glances[name]
			if !ok {
				glance = c.roundTheCircle(&e.room, w.teeth, c.bounded(&e.room, w.teeth, s, prices))
				e.work += glance.work
				m.glances[name] = glance
			}
			e.spent += glance.work
			s = glance
		}
	} else {
		var ok bool
		if s, ok = m.studies[name]; !ok {
			s = c.roundTheCircle(&e.room, w.teeth, c.study(&e.room, w.teeth, m.glances[name]))
			e.work += s.work
			m.studies[name] = s
		}
		e.spent += s.work
	}
	w.value, w.choice, w.known = s.value, s.choice, s.final || s.exact
	if !w.stands {
		w.bound = min(w.bound, s.bound)
	}
}

// newMemory knows nothing of a class yet.
func newMemory(c *class) *memory {
	return &memory{class: c, quicks: map[string]swept{}, glances: map[string]swept{}, studies: map[string]swept{}, priced: map[string]*priced{}, apart: map[cost][]way{}}
}

// as gives the class that is remembered, with the pitches of one that is like it.
func (m *memory) as(c *class) *class {
	own := *m.class
	own.pitches = c.pitches
	return &own
}

// remember gives what is known of a class; at first, its ways with a bound each.
func (e *Exact) remember(p *Problem, c *class) *memory {
	print := c.fingerprint(p.Comb)
	if m := e.made[print]; m != nil {
		e.recall(m)
		return m
	}
	c.prepare(p.Comb)
	m := newMemory(c)
	e.made[print] = m
	e.survey(p, m)
	return m
}

// recall counts what a memory cost, as if it were made now.
func (e *Exact) recall(m *memory) {
	e.spent += m.cost
	m.class.charged = false
}

// first gives the bounds of the ways by cost before any was looked at.
func (m *memory) first(most cost) table {
	if m.most != most || m.table.values == nil {
		m.table, m.most = byCost(m.ways, most, func(w *way) int { return w.bound }), most
	}
	return m.table
}

// survey bounds the ways of a class: by the lesser of the best without recovery and the sum of what each row could bring if it had
// all notes for itself.
func (e *Exact) survey(p *Problem, m *memory) {
	c := m.class
	if !p.Comb.open() {
		m.ways = []way{{teeth: c.most, bound: c.groups.relaxed(c.allRows()), value: -1}}
		return
	}
	m.alone = make([][]int, len(c.pitches))
	for row := range c.pitches {
		m.alone[row] = c.alone(&e.room, row)
		m.cost += 8 * len(c.notes) * c.most[row]
	}
	e.spend(m.cost)
	if c.sharingCount() > fewWays {
		m.ways = c.ladder(m.alone, p.Comb)
	} else {
		m.ways = c.sharings(m.alone, p.Comb, nil)
	}
}

// sharingCount gives how many ways there are of sharing teeth among the rows, or more than fewWays.
func (c *class) sharingCount() int {
	count := 1
	for row := range c.pitches {
		count = min(count*(c.most[row]-c.need[row]+1), fewWays+1)
	}
	return count
}

// apart tells the ways of one cost apart; nil where they are too many.
func (e *Exact) apart(m *memory, stock Stock, at cost) []way {
	ways, ok := m.apart[at]
	if !ok {
		ways = m.class.sharings(m.alone, stock, &at)
		m.apart[at] = ways
		e.work += len(ways)
	}
	e.spent += len(ways)
	return ways
}

// alone gives bounds on what the notes that could stand on a row are worth there, by teeth.
func (c *class) alone(room *scratch, row int) []int {
	bounds := make([]int, c.most[row]+1)
	none := make([]int, len(c.notes))
	locked := 0
	for _, n := range c.notes {
		if n.locked && n.options[0].row == row {
			locked += n.options[0].value
		}
	}
	for n := range bounds {
		bounds[n] = locked
		if n > 0 {
			bound, _, _ := c.lane(row, n).sweep(room, none)
			bounds[n] += bound
		}
	}
	return bounds
}

// sharings gives every way of sharing teeth among the rows, or every one of a given cost, nil where they are too many. They are
// in order of their teeth, and bounded by what each row brings alone, where that is given.
func (c *class) sharings(alone [][]int, stock Stock, only *cost) []way {
	var ways []way
	teeth := make([]int, len(c.most))
	room := make([]int, len(c.most)+1) // for teeth on the rows from each on
	for row := len(c.most) - 1; row >= 0; row-- {
		room[row] = room[row+1] + c.most[row]
	}
	var share func(row int, spent cost, set uint64, apart int)
	share = func(row int, spent cost, set uint64, apart int) {
		switch {
		case len(ways) > mostWays, spent.teeth > mostTeeth, spent.fresh > stock.Retuned,
			only != nil && (spent.teeth > only.teeth || spent.teeth+room[row] < only.teeth):
			return
		case row < len(teeth):
			for n := c.need[row]; n <= c.most[row]; n++ {
				teeth[row] = n
				with := set
				if n > 0 {
					with |= 1 << row
				}
				own := 0
				if alone != nil {
					own = alone[row][n]
				}
				share(row+1, cost{spent.teeth + n, spent.fresh + stock.fresh(c.pitches[row], n)}, with, apart+own)
			}
		case only == nil || spent == *only:
			bound := c.groups.relaxed(set)
			if alone != nil {
				bound = min(bound, apart)
			}
			if bound >= 0 {
				ways = append(ways, way{teeth: slices.Clone(teeth), sum: spent.teeth, fresh: spent.fresh, bound: bound, value: -1})
			}
		}
	}
	share(0, cost{}, 0, 0)
	if len(ways) > mostWays {
		return nil
	}
	return ways
}

// ladder gives one way for each cost where there are too many to tell apart: that in which the rows, each for itself, would bring
// most. Its bound holds for every way that costs as much, and stays where it is when the way is looked at.
func (c *class) ladder(alone [][]int, stock Stock) []way {
	tables := make([]table, len(c.pitches))
	most := cost{fresh: stock.Retuned}
	for row, n := range c.most {
		tables[row] = newTable(cost{n, stock.Retuned})
		for teeth := c.need[row]; teeth <= n; teeth++ {
			tables[row].offer(cost{teeth, stock.fresh(c.pitches[row], teeth)}, alone[row][teeth], teeth)
		}
		most.teeth = min(most.teeth+n, mostTeeth)
	}
	sums, taken := knapsack(tables, most)
	all := c.groups.relaxed(c.allRows())
	var ways []way
	for i, apart := range sums.values {
		if apart >= 0 {
			at := sums.costOf(i)
			ways = append(ways, way{teeth: trace(tables, sums, taken, at), sum: at.teeth, fresh: at.fresh, bound: min(all, apart), value: -1, stands: true})
		}
	}
	return ways
}
