package arrange

import (
	"cmp"
	"context"
	"crypto/sha256"
	"maps"
	"math/bits"
	"slices"

	"pinwright/arrange/unit"
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

// memory holds what is known of one class, by the teeth of its rows.
type memory struct {
	class                    *class
	quicks, glances, studies map[string]swept
	priced                   map[string]*priced
	alone                    [][]int // what each row brings alone, by teeth
	ways                     []way   // as first bounded
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

// key is a problem in one transposition.
type key struct {
	x       int
	classes [12]*class
	unmet   []int
	ceiling int // no arrangement in this key is worth more
}

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

// Narrow gives what Solve would for a problem in which some notes of an earlier one, free then, are locked, and nothing
// else differs: what bounded a key then bounds it now, so that most keys are not even stated again.
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

// chords gives the number of each note's chord.
func (p *Problem) chords() []int {
	chord := make([]int, len(p.Notes))
	for i, c := range Onsets(p.Notes) {
		for n := c.From; n < c.To; n++ {
			chord[n] = i
		}
	}
	return chord
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

// kind is notes that may be treated alike but for their time.
type kind struct {
	pitch unit.Pitch
	role  Role
	lock  Lock
	note  int // a locked note, else -1
	count int
}

// kinds gives the kinds of notes: the free ones by pitch and role, then each locked one, in order. Left out are those that
// the user left out.
func (p *Problem) kinds() []kind {
	var kinds []kind
	at := map[kind]int{}
	for i, n := range p.Notes {
		if l := p.Locks[i]; l.LeaveOut || l.Placed() {
			continue
		}
		k := kind{pitch: n.Pitch, role: n.Role, note: -1}
		i, ok := at[k]
		if !ok {
			i = len(kinds)
			at[k] = i
			kinds = append(kinds, k)
		}
		kinds[i].count++
	}
	for i, n := range p.Notes {
		if p.Locks[i].Placed() {
			kinds = append(kinds, kind{pitch: n.Pitch, role: n.Role, lock: p.Locks[i], note: i, count: 1})
		}
	}
	return kinds
}

// options gives where a note may be plucked in transposition x; rows are pitches as yet.
func (p *Problem) options(pitch unit.Pitch, role Role, lock Lock, x int) (all []option) {
	for _, o := range [...]int{0, 1, -1, 2, -2} {
		pitch := pitch + unit.Pitch(x+12*o)
		if p.Comb.most(pitch) == 0 || lock.Octaves != nil && *lock.Octaves != o || lock.Pitch != nil && *lock.Pitch != pitch {
			continue
		}
		all = append(all, option{row: int(pitch), octaves: o, value: hundredths(role, o)})
	}
	return all
}

// outline gives a key with its ceiling and the locks that it cannot keep, in order of the notes.
func (p *Problem) outline(x int, kinds []kind) *key {
	k := &key{x: x}
	var groups [12][]group
	needed := needs{of: map[unit.Pitch]int{}}
	for _, n := range kinds {
		options := p.options(n.pitch, n.role, n.lock, x)
		if n.note >= 0 && (len(options) != 1 || !needed.add(p.Comb, options[0].row, n.lock.Twin)) {
			k.unmet = append(k.unmet, n.note)
			continue
		}
		if len(options) > 0 {
			class := (n.pitch + unit.Pitch(x)).Class()
			groups[class] = append(groups[class], group{options: options, count: n.count, locked: n.note >= 0})
		}
	}
	var pitches [12][]unit.Pitch
	for i, g := range groups {
		pitches[i] = number(g)
	}
	k.ceiling = p.ceiling(groups, pitches)
	return k
}

// number turns the pitches that options name into rows, lowest first, and gives the pitches.
func number(groups []group) []unit.Pitch {
	var pitches []unit.Pitch
	for _, g := range groups {
		for _, o := range g.options {
			pitches = append(pitches, unit.Pitch(o.row))
		}
	}
	slices.Sort(pitches)
	pitches = slices.Compact(pitches)
	for _, g := range groups {
		for o := range g.options {
			g.options[o].row, _ = slices.BinarySearch(pitches, unit.Pitch(g.options[o].row))
		}
	}
	return pitches
}

// state fills in the classes of a key. Locks that it cannot keep are listed, in order of the notes.
func (p *Problem) state(k *key, chord []int) {
	k.unmet = nil
	var members [12][]candidate
	var groups [12][]group
	needed := needs{of: map[unit.Pitch]int{}}
	var alike [unit.HighestPitch + 1][4]int // one more than the index into the groups of its class, by pitch and role
	var sizes [12]int
	for _, n := range p.Notes {
		sizes[n.Pitch.Class()]++
	}
	for class := range members {
		members[class] = make([]candidate, 0, sizes[(class-k.x%12+12)%12])
	}
	for i, n := range p.Notes {
		lock := p.Locks[i]
		if lock.LeaveOut {
			continue
		}
		c := candidate{note: i, at: n.OnsetMs + lock.ShiftMs, chord: chord[i], locked: lock.Placed(), twin: lock.Twin}
		class := (n.Pitch + unit.Pitch(k.x)).Class()
		if c.locked {
			c.options = p.options(n.Pitch, n.Role, lock, k.x)
			if len(c.options) != 1 || !needed.add(p.Comb, c.options[0].row, c.twin) {
				k.unmet = append(k.unmet, i)
				continue
			}
			groups[class] = append(groups[class], group{options: c.options, count: 1, locked: true})
		} else {
			known := &alike[n.Pitch][n.Role.index()]
			if *known == 0 {
				*known = len(groups[class]) + 1
				groups[class] = append(groups[class], group{options: p.options(n.Pitch, n.Role, Lock{}, k.x)})
			}
			g := &groups[class][*known-1]
			g.count++
			c.options = g.options
		}
		if len(c.options) > 0 {
			members[class] = append(members[class], c)
		}
	}
	for i, m := range members {
		k.classes[i] = p.rows(m, groups[i])
	}
}

// rows states a class of notes whose options, those of the groups, name pitches.
func (p *Problem) rows(members []candidate, groups []group) *class {
	pitches := number(groups)
	repeat := make([]unit.Milliseconds, len(pitches))
	for i, pitch := range pitches {
		repeat[i] = p.RepeatMs[pitch]
	}
	return &class{pitches: pitches, repeat: repeat, notes: members, groups: groups, turn: p.RevolutionMs, limit: max(p.work()/4, 1)}
}

// needs counts the teeth that locked notes need.
type needs struct {
	of           map[unit.Pitch]int
	teeth, fresh int
}

// add sets aside the teeth that a locked note needs, and reports whether there are enough.
func (n *needs) add(s Stock, pitch, twin int) bool {
	p, want := unit.Pitch(pitch), max(twin, 1)
	if want > s.most(p) {
		return false
	}
	if have := n.of[p]; want > have && s.open() {
		teeth, fresh := n.teeth+want-have, n.fresh+s.fresh(p, want)-s.fresh(p, have)
		if teeth > s.Teeth || fresh > s.Retuned {
			return false
		}
		n.of[p], n.teeth, n.fresh = want, teeth, fresh
	}
	return true
}

// ceiling bounds the value of a key by leaving recovery aside: for each class the best value by number of different
// rows, or of those that are not given, put together by a knapsack.
func (p *Problem) ceiling(classes [12][]group, pitches [12][]unit.Pitch) int {
	const few = 6 // rows whose sets are all tried
	var tables [12]table
	most := cost{teeth: p.Comb.Teeth}
	if p.Comb.Fixed != nil {
		most = cost{fresh: p.Comb.Retuned}
	}
	for i, c := range classes {
		given := uint64(0)
		for row, pitch := range pitches[i] {
			if p.Comb.Fixed[pitch] > 0 {
				given |= 1 << row
			}
		}
		all := uint64(1)<<len(pitches[i]) - 1
		tables[i] = newTable(most)
		if len(pitches[i])-bits.OnesCount64(given) > few {
			tables[i].put(cost{}, 0)
			tables[i].put(cost{min(1, most.teeth), min(1, most.fresh)}, groupList(c).relaxed(all))
			continue
		}
		for set := all &^ given; ; set = (set - 1) &^ given & all {
			if n := bits.OnesCount64(set); p.Comb.Fixed != nil {
				tables[i].put(cost{fresh: n}, groupList(c).relaxed(set|given))
			} else {
				tables[i].put(cost{teeth: n}, groupList(c).relaxed(set))
			}
			if set == 0 {
				break
			}
		}
	}
	sums, _ := knapsack(tables[:], most)
	value, _ := sums.best()
	return value
}

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
		for teeth := range t.most.teeth + 1 {
			for fresh := range t.most.fresh + 1 {
				c := cost{teeth, fresh}
				v := t.values[t.index(c)]
				if v < 0 {
					continue
				}
				for a := range most.teeth - teeth + 1 {
					for b := range most.fresh - fresh + 1 {
						from := sum.values[sum.index(cost{a, b})]
						if to := next.index(cost{a + teeth, b + fresh}); from >= 0 && from+v > next.values[to] {
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

// byCost gives the greatest figure of each class's ways by what they cost.
func byCost(ways [12][]way, most cost, of func(*way) int) []table {
	tables := make([]table, len(ways))
	for i := range ways {
		dearest := cost{}
		for _, w := range ways[i] {
			dearest = cost{max(dearest.teeth, w.sum), max(dearest.fresh, w.fresh)}
		}
		tables[i] = newTable(cost{min(most.teeth, dearest.teeth), min(most.fresh, dearest.fresh)})
		for j := range ways[i] {
			w := &ways[i][j]
			tables[i].offer(cost{w.sum, w.fresh}, of(w), j)
		}
	}
	return tables
}

// prices gives prices that suit a way.
func (e *Exact) prices(c *class, m *memory, w *way) []int {
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
func (e *Exact) price(c *class, m *memory, ways []way, w *way) {
	prices := e.prices(c, m, w)
	p := m.priced[w.name()]
	if p.rows == nil {
		c.offer(&e.room, prices, p)
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

// below bounds the ways that have no more teeth on any row than one that is known.
func below(ways []way, w *way) {
	for i := range ways {
		v := &ways[i]
		if v.bound <= w.bound || v.sum > w.sum {
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
func (e *Exact) look(c *class, m *memory, w *way) {
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
		if !s.exact {
			prices := e.prices(c, m, w)
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

// remember gives what is known of a class; at first, its ways with a bound each: the lesser of the best without
// recovery and the sum of what each row could bring if it had all notes for itself.
func (e *Exact) remember(p *Problem, c *class) *memory {
	print := c.fingerprint(p.Comb)
	if m := e.made[print]; m != nil {
		e.spent += m.cost
		m.class.charged = false
		return m
	}
	c.prepare(p.Comb)
	m := &memory{class: c, quicks: map[string]swept{}, glances: map[string]swept{}, studies: map[string]swept{}, priced: map[string]*priced{}, apart: map[cost][]way{}}
	e.made[print] = m
	defer func() { e.spend(m.cost) }()
	if !p.Comb.open() {
		m.ways = []way{{teeth: c.most, bound: c.groups.relaxed(c.allRows()), value: -1}}
		return m
	}
	m.alone = make([][]int, len(c.pitches))
	count := 1
	for row := range c.pitches {
		m.alone[row] = c.alone(&e.room, row)
		m.cost += 8 * len(c.notes) * c.most[row]
		count = min(count*(c.most[row]-c.need[row]+1), fewWays+1)
	}
	if count > fewWays {
		m.ways = c.ladder(m.alone, p.Comb)
	} else {
		m.ways = c.sharings(m.alone, p.Comb, nil)
	}
	return m
}

// apart tells the ways of one cost apart; nil where they are too many.
func (e *Exact) apart(c *class, m *memory, stock Stock, at cost) []way {
	ways, ok := m.apart[at]
	if !ok {
		ways = c.sharings(m.alone, stock, &at)
		m.apart[at] = ways
		e.work += len(ways)
	}
	e.spent += len(ways)
	return ways
}

// alone gives bounds on what the notes that could stand on a row are worth there, by teeth.
func (c *class) alone(room *scratch, row int) []int {
	bounds := make([]int, c.most[row]+1)
	l := c.lane(row, 0)
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
			l.teeth[0] = n
			bounds[n] += l.sweep(room, none).bound
		}
	}
	return bounds
}

// sharings gives every way of sharing teeth among the rows, or every one of a given cost, nil where they are too many.
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
				share(row+1, cost{spent.teeth + n, spent.fresh + stock.fresh(c.pitches[row], n)}, with, apart+alone[row][n])
			}
		case only == nil || spent == *only:
			if bound := min(c.groups.relaxed(set), apart); bound >= 0 {
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

// assemble turns the best key into plucks on numbered teeth.
func (p *Problem) assemble(k *key, ways [12]way, bound int) *Solution {
	s := &Solution{Transpose: k.x, Unmet: k.unmet}
	type row struct {
		teeth  int
		plucks []Placed
		twins  []int
	}
	rows := map[unit.Pitch]*row{}
	if !p.Comb.open() {
		for pitch, n := range p.Comb.Fixed {
			rows[pitch] = &row{teeth: n}
		}
	}
	for i, c := range k.classes {
		for r, pitch := range c.pitches {
			if rows[pitch] == nil && ways[i].teeth[r] > 0 {
				rows[pitch] = &row{teeth: ways[i].teeth[r]}
			}
		}
		for n, o := range ways[i].choice {
			if o < 0 {
				continue
			}
			note := &c.notes[n]
			opt := note.options[o]
			at := p.Notes[note.note].OnsetMs + p.Locks[note.note].ShiftMs
			r := rows[c.pitches[opt.row]]
			r.plucks = append(r.plucks, Placed{Note: note.note, Pitch: c.pitches[opt.row], Octaves: opt.octaves, TimeMs: at,
				Value: float64(opt.value) / 100, Locked: note.locked})
			r.twins = append(r.twins, note.twin)
		}
	}
	total, value := 0, 0
	shared := map[unit.Pitch]*sharing{}
	pitches := make([]unit.Pitch, 0, len(rows))
	for pitch, r := range rows {
		pitches = append(pitches, pitch)
		total += r.teeth
		shared[pitch] = newSharing(r.plucks, r.twins, p.RevolutionMs, p.RepeatMs[pitch])
	}
	slices.Sort(pitches)
	for _, pitch := range slices.Sorted(maps.Keys(p.Comb.Fixed)) { // given teeth stay where there is room
		if keep := min(p.Comb.Fixed[pitch], p.Comb.Teeth-total); p.Comb.open() && keep > 0 {
			if rows[pitch] == nil {
				rows[pitch], shared[pitch] = &row{}, newSharing(nil, nil, p.RevolutionMs, p.RepeatMs[pitch])
				pitches = append(pitches, pitch)
			}
			if more := min(p.Comb.Fixed[pitch]-rows[pitch].teeth, p.Comb.Teeth-total); more > 0 {
				rows[pitch].teeth += more
				total += more
			}
		}
	}
	slices.Sort(pitches)
	if p.Comb.Fixed == nil {
		s.Spare = p.Comb.Teeth - total
		var most []int
		for _, pitch := range pitches {
			most = append(most, p.Comb.MaxTwins-rows[pitch].teeth)
		}
		for i, more := range lengthen(s.Spare, most, func(i, more int) unit.Milliseconds {
			return shared[pitches[i]].nearest(rows[pitches[i]].teeth + more)
		}) {
			rows[pitches[i]].teeth += more
			s.Spare -= more
		}
	}
	for _, pitch := range pitches {
		first := len(s.Teeth)
		r := rows[pitch]
		tooth := shared[pitch].among(r.teeth)
		for range r.teeth {
			s.Teeth = append(s.Teeth, pitch)
		}
		for i, placed := range r.plucks {
			if tooth[i] < 0 {
				continue
			}
			placed.Tooth = first + tooth[i] + 1
			s.Plucks = append(s.Plucks, placed)
			value += hundredths(p.Notes[placed.Note].Role, placed.Octaves)
		}
	}
	slices.SortFunc(s.Plucks, func(a, b Placed) int { return cmp.Compare(a.Note, b.Note) })
	s.Objective, s.Bound = float64(value)/100, float64(max(bound, value))/100
	s.Proven = value >= bound
	return s
}
