package arrange

import (
	"cmp"
	"context"
	"math"
	"slices"

	"pinwright/arrange/unit"
)

// Joint is one comb for several tunes, with the arrangement of each.
type Joint struct {
	Teeth            []unit.Pitch // lowest first
	Solutions        []*Solution  // of the tunes, on this comb
	Objective, Bound float64      // of all together
	Proven           bool
}

// Together cuts one comb for several tunes, each in its own key, so that the sum of their values is greatest. The comb is that of
// the first problem, and is to be cut; there are no locks.
//
// For given keys a class of the comb serves one class of each tune: its ways of sharing teeth are worth the sum of what they are
// worth to the tunes, and the knapsack over the twelve is the same. Keys are chosen for one tune after another, the weightiest first
// (branch and bound): what the tunes so far could have on one comb, and each of the others on a comb of its own, bounds what there
// is to gain.
func (e *Exact) Together(ctx context.Context, tunes []*Problem) (*Joint, error) {
	j := &joiner{exact: e, ctx: ctx, value: -1, bound: -1, of: make([]map[int]*[12]part, len(tunes))}
	order := make([]int, len(tunes))
	for t := range order {
		order[t] = t
	}
	weight := make([]float64, len(tunes))
	for t, p := range tunes {
		for _, n := range p.Notes {
			weight[t] += n.Role.Value()
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(weight[b], weight[a]) })
	for i, t := range order {
		p := tunes[t]
		j.tunes = append(j.tunes, p)
		j.budget += p.work()
		keys, err := e.alone(ctx, p, &j.spent)
		if err != nil {
			return nil, err
		}
		j.keys = append(j.keys, keys)
		j.of[i] = map[int]*[12]part{}
	}
	j.rest = make([]int, len(tunes)+1)
	for t := len(tunes) - 1; t >= 0; t-- {
		j.rest[t] = j.rest[t+1] + j.keys[t][0].ceiling
	}
	if err := j.descend(nil, 0); err != nil {
		return nil, err
	}
	result := &Joint{Objective: float64(j.value) / 100, Bound: float64(max(j.bound, j.value)) / 100, Proven: j.value >= j.bound, Solutions: make([]*Solution, len(tunes))}
	return result, j.share(order, result)
}

// joiner chooses the keys of several tunes.
type joiner struct {
	exact         *Exact
	ctx           context.Context
	tunes         []*Problem // the weightiest first
	keys          [][]*key   // of each, the greatest ceiling first
	rest          []int      // what the tunes from each on could have on combs of their own
	of            []map[int]*[12]part
	spent, budget int
	value, bound  int // hundredths
	best          []*key
	teeth         map[unit.Pitch]int
}

// descend chooses a key for the next tune; bound is what those before it could have together.
func (j *joiner) descend(chosen []*key, bound int) error {
	t := len(chosen)
	rest := j.rest[t+1]
	type branch struct {
		key   *key
		bound int
	}
	var open []branch
	for _, k := range j.keys[t] {
		if bound+k.ceiling+rest <= j.value {
			break
		}
		if j.value >= 0 && j.spent >= j.budget {
			j.bound = max(j.bound, bound+k.ceiling+rest)
			break
		}
		with := append(chosen[:t:t], k)
		if t == 0 && len(j.tunes) > 1 {
			open = append(open, branch{k, k.ceiling})
			continue
		}
		v, b, teeth, err := j.solve(with, j.value-rest)
		if err != nil {
			return err
		}
		switch b = min(b, bound+k.ceiling); {
		case b+rest <= j.value:
		case t+1 < len(j.tunes):
			open = append(open, branch{k, b})
		default:
			if j.bound = max(j.bound, b); v > j.value {
				j.value, j.best, j.teeth = v, with, teeth
			}
		}
	}
	slices.SortStableFunc(open, func(a, b branch) int { return cmp.Compare(b.bound, a.bound) })
	for _, o := range open {
		if o.bound+rest <= j.value {
			break
		}
		if err := j.descend(append(chosen[:t:t], o.key), o.bound); err != nil {
			return err
		}
	}
	return nil
}

// alone gives the keys of one tune, with what it could have in each on a comb of its own as their ceilings, highest first.
func (e *Exact) alone(ctx context.Context, p *Problem, spent *int) ([]*key, error) {
	kinds, chord := p.kinds(), p.chords()
	var keys []*key
	for x := p.MinX; x <= p.MaxX; x++ {
		k := p.outline(x, kinds, nil, allClasses)
		p.state(k, chord, allClasses)
		e.spent, e.most = 0, p.work()/(p.MaxX-p.MinX+1)
		s := e.begin(p, k, nil)
		if err := e.pursue(ctx, p, s, -1); err != nil {
			return nil, err
		}
		*spent += e.spent
		keys = append(keys, &key{x: x, ceiling: min(k.ceiling, s.bound)})
	}
	slices.SortFunc(keys, func(a, b *key) int { return cmp.Or(cmp.Compare(b.ceiling, a.ceiling), nearer(a, b)) })
	return keys, nil
}

// part is what one tune in one key makes of a pitch class.
type part struct {
	class  *class
	memory *memory
	ways   []way          // that were asked for
	at     map[string]int // the same by name
	looked int
}

// shared is one class of a comb that several tunes share.
type shared struct {
	pitches []unit.Pitch
	parts   []*part
	rows    [][]int // of each part, for each of the pitches, or -1
	ways    []sharedWay
}

type sharedWay struct {
	teeth []int
	sum   int
	of    []int // the way of each part
}

func (s *shared) bound(w *sharedWay) (sum int) {
	for t, i := range w.of {
		sum += s.parts[t].ways[i].bound
	}
	return sum
}

// value gives what the parts have for certain.
func (s *shared) value(w *sharedWay) (sum int) {
	for t, i := range w.of {
		sum += max(s.parts[t].ways[i].value, 0)
	}
	return sum
}

// parts gives a tune's parts in a key; they keep what was found out.
func (j *joiner) parts(t int, k *key) *[12]part {
	if all, ok := j.of[t][k.x]; ok {
		return all
	}
	p := j.tunes[t]
	stated := &key{x: k.x}
	p.state(stated, p.chords(), allClasses)
	all := &[12]part{}
	for i, c := range stated.classes {
		m := j.exact.remember(p, c)
		all[i] = part{class: m.as(c), memory: m, at: map[string]int{}}
	}
	j.of[t][k.x] = all
	return all
}

// solve gives the best value of the first tunes in given keys, a bound on it, and the teeth by pitch; -1 where it cannot be more than floor.
func (j *joiner) solve(keys []*key, floor int) (value, bound int, teeth map[unit.Pitch]int, err error) {
	e := j.exact
	e.spent, e.most = j.spent, j.spent+max(j.budget-j.spent, 0)/2
	defer func() { j.spent = e.spent }()
	comb := j.tunes[0].Comb
	var classes [12]*shared
	whole := true
	for i := range classes {
		s := &shared{}
		for t, k := range keys {
			s.parts = append(s.parts, &j.parts(t, k)[i])
		}
		whole = s.join(comb) && whole
		e.spend(len(s.ways))
		classes[i] = s
	}
	most := cost{teeth: comb.Teeth}
	for range mostSweeps {
		if err := j.ctx.Err(); err != nil {
			return 0, 0, nil, err
		}
		tables := sharedTables(classes, most, (*shared).bound)
		sums, taken := knapsack(tables, most)
		var at cost
		if bound, at = sums.best(); bound <= floor && whole {
			return -1, bound, nil, nil
		}
		known := true
		for i, w := range trace(tables, sums, taken, at) {
			s := classes[i]
			for t, own := range s.ways[w].of {
				known = e.lookShared(s.parts[t], own) && known
			}
		}
		if known {
			break
		}
	}
	if !whole {
		bound = 0
		for _, k := range keys {
			bound += k.ceiling
		}
	}
	tables := sharedTables(classes, most, (*shared).value)
	sums, taken := knapsack(tables, most)
	value, at := sums.best()
	teeth = map[unit.Pitch]int{}
	for i, w := range trace(tables, sums, taken, at) {
		for row, n := range classes[i].ways[w].teeth {
			if n > 0 {
				teeth[classes[i].pitches[row]] = n
			}
		}
	}
	return value, bound, teeth, nil
}

// lookShared finds out more of one way of a part, and reports whether nothing more is to be found out.
func (e *Exact) lookShared(p *part, i int) bool {
	w := &p.ways[i]
	if w.known {
		return true
	}
	if p.looked >= fewLooks && !w.priced && e.spent < e.most {
		before := w.bound
		e.price(p.memory, p.ways, w)
		if w.bound < before {
			return false
		}
	}
	e.look(p.memory, w)
	if p.looked++; w.known {
		below(p.ways, w)
	}
	return false
}

func sharedTables(classes [12]*shared, most cost, of func(*shared, *sharedWay) int) []table {
	tables := make([]table, len(classes))
	for i, s := range classes {
		dearest := 0
		for _, w := range s.ways {
			dearest = max(dearest, w.sum)
		}
		tables[i] = newTable(cost{teeth: min(most.teeth, dearest)})
		for j := range s.ways {
			tables[i].offer(cost{teeth: s.ways[j].sum}, of(s, &s.ways[j]), j)
		}
	}
	return tables
}

// join sets out the rows and the ways of a shared class. It reports whether all ways are there; where they would be too many,
// those with many twins are left off.
func (s *shared) join(comb Stock) bool {
	most := map[unit.Pitch]int{}
	for _, p := range s.parts {
		for row, pitch := range p.class.pitches {
			most[pitch] = max(most[pitch], min(p.class.most[row], comb.MaxTwins))
		}
	}
	for pitch := range most {
		s.pitches = append(s.pitches, pitch)
	}
	slices.Sort(s.pitches)
	for _, p := range s.parts {
		row := make([]int, len(s.pitches))
		for i, pitch := range s.pitches {
			row[i] = slices.Index(p.class.pitches, pitch)
		}
		s.rows = append(s.rows, row)
	}
	twins, count := comb.MaxTwins, 0
	for {
		count = 1
		for _, n := range most {
			count = min(count*(min(n, twins)+1), mostWays+1)
		}
		if count <= mostWays || twins == 1 {
			break
		}
		twins--
	}
	teeth := make([]int, len(s.pitches))
	var share func(row, sum int)
	share = func(row, sum int) {
		if sum > comb.Teeth {
			return
		}
		if row == len(teeth) {
			w := sharedWay{teeth: slices.Clone(teeth), sum: sum, of: make([]int, len(s.parts))}
			for t := range s.parts {
				w.of[t] = s.parts[t].way(teeth, s.rows[t])
			}
			s.ways = append(s.ways, w)
			return
		}
		for n := 0; n <= min(most[s.pitches[row]], twins); n++ {
			teeth[row] = n
			share(row+1, sum+n)
		}
	}
	share(0, 0)
	for _, n := range most {
		if n > twins {
			return false
		}
	}
	return true
}

// way gives the part's own way for teeth on the shared rows, which are its rows as given.
func (p *part) way(shared, rows []int) int {
	w := way{teeth: make([]int, len(p.class.pitches)), value: -1}
	apart, set := 0, uint64(0)
	for i, row := range rows {
		if row < 0 {
			continue
		}
		n := min(shared[i], p.class.most[row])
		w.teeth[row] = n
		w.sum += n
		apart += p.memory.alone[row][n]
		if n > 0 {
			set |= 1 << row
		}
	}
	name := w.name()
	i, ok := p.at[name]
	if !ok {
		i = len(p.ways)
		p.at[name] = i
		w.bound = min(p.class.groups.relaxed(set), apart)
		p.ways = append(p.ways, w)
	}
	return i
}

// share arranges each tune on the comb that was found; order says which tune of the caller's each is.
func (j *joiner) share(order []int, result *Joint) error {
	for pitch, n := range j.teeth {
		for range n {
			result.Teeth = append(result.Teeth, pitch)
		}
	}
	slices.Sort(result.Teeth)
	sum := 0.0
	for i, p := range j.tunes {
		own := *p
		own.Comb = Stock{Fixed: j.teeth}
		own.MinX, own.MaxX = j.best[i].x, j.best[i].x
		s, err := j.exact.Solve(j.ctx, &own)
		if err != nil {
			return err
		}
		result.Solutions[order[i]] = s
		sum += s.Objective
	}
	if math.Abs(sum-result.Objective) > 1e-6 { // what counting allows could not be shared round the circle, or a narrow sweep was bettered
		result.Objective = sum
		result.Bound = max(result.Bound, sum)
		result.Proven = result.Bound-sum < 1e-6
	}
	return nil
}
