package arrange

import (
	"cmp"
	"context"
	"crypto/sha256"
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
	mostRemembered = 20_000 // classes
	mostShares     = 2000   // ways of sharing teeth among the rows of one class that are told apart
	mostSweeps     = 400    // ways that are looked at closely in one key
)

// memory holds what is known of one class, by the teeth of its rows.
type memory struct {
	glances, studies map[string]swept
	ways             []way // as first bounded
	cost             int   // of bounding them
	prices           []int // as in class
	priceWork        int
}

// way is one way of sharing teeth among the rows of a class.
type way struct {
	teeth  []int
	sum    int
	bound  int // hundredths; no arrangement of the class with these teeth is worth more
	value  int // that can be had, -1 while it has not been looked at
	known  bool
	choice []int8 // that has the value
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
	ceilings := make(map[int]int, len(keys))
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
	s.ceilings = ceilings
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
		if !p.Comb.has(pitch) || lock.Octaves != nil && *lock.Octaves != o || lock.Pitch != nil && *lock.Pitch != pitch {
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
	needed := map[unit.Pitch]int{}
	teeth := 0
	for _, n := range kinds {
		options := p.options(n.pitch, n.role, n.lock, x)
		if n.note >= 0 && (len(options) != 1 || !p.Comb.spend(options[0].row, n.lock.Twin, needed, &teeth)) {
			k.unmet = append(k.unmet, n.note)
			continue
		}
		if len(options) > 0 {
			class := (n.pitch + unit.Pitch(x)).Class()
			groups[class] = append(groups[class], group{options: options, count: n.count, locked: n.note >= 0})
		}
	}
	var relaxed [12]groupList
	var rows [12]int
	for i, g := range groups {
		relaxed[i] = g
		rows[i] = len(number(g))
	}
	k.ceiling = p.ceiling(relaxed, rows)
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
	needed := map[unit.Pitch]int{}
	teeth := 0
	alike := map[kind]int{} // index into the groups of its class
	for i, n := range p.Notes {
		lock := p.Locks[i]
		if lock.LeaveOut {
			continue
		}
		c := candidate{note: i, at: n.OnsetMs + lock.ShiftMs, chord: chord[i], locked: lock.Placed(), twin: lock.Twin}
		class := (n.Pitch + unit.Pitch(k.x)).Class()
		if c.locked {
			c.options = p.options(n.Pitch, n.Role, lock, k.x)
			if len(c.options) != 1 || !p.Comb.spend(c.options[0].row, c.twin, needed, &teeth) {
				k.unmet = append(k.unmet, i)
				continue
			}
			groups[class] = append(groups[class], group{options: c.options, count: 1, locked: true})
		} else {
			of := kind{pitch: n.Pitch, role: n.Role}
			at, ok := alike[of]
			if !ok {
				at = len(groups[class])
				alike[of] = at
				groups[class] = append(groups[class], group{options: p.options(n.Pitch, n.Role, Lock{}, k.x)})
			}
			g := &groups[class][at]
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

// rows builds a class from notes whose options, those of the groups, name pitches.
func (p *Problem) rows(members []candidate, groups []group) *class {
	pitches := number(groups)
	repeat := make([]unit.Milliseconds, len(pitches))
	for i, pitch := range pitches {
		repeat[i] = p.RepeatMs[pitch]
	}
	c := newClass(pitches, repeat, members, p.RevolutionMs)
	c.limit, c.groups = max(p.work()/4, 1), groups
	for row, pitch := range pitches {
		if p.Comb.Fixed != nil {
			c.most[row] = p.Comb.Fixed[pitch]
			c.need[row] = c.most[row]
		} else {
			c.most[row] = min(c.most[row], p.Comb.MaxTwins)
		}
	}
	return c
}

// has reports whether the comb has, or could have, a tooth of the pitch.
func (s Stock) has(p unit.Pitch) bool {
	if s.Fixed != nil {
		return s.Fixed[p] > 0
	}
	return p.Valid() && p >= s.Low && p <= s.High
}

// spend sets aside the teeth that a locked note needs, and reports whether there are enough.
func (s Stock) spend(pitch, twin int, needed map[unit.Pitch]int, teeth *int) bool {
	p, want := unit.Pitch(pitch), max(twin, 1)
	if s.Fixed != nil {
		return want <= s.Fixed[p]
	}
	more := max(want-needed[p], 0)
	if want > s.MaxTwins || *teeth+more > s.Teeth {
		return false
	}
	needed[p] += more
	*teeth += more
	return true
}

// ceiling bounds the value of a key by leaving recovery aside: for each class the best value by number of different
// rows, put together by a knapsack.
func (p *Problem) ceiling(classes [12]groupList, rows [12]int) int {
	const few = 6 // rows whose sets are all tried
	var tables [12][]int
	sum := 0
	for i, c := range classes {
		all := c.relaxed(1<<rows[i] - 1)
		sum += all
		if rows[i] > few {
			tables[i] = []int{0, all}
			continue
		}
		best := make([]int, rows[i]+1)
		for n := range best {
			best[n] = -1
		}
		for set := range uint64(1) << rows[i] {
			n := bits.OnesCount64(set)
			best[n] = max(best[n], c.relaxed(set))
		}
		tables[i] = best
	}
	if p.Comb.Fixed != nil {
		return sum
	}
	value, _ := knapsack(tables, p.Comb.Teeth)
	return value
}

// knapsack gives the greatest sum of one entry from each table whose indexes add up to at most teeth, and the indexes,
// the smallest where sums are equal. Entries of -1 cannot be taken; the sum is -1 where there is no way.
func knapsack(tables [12][]int, teeth int) (int, [12]int) {
	sum := make([]int, teeth+1) // by teeth spent at most
	var taken [12][]int
	for i, t := range tables {
		next := make([]int, teeth+1)
		taken[i] = make([]int, teeth+1)
		for n := range next {
			next[n] = -1
			for use := 0; use <= n && use < len(t); use++ {
				if t[use] >= 0 && sum[n-use] >= 0 && sum[n-use]+t[use] > next[n] {
					next[n], taken[i][n] = sum[n-use]+t[use], use
				}
			}
		}
		sum = next
	}
	var use [12]int
	left := teeth
	for left > 0 && sum[left-1] == sum[teeth] {
		left--
	}
	value := sum[teeth]
	for i := 11; i >= 0; i-- {
		use[i] = taken[i][left]
		left -= use[i]
	}
	return value, use
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
		ways[i] = slices.Clone(memories[i].ways)
	}
	if p.Comb.Fixed != nil {
		for i, c := range k.classes {
			w := ways[i][0]
			for !w.known {
				e.look(c, memories[i], &w)
			}
			value, bound, best[i] = value+w.value, bound+w.bound, w
		}
		return value, bound, best, nil
	}
	for range mostSweeps {
		if err := ctx.Err(); err != nil {
			return 0, 0, best, err
		}
		var bounds [12][]int
		var at [12][]int
		for i := range ways {
			bounds[i], at[i] = bySum(ways[i], p.Comb.Teeth, func(w *way) int { return w.bound })
		}
		sum, use := knapsack(bounds, p.Comb.Teeth)
		bound = sum
		if bound <= floor {
			return -1, bound, best, nil
		}
		known := true
		for i := range ways {
			if w := &ways[i][at[i][use[i]]]; !w.known {
				e.look(k.classes[i], memories[i], w)
				known = false
			}
		}
		if known {
			break
		}
	}
	var values [12][]int
	var at [12][]int
	for i := range ways {
		values[i], at[i] = bySum(ways[i], p.Comb.Teeth, func(w *way) int { return w.value })
	}
	value, use := knapsack(values, p.Comb.Teeth)
	for i := range ways {
		best[i] = ways[i][at[i][use[i]]]
	}
	return value, bound, best, nil
}

// bySum gives the greatest figure of the ways for each number of teeth, and which way has it.
func bySum(ways []way, teeth int, of func(*way) int) (best, at []int) {
	for i := range ways {
		w := &ways[i]
		if w.sum > teeth {
			continue
		}
		for len(best) <= w.sum {
			best, at = append(best, -1), append(at, -1)
		}
		if v := of(w); v > best[w.sum] {
			best[w.sum], at[w.sum] = v, i
		}
	}
	return best, at
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
	name := make([]byte, len(w.teeth))
	for i, n := range w.teeth {
		name[i] = byte(n)
	}
	glance, ok := m.glances[string(name)]
	if !ok {
		had := c.priceWork
		glance = c.glance(&e.room, w.teeth)
		e.work += glance.work + c.priceWork - had
		m.glances[string(name)] = glance
		m.prices, m.priceWork = c.prices, c.priceWork
	}
	s := glance
	if w.value < 0 {
		e.spent += glance.work
		if !glance.exact && !c.charged {
			e.spent, c.charged = e.spent+c.priceWork, true
		}
	} else if !glance.final && !glance.exact {
		if s, ok = m.studies[string(name)]; !ok {
			s = c.study(&e.room, w.teeth, glance)
			e.work += s.work - glance.work
			m.studies[string(name)] = s
		}
		e.spent += s.work - glance.work
	}
	w.value, w.choice, w.bound, w.known = s.value, s.choice, min(w.bound, s.bound), s.final || s.exact
}

// remember gives what is known of a class; at first, its ways with a bound each: the lesser of the best without
// recovery and the sum of what each row could bring if it had all notes for itself.
func (e *Exact) remember(p *Problem, c *class) *memory {
	print := c.fingerprint(p.Comb)
	if m := e.made[print]; m != nil {
		e.spent += m.cost
		c.prices, c.priceWork = m.prices, m.priceWork
		return m
	}
	m := &memory{glances: map[string]swept{}, studies: map[string]swept{}}
	e.made[print] = m
	defer func() { e.spend(m.cost) }()
	if p.Comb.Fixed != nil {
		m.ways = []way{{teeth: c.most, bound: c.groups.relaxed(c.allRows()), value: -1}}
		return m
	}
	alone := make([][]int, len(c.pitches)) // what each row brings alone, by teeth
	count := 1
	for row := range c.pitches {
		alone[row] = c.alone(&e.room, row)
		m.cost += 8 * len(c.notes) * c.most[row]
		count = min(count*(c.most[row]-c.need[row]+1), mostShares+1)
	}
	if count > mostShares {
		m.ways = c.ladder(alone, p.Comb.Teeth)
	} else {
		m.ways = c.allWays(alone, p.Comb.Teeth)
	}
	return m
}

// alone gives bounds on what the notes that could stand on a row are worth there, by teeth.
func (c *class) alone(room *scratch, row int) []int {
	bounds := make([]int, c.most[row]+1)
	l := c.lane(row, 0)
	none := make([]int, len(c.notes))
	for n := 1; n < len(bounds); n++ {
		if c.locks() { // locked notes may stand nearer than free ones
			bounds[n] = l.price(none)
			continue
		}
		l.teeth[0] = n
		bounds[n] = l.sweep(room, none).bound
	}
	return bounds
}

// allWays gives every way of sharing at most teeth among the rows.
func (c *class) allWays(alone [][]int, most int) []way {
	var ways []way
	teeth := slices.Clone(c.need)
	for {
		sum, set, apart := 0, uint64(0), 0
		for row, n := range teeth {
			sum += n
			apart += alone[row][n]
			if n > 0 {
				set |= 1 << row
			}
		}
		if sum <= most {
			if bound := min(c.groups.relaxed(set), apart); bound >= 0 {
				ways = append(ways, way{teeth: slices.Clone(teeth), sum: sum, bound: bound, value: -1})
			}
		}
		row := 0
		for ; row < len(teeth); row++ {
			if teeth[row] < c.most[row] {
				teeth[row]++
				break
			}
			teeth[row] = c.need[row]
		}
		if row == len(teeth) {
			return ways
		}
	}
}

// ladder gives one way for each number of teeth where there are too many to tell apart: teeth are added where a row
// alone gains most. Its bound holds for every way with as many teeth.
func (c *class) ladder(alone [][]int, most int) []way {
	teeth := slices.Clone(c.need)
	all := c.groups.relaxed(c.allRows())
	sum, apart := 0, 0
	for row, n := range teeth {
		sum += n
		apart += alone[row][n]
	}
	var ways []way
	for ; sum <= most; sum++ {
		ways = append(ways, way{teeth: slices.Clone(teeth), sum: sum, bound: min(all, apart), value: -1})
		gain, at := -1, -1
		for row, n := range teeth {
			if n < c.most[row] && alone[row][n+1]-alone[row][n] > gain {
				gain, at = alone[row][n+1]-alone[row][n], row
			}
		}
		if at < 0 {
			break
		}
		teeth[at]++
		apart += gain
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
	for pitch, n := range p.Comb.Fixed {
		rows[pitch] = &row{teeth: n}
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
	if p.Comb.Fixed == nil {
		for ; total < p.Comb.Teeth; total++ {
			best, gain := unit.Pitch(-1), unit.Milliseconds(0)
			for _, pitch := range pitches {
				r := rows[pitch]
				if r.teeth >= p.Comb.MaxTwins {
					continue
				}
				if more := shared[pitch].nearest(r.teeth+1) - shared[pitch].nearest(r.teeth); more > gain {
					best, gain = pitch, more
				}
			}
			if best < 0 {
				break
			}
			rows[best].teeth++
		}
		s.Spare = p.Comb.Teeth - total
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
