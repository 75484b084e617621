package arrange

// cost is what a way of sharing teeth takes of the comb.
type cost struct{ teeth, fresh int }

// table holds the greatest value for each cost up to a most, and which way has it.
type table struct {
	most   cost
	values []int // -1 where there is none
	at     []int
}

func newTable(most cost) table {
	n := (most.teeth + 1) * (most.fresh + 1)
	t := table{most, make([]int, n), make([]int, n)}
	for i := range t.values {
		t.values[i] = -1
	}
	return t
}

func (t table) index(c cost) int { return c.teeth*(t.most.fresh+1) + c.fresh }

// put offers a value for a cost.
func (t table) put(c cost, value int) { t.offer(c, value, 0) }

func (t table) offer(c cost, value, at int) {
	if c.teeth > t.most.teeth || c.fresh > t.most.fresh {
		return
	}
	if i := t.index(c); value > t.values[i] {
		t.values[i], t.at[i] = value, at
	}
}

// knapsack gives the greatest sum of one entry from each table for each cost up to most, and which entry of each table it takes.
func knapsack(tables []table, most cost) (table, [][]int32) {
	n := (most.teeth + 1) * (most.fresh + 1)
	all := make([]int32, len(tables)*n)
	taken := make([][]int32, len(tables))
	for i := range tables {
		taken[i] = all[i*n : (i+1)*n]
	}
	return together(tables, most, taken), taken
}

// together gives the greatest sum of one entry from each table for each cost up to most. Which entry of each it takes, the cheapest of equals, is
// noted in taken, unless that is nil.
func together(tables []table, most cost, taken [][]int32) table {
	sum, next := newTable(most), newTable(most)
	sum.put(cost{}, 0)
	width := most.fresh + 1
	reached := 0 // the most teeth of any sum
	for i, t := range tables {
		for j := range next.values {
			next.values[j] = -1
		}
		dearest := 0
		for entry, v := range t.values {
			own := t.costOf(entry)
			if v < 0 || own.teeth > most.teeth || own.fresh > most.fresh {
				continue
			}
			dearest = own.teeth
			by, from := next.index(own), sum.values[:(min(reached, most.teeth-own.teeth)+1)*width]
			for len(from) > 0 { // one run where the width does not matter, else one for each number of teeth
				run := from[:width-own.fresh]
				if own.fresh == 0 {
					run = from
				}
				to := next.values[by : by+len(run)]
				for at, v0 := range run {
					if v0 >= 0 && v0+v > to[at] {
						to[at] = v0 + v
						if taken != nil {
							taken[i][by+at] = int32(entry)
						}
					}
				}
				if own.fresh == 0 {
					break
				}
				by, from = by+width, from[width:]
			}
		}
		reached = min(reached+dearest, most.teeth)
		sum, next = next, sum
	}
	return sum
}

// both gives the greatest sum of one entry from each of two tables for each cost up to most.
func both(a, b table, most cost) table {
	return together([]table{a, b}, most, nil)
}

// best gives the greatest sum that a knapsack has, -1 where there is none, and the least cost that has it.
func (t table) best() (value int, c cost) {
	i := 0
	for j, v := range t.values {
		if v > t.values[i] {
			i = j
		}
	}
	return t.values[i], t.costOf(i)
}

func (t table) costOf(i int) cost { return cost{i / (t.most.fresh + 1), i % (t.most.fresh + 1)} }

// trace gives the way that each table contributes to the sum of a knapsack at a cost.
func trace(tables []table, sum table, taken [][]int32, c cost) []int {
	ways := make([]int, len(tables))
	for i := len(tables) - 1; i >= 0; i-- {
		entry := int(taken[i][sum.index(c)])
		own := tables[i].costOf(entry)
		ways[i] = tables[i].at[entry]
		c.teeth -= own.teeth
		c.fresh -= own.fresh
	}
	return ways
}

// byCost gives the greatest figure of a class's ways by what they cost; of equals the first.
func byCost(ways []way, most cost, of func(*way) int) table {
	dearest := cost{}
	for i := range ways {
		dearest = cost{max(dearest.teeth, ways[i].sum), max(dearest.fresh, ways[i].fresh)}
	}
	t := newTable(cost{min(most.teeth, dearest.teeth), min(most.fresh, dearest.fresh)})
	for i := range ways {
		w := &ways[i]
		t.offer(cost{w.sum, w.fresh}, of(w), i)
	}
	return t
}
