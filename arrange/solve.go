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
	for x := p.MinX; x <= p.MaxX; x++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		k := p.outline(x, kinds)
		e.spend(40 * len(kinds))
		fewest = min(fewest, len(k.unmet))
		keys = append(keys, k)
	}
	keys = slices.DeleteFunc(keys, func(k *key) bool { return len(k.unmet) > fewest })
	return e.best(ctx, p, keys)
}

// spend counts work that is done now.
func (e *Exact) spend(work int) {
	e.work += work
	e.spent += work
}

// Narrow gives what Solve would for a problem that allows less than an earlier one and nothing more: notes that were free then are
// locked, or the comb may have fewer teeth. What bounded a key then bounds it now, so that most keys are not even stated again.
func (e *Exact) Narrow(ctx context.Context, p *Problem, earlier *Solution) (*Solution, error) {
	var keys []*key
	for x, ceiling := range earlier.ceilings {
		keys = append(keys, &key{x: x, ceiling: ceiling})
	}
	if !earlier.Proven {
		return e.Solve(ctx, p)
	}
	e.spent, e.most = 0, p.work()
	s, err := e.best(ctx, p, keys)
	if err == nil && (s == nil || !s.Proven || len(earlier.Unmet) > 0) {
		return e.Solve(ctx, p)
	}
	return s, err
}

// nearer orders keys by what breaks ties: the smaller change of key, then upwards.
func nearer(a, b *key) int {
	return cmp.Or(cmp.Compare(abs(a.x), abs(b.x)), cmp.Compare(b.x, a.x))
}

// best gives the best arrangement in any of the keys, or nil where no key that was looked at keeps all locks that an earlier one did.
func (e *Exact) best(ctx context.Context, p *Problem, keys []*key) (*Solution, error) {
	if len(e.made) > mostRemembered {
		clear(e.made)
	}
	slices.SortFunc(keys, func(a, b *key) int { return cmp.Or(cmp.Compare(b.ceiling, a.ceiling), nearer(a, b)) })
	var best *key
	var ways [12]way
	value, bound := -1, -1
	ceilings, stated := make(map[int]int, len(keys)), 0
	chord := p.chords()
	for _, k := range keys {
		ceilings[k.x] = k.ceiling
		if best != nil && (k.ceiling < value || k.ceiling == value && nearer(k, best) > 0) {
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
		stated++
		p.state(k, chord)
		if len(k.unmet) > unmet {
			continue
		}
		floor := value
		if best != nil && nearer(k, best) < 0 {
			floor-- // a tie would win
		}
		e.most = e.spent + (p.work()-e.spent)/2 // a key that defeats proof leaves something to the others
		v, b, w, err := e.solveKey(ctx, p, k, floor)
		if err != nil {
			return nil, err
		}
		ceilings[k.x] = min(k.ceiling, b)
		bound = max(bound, b)
		if best == nil || v > value || v == value && nearer(k, best) < 0 {
			best, value, ways = k, v, w
		}
	}
	if best == nil {
		return nil, nil
	}
	s := p.assemble(best, ways, bound)
	s.ceilings, s.Work, s.Keys = ceilings, e.spent, stated
	return s, nil
}

func abs(v int) int { return max(v, -v) }

// solveKey gives the best value of a key, a bound on it, and the way of each class that has it. Where the key cannot be
// worth more than floor it stops, with the value -1.
//
// Every way of sharing teeth among the rows of a class has a bound; the knapsack is solved with the bounds, the ways
// that it took are looked at closely, which lowers their bounds, and so on until it takes only ways that are known: no
// other can then do better.
func (e *Exact) solveKey(ctx context.Context, p *Problem, k *key, floor int) (value, bound int, best [12]way, err error) {
	e.spend(40 * len(p.Notes))
	var memories [12]*memory
	var ways [12][]way
	for i, c := range k.classes {
		if err := ctx.Err(); err != nil {
			return 0, 0, best, err
		}
		memories[i] = e.remember(p, c)
		k.classes[i] = memories[i].class
		ways[i] = slices.Clone(memories[i].ways)
	}
	if !p.Comb.open() {
		for i, c := range k.classes {
			w := ways[i][0]
			for !w.known {
				e.look(c, memories[i], &w)
			}
			value, bound, best[i] = value+w.value, bound+w.bound, w
		}
		return value, bound, best, nil
	}
	most := cost{p.Comb.Teeth, p.Comb.Retuned}
	var looked [12]int
	for range mostSweeps {
		if err := ctx.Err(); err != nil {
			return 0, 0, best, err
		}
		tables := byCost(ways, most, func(w *way) int { return w.bound })
		sums, taken := knapsack(tables, most)
		sum, at := sums.best()
		bound = sum
		if bound <= floor {
			return -1, bound, best, nil
		}
		known := true
		use := trace(tables, sums, taken, at)
		for i := range ways {
			w := &ways[i][use[i]]
			if w.known {
				continue
			}
			known = false
			if w.stands {
				if apart := e.apart(k.classes[i], memories[i], p.Comb, cost{w.sum, w.fresh}); len(apart) > 0 {
					w.bound, w.value = -1, -1
					ways[i] = append(ways[i], apart...)
					continue
				}
			}
			if looked[i] >= fewLooks && !w.priced && !w.stands && e.spent < e.most {
				before := w.bound
				e.price(k.classes[i], memories[i], ways[i], w)
				if w.bound < before {
					continue // another may be taken now
				}
			}
			e.look(k.classes[i], memories[i], w)
			looked[i]++
			if w.known {
				below(ways[i], w)
			}
		}
		if known {
			break
		}
	}
	tables := byCost(ways, most, func(w *way) int { return w.value })
	sums, taken := knapsack(tables, most)
	value, at := sums.best()
	use := trace(tables, sums, taken, at)
	for i := range ways {
		best[i] = ways[i][use[i]]
	}
	return value, bound, best, nil
}
