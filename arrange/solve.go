package arrange

import (
	"cmp"
	"context"
	"crypto/sha256"
	"slices"
)

// Exact solves by classes, sweeps and a knapsack, as the package documentation says. It remembers the sweeps that it
// made, so that a problem that differs in one note costs a fraction of the first; what it remembers never changes an
// answer. It must not be shared between goroutines.
type Exact struct {
	made  map[[sha256.Size]byte]*memory
	work  int
	spent int // on the problem in hand, as if nothing had been remembered
	most  int // that may be spent on it
	room  scratch
	last  *outlook // of the problem solved last, of which the next one may have classes
}

// NewExact gives a solver that remembers nothing yet.
func NewExact() *Exact { return &Exact{made: map[[sha256.Size]byte]*memory{}} }

// Work gives what the solver has spent, in comparisons of states and the like: the same for the same calls on any machine,
// so that it can be used to share out time without making results depend on it.
func (e *Exact) Work() int { return e.work }

const (
	mostRemembered = 5000   // classes
	fewWays        = 500    // of sharing teeth among the rows of one class that are told apart at once
	mostWays       = 20_000 // at one cost
	mostTeeth      = 256    // of a comb
	mostSweeps     = 400    // ways that are looked at closely in one key
	fewLooks       = 2      // ways of a class that are looked at before prices are made for the next
)

// Solve gives the best arrangement of p. It fails only where ctx ends.
func (e *Exact) Solve(ctx context.Context, p *Problem) (*Solution, error) {
	kinds := p.kinds()
	var keys []*key
	fewest := len(p.Notes)
	e.spent, e.most = 0, p.work()
	problem := &posed{p, p.chords()}
	changed := e.last.changed(problem)
	for x := p.MinX; x <= p.MaxX; x++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		k := p.outline(x, kinds, e.last.at(x).outline, moved(changed, x))
		e.spend(40 * len(kinds))
		fewest = min(fewest, len(k.unmet))
		keys = append(keys, k)
	}
	keys = slices.DeleteFunc(keys, func(k *key) bool { return len(k.unmet) > fewest })
	s, err := e.best(ctx, problem, keys, changed)
	if s != nil {
		e.last = s.outlook
	}
	return s, err
}

// spend counts work that is done now.
func (e *Exact) spend(work int) {
	e.work += work
	e.spent += work
}

// nearer orders keys by what breaks ties: the smaller change of key, then upwards.
func nearer(a, b *key) int {
	return cmp.Or(cmp.Compare(abs(a.x), abs(b.x)), cmp.Compare(b.x, a.x))
}

// best gives the best arrangement in any of the keys, or nil where no key that was looked at keeps all locks that an earlier one did. Only the
// pitch classes of a set, as written, differ from those of the problem solved last.
func (e *Exact) best(ctx context.Context, p *posed, keys []*key, changed uint16) (*Solution, error) {
	e.forget()
	slices.SortFunc(keys, func(a, b *key) int { return cmp.Or(cmp.Compare(b.ceiling, a.ceiling), nearer(a, b)) })
	known := &outlook{problem: p, keys: make([]*prospect, len(keys))}
	var best *search
	bound := -1
	for i, k := range keys {
		at := &prospect{x: k.x, problem: p, ceiling: k.ceiling, outline: k}
		known.keys[i] = at
		floor := best.floor(k)
		if best != nil && k.ceiling <= floor {
			continue
		}
		if best != nil && e.spent >= p.work() {
			bound = max(bound, k.ceiling)
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		unmet := len(k.unmet)
		before, set := e.last.at(k.x).search, moved(changed, k.x)
		if before == nil || len(before.key.unmet)+unmet > 0 {
			set = allClasses
		}
		p.state(k, p.chord, set)
		if len(k.unmet) > unmet {
			continue
		}
		e.most = e.spent + (p.work()-e.spent)/2 // a key that defeats proof leaves something to the others
		s := e.begin(p.Problem, k, before)
		if err := e.pursue(ctx, p.Problem, s, floor); err != nil {
			return nil, err
		}
		at.search, at.ceiling = s, min(k.ceiling, s.bound)
		bound = max(bound, s.bound)
		if best == nil || s.value > floor {
			best = s
		}
	}
	if best == nil {
		return nil, nil
	}
	s := p.assemble(best.key, best.best, bound)
	s.outlook, s.Work = known, e.spent
	known.fresh = e.spent
	return s, nil
}

// forget makes room where too much is remembered.
func (e *Exact) forget() {
	if len(e.made) > mostRemembered {
		clear(e.made)
	}
}

func abs(v int) int { return max(v, -v) }

// search looks for the best ways of the classes of one key. It can be left where the key is known not to be worth enough, and taken up
// again.
type search struct {
	key      *key
	memories [12]*memory
	ways     [12][]way
	shared   uint16    // classes whose ways are remembered, or another search's as well, a bit each: they are copied before they are changed
	tables   [12]table // the bounds of the ways by cost
	fresh    uint16    // classes whose tables hold what the ways do
	looked   [12]int   // ways that were looked at
	rounds   int
	bound    int                // no arrangement in the key is worth more
	value    int                // of the best that was found, -1 while the search is not over
	best     [12]way            // that have it
	known    [12]map[string]int // bounds of the ways by their names, for problems that differ little
	knownAt  [12]int            // rounds that had been made then
}

// floor gives what a key must be worth more than to take the place of the best that was found: as much where the tie goes to it.
func (s *search) floor(k *key) int {
	switch {
	case s == nil:
		return -1
	case nearer(k, s.key) < 0:
		return s.value - 1
	}
	return s.value
}

// begin starts the search of a key that has been stated. Classes that have not been are as in the search of another problem before.
func (e *Exact) begin(p *Problem, k *key, before *search) *search {
	e.spend(40 * len(p.Notes))
	s := &search{key: k, value: -1, shared: allClasses}
	for i, c := range k.classes {
		if c == nil {
			s.memories[i], k.classes[i] = before.memories[i], before.key.classes[i]
			e.recall(s.memories[i])
		} else {
			s.memories[i] = e.remember(p, c)
			k.classes[i] = s.memories[i].as(c)
		}
		s.ways[i] = s.memories[i].ways
		if p.Comb.open() {
			s.tables[i] = s.memories[i].first(cost{p.Comb.Teeth, p.Comb.Retuned})
			s.fresh |= 1 << i
		}
	}
	return s
}

// own copies the ways of a class before they are changed, if they are another's as well.
func (s *search) own(i int) {
	if s.shared>>i&1 == 1 {
		s.ways[i] = slices.Clone(s.ways[i])
		s.shared &^= 1 << i
	}
}

// pursue searches on until it has the best value of the key, and the way of each class that has it; or until the key cannot be
// worth more than floor. Neither where it stops and is taken up again nor what bounds it starts with changes what it finds.
//
// Every way of sharing teeth among the rows of a class has a bound; the knapsack is solved with the bounds, the ways
// that it took are looked at closely, which lowers their bounds, and so on until it takes only ways that are known: no
// other can then do better. Then all others that might do as well with as few teeth are looked at, so that which of equals is taken
// depends on what they are: the later classes have as few teeth as can be, and of the ways of a class that cost as much the first in order
// of their teeth is taken.
func (e *Exact) pursue(ctx context.Context, p *Problem, s *search, floor int) error {
	return e.search(ctx, p, s, floor, true)
}

// search is pursue, or where it is not to be whole, as much of it as shows what the key is worth.
func (e *Exact) search(ctx context.Context, p *Problem, s *search, floor int, whole bool) error {
	if s.value >= 0 {
		return nil
	}
	if !p.Comb.open() {
		return e.pursueGiven(ctx, s)
	}
	most := cost{p.Comb.Teeth, p.Comb.Retuned}
	for ; s.rounds < mostSweeps; s.rounds++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		tables := s.byCost(most)
		sums, taken := knapsack(tables, most)
		sum, at := sums.best()
		if s.bound = sum; sum <= floor {
			return nil
		}
		if !e.closer(p, s, trace(tables, sums, taken, at)) {
			continue
		}
		if !whole {
			return nil
		}
		if !e.ties(p, s, tables, sum, at) {
			break
		}
	}
	var tables [12]table
	for i, ways := range s.ways {
		tables[i] = byCost(ways, most, func(w *way) int { return w.value })
	}
	sums, taken := knapsack(tables[:], most)
	value, at := sums.best()
	use := trace(tables[:], sums, taken, at)
	for i := range s.ways {
		s.best[i] = s.ways[i][use[i]]
	}
	s.value = value
	return nil
}

// byCost gives the bounds of each class's ways by what they cost.
func (s *search) byCost(most cost) []table {
	for i, ways := range s.ways {
		if s.fresh>>i&1 == 0 {
			s.tables[i] = byCost(ways, most, func(w *way) int { return w.bound })
		}
	}
	s.fresh = allClasses
	return s.tables[:]
}

// ties looks more closely at all ways that might be part of a sum at a cost, and reports whether there were any that were not known.
func (e *Exact) ties(p *Problem, s *search, tables []table, sum int, at cost) (any bool) {
	n := len(tables)
	after := make([]table, n+1) // sums of the tables from each on
	after[n] = together(nil, at, nil)
	for i := n - 1; i > 0; i-- {
		after[i] = both(after[i+1], tables[i], at)
	}
	before := together(nil, at, nil)
	for i := range tables {
		others := both(before, after[i+1], at)
		for j := len(s.ways[i]) - 1; j >= 0; j-- {
			w := &s.ways[i][j]
			if w.known || w.sum > at.teeth || w.fresh > at.fresh {
				continue
			}
			if rest := others.values[others.index(cost{at.teeth - w.sum, at.fresh - w.fresh})]; rest >= 0 && w.bound >= 0 && rest+w.bound >= sum {
				e.nearer(p, s, i, j)
				any = true
			}
		}
		before = both(before, tables[i], at)
	}
	return any
}

// pursueGiven finds the best of a given comb, of which each class has one way.
func (e *Exact) pursueGiven(ctx context.Context, s *search) error {
	value, bound := 0, 0
	for i := range s.ways {
		if err := ctx.Err(); err != nil {
			return err
		}
		s.own(i)
		w := &s.ways[i][0]
		for !w.known {
			e.look(s.memories[i], w)
		}
		value, bound, s.best[i] = value+w.value, bound+w.bound, *w
	}
	s.value, s.bound = value, bound
	return nil
}

// closer looks more closely at the way that each class is to use, and reports whether all of them were known.
func (e *Exact) closer(p *Problem, s *search, use []int) (known bool) {
	known = true
	for i, ways := range s.ways {
		if !ways[use[i]].known {
			e.nearer(p, s, i, use[i])
			known = false
		}
	}
	return known
}

// nearer looks more closely at way j of class i.
func (e *Exact) nearer(p *Problem, s *search, i, j int) {
	s.own(i)
	s.fresh &^= 1 << i
	m, ways := s.memories[i], s.ways[i]
	w := &ways[j]
	if w.stands {
		if apart := e.apart(m, p.Comb, cost{w.sum, w.fresh}); len(apart) > 0 {
			w.bound, w.value = -1, -1
			s.ways[i] = append(ways, apart...)
			return
		}
	}
	if s.looked[i] >= fewLooks && !w.priced && !w.stands && e.spent < e.most {
		before := w.bound
		e.price(m, ways, w)
		if w.bound < before {
			return // another may be taken now
		}
	}
	e.look(m, w)
	s.looked[i]++
	if w.known {
		below(ways, w)
	}
}
