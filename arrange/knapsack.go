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

// knapsack gives the greatest sum of one entry from each table for each cost up to most, and which cost of each table it takes.
func knapsack(tables []table, most cost) (table, [][]cost) {
	sum := newTable(most)
	sum.put(cost{}, 0)
	taken := make([][]cost, len(tables))
	for i, t := range tables {
		next := newTable(most)
		taken[i] = make([]cost, len(next.values))
		for teeth := range min(t.most.teeth, most.teeth) + 1 {
			for fresh := range min(t.most.fresh, most.fresh) + 1 {
				c := cost{teeth, fresh}
				v := t.values[t.index(c)]
				if v < 0 {
					continue
				}
				by, width := next.index(c), most.fresh-fresh+1
				for a := range most.teeth - teeth + 1 {
					at := sum.index(cost{teeth: a})
					for j, from := range sum.values[at : at+width] {
						if to := at + j + by; from >= 0 && from+v > next.values[to] {
							next.values[to], taken[i][to] = from+v, c
						}
					}
				}
			}
		}
		sum = next
	}
	return sum, taken
}

// both gives the greatest sum of one entry from each of two tables for each cost up to most.
func both(a, b table, most cost) table {
	sums, _ := knapsack([]table{a, b}, most)
	return sums
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
func trace(tables []table, sum table, taken [][]cost, c cost) []int {
	ways := make([]int, len(tables))
	for i := len(tables) - 1; i >= 0; i-- {
		own := taken[i][sum.index(c)]
		ways[i] = tables[i].at[tables[i].index(own)]
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
