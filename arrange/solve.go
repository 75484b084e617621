package arrange

import (
	"cmp"
	"context"
	"slices"

	"pinwright/arrange/unit"
)

// Exact solves by classes, sweeps and a knapsack, as the package documentation says. It remembers the sweeps that it
// made, so that a problem that differs in one note costs a fraction of the first; what it remembers never changes an
// answer. It must not be shared between goroutines.
type Exact struct {
	made map[string]*memory
	work int
	room scratch
}

// NewExact gives a solver that remembers nothing yet.
func NewExact() *Exact { return &Exact{made: map[string]*memory{}} }

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
}

// way is one way of sharing teeth among the rows of a class.
type way struct {
	teeth []int
	sum   int
	bound int // hundredths; no arrangement of the class with these teeth is worth more
	value int // that can be had, -1 while it has not been looked at
	known bool
}

// key is a problem in one transposition.
type key struct {
	x       int
	classes [12]*class
	unmet   []int
	ceiling int  // no arrangement in this key is worth more
	later   bool // reports whether it has still to be stated
}

// Solve gives the best arrangement of p. It fails only where ctx ends.
func (e *Exact) Solve(ctx context.Context, p *Problem) (*Solution, error) {
	chord := p.chords()
	var keys []*key
	fewest := len(p.Notes) + 1
	for x := p.MinX; x <= p.MaxX; x++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		k := p.inKey(x, chord)
		e.work += 40 * len(p.Notes)
		if len(k.unmet) < fewest {
			fewest, keys = len(k.unmet), keys[:0]
		}
		if len(k.unmet) == fewest {
			k.ceiling = p.ceiling(k)
			keys = append(keys, k)
		}
	}
	return e.best(ctx, p, keys, chord)
}

// Narrow gives what Solve would for a problem in which some notes of an earlier one, free then, are locked, and nothing
// else differs: what bounded a key then bounds it now, so that most keys are not even stated again.
func (e *Exact) Narrow(ctx context.Context, p *Problem, earlier *Solution) (*Solution, error) {
	var keys []*key
	for x, ceiling := range earlier.ceilings {
		keys = append(keys, &key{x: x, ceiling: ceiling, later: true})
	}
	s, err := e.best(ctx, p, keys, p.chords())
	if err == nil && (s == nil || len(earlier.Unmet) > 0) {
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

// best gives the best arrangement in any of the keys, or nil where locks leave none that keeps them all though the keys
// are stated only now.
func (e *Exact) best(ctx context.Context, p *Problem, keys []*key, chord []int) (*Solution, error) {
	if len(e.made) > mostRemembered {
		clear(e.made)
	}
	slices.SortFunc(keys, func(a, b *key) int { return cmp.Or(cmp.Compare(b.ceiling, a.ceiling), nearer(a, b)) })
	var best *key
	var shares [12][]int
	value, bound := -1, -1
	ceilings := make(map[int]int, len(keys))
	for _, k := range keys {
		ceilings[k.x] = k.ceiling
		if best != nil && (k.ceiling < value || k.ceiling == value && nearer(k, best) > 0) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if k.later {
			stated := p.inKey(k.x, chord)
			stated.ceiling = k.ceiling
			if k = stated; len(k.unmet) > 0 {
				continue
			}
		}
		floor := value
		if best != nil && nearer(k, best) < 0 {
			floor-- // a tie would win
		}
		v, b, s, err := e.solveKey(ctx, p, k, floor)
		if err != nil {
			return nil, err
		}
		ceilings[k.x] = min(k.ceiling, b)
		bound = max(bound, b)
		if best == nil || v > value || v == value && nearer(k, best) < 0 {
			best, value, shares = k, v, s
		}
	}
	if best == nil {
		return nil, nil
	}
	s := p.assemble(&e.room, best, shares, bound)
	s.ceilings = ceilings
	return s, nil
}

func abs(v int) int { return max(v, -v) }

// inKey sets the notes' options in transposition x. Locks that this key cannot keep are listed, in order of the notes.
func (p *Problem) inKey(x int, chord []int) *key {
	k := &key{x: x}
	var members [12][]candidate
	needed := map[unit.Pitch]int{}
	teeth := 0
	for i, n := range p.Notes {
		lock := p.Locks[i]
		if lock.LeaveOut {
			continue
		}
		c := candidate{note: i, at: n.OnsetMs + lock.ShiftMs, chord: chord[i], locked: lock.Placed(), twin: lock.Twin}
		for _, o := range [...]int{0, 1, -1, 2, -2} {
			pitch := n.Pitch + unit.Pitch(x+12*o)
			if !p.Comb.has(pitch) || lock.Octaves != nil && *lock.Octaves != o || lock.Pitch != nil && *lock.Pitch != pitch {
				continue
			}
			c.options = append(c.options, option{row: int(pitch), octaves: o, value: hundredths(n.Role, o)})
		}
		if c.locked {
			if len(c.options) != 1 || !p.Comb.spend(c.options[0].row, c.twin, needed, &teeth) {
				k.unmet = append(k.unmet, i)
				continue
			}
		}
		if len(c.options) > 0 {
			class := (n.Pitch + unit.Pitch(x)).Class()
			members[class] = append(members[class], c)
		}
	}
	for i, m := range members {
		k.classes[i] = p.rows(m)
	}
	return k
}

// rows builds a class from notes whose options name pitches, and turns those into rows, lowest first.
func (p *Problem) rows(members []candidate) *class {
	var pitches []unit.Pitch
	for _, m := range members {
		for _, o := range m.options {
			pitches = append(pitches, unit.Pitch(o.row))
		}
	}
	slices.Sort(pitches)
	pitches = slices.Compact(pitches)
	repeat := make([]unit.Milliseconds, len(pitches))
	for i, pitch := range pitches {
		repeat[i] = p.RepeatMs[pitch]
	}
	for _, m := range members {
		for o := range m.options {
			m.options[o].row, _ = slices.BinarySearch(pitches, unit.Pitch(m.options[o].row))
		}
	}
	c := newClass(pitches, repeat, members, p.RevolutionMs)
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
func (p *Problem) ceiling(k *key) int {
	const few = 6 // rows whose sets are all tried
	if p.Comb.Fixed != nil {
		sum := 0
		for _, c := range k.classes {
			sum += c.relaxed(c.allRows())
		}
		return sum
	}
	var tables [12][]int
	for i, c := range k.classes {
		if len(c.pitches) > few {
			all := c.relaxed(c.allRows())
			tables[i] = []int{0, all}
			continue
		}
		best := make([]int, len(c.pitches)+1)
		for n := range best {
			best[n] = -1
		}
		for set := uint64(0); set <= c.allRows(); set++ {
			n := ones(set)
			best[n] = max(best[n], c.relaxed(set))
		}
		tables[i] = best
	}
	value, _ := knapsack(tables, p.Comb.Teeth)
	return value
}

func ones(set uint64) (n int) {
	for ; set != 0; set &= set - 1 {
		n++
	}
	return n
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

// solveKey gives the best value of a key, a bound on it, and the teeth of each class's rows. Where the key cannot be
// worth more than floor it stops, with the value -1.
//
// Every way of sharing teeth among the rows of a class has a bound; the knapsack is solved with the bounds, the ways
// that it took are looked at closely, which lowers their bounds, and so on until it takes only ways that are known: no
// other can then do better.
func (e *Exact) solveKey(ctx context.Context, p *Problem, k *key, floor int) (value, bound int, shares [12][]int, err error) {
	e.work += 40 * len(p.Notes)
	var memories [12]*memory
	var ways [12][]way
	for i, c := range k.classes {
		if err := ctx.Err(); err != nil {
			return 0, 0, shares, err
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
			value, bound, shares[i] = value+w.value, bound+w.bound, w.teeth
		}
		return value, bound, shares, nil
	}
	for range mostSweeps {
		if err := ctx.Err(); err != nil {
			return 0, 0, shares, err
		}
		var bounds [12][]int
		var at [12][]int
		for i := range ways {
			bounds[i], at[i] = bySum(ways[i], p.Comb.Teeth, func(w *way) int { return w.bound })
		}
		sum, use := knapsack(bounds, p.Comb.Teeth)
		bound = sum
		if bound <= floor {
			return -1, bound, shares, nil
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
		shares[i] = ways[i][at[i][use[i]]].teeth
	}
	return value, bound, shares, nil
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

// look finds out more of a way: at first by a glance, then by a study.
func (e *Exact) look(c *class, m *memory, w *way) {
	name := make([]byte, len(w.teeth))
	for i, n := range w.teeth {
		name[i] = byte(n)
	}
	glance, ok := m.glances[string(name)]
	if !ok {
		glance = c.glance(&e.room, w.teeth)
		e.work += glance.work
		m.glances[string(name)] = glance
	}
	s := glance
	if w.value >= 0 && !glance.final && !glance.exact {
		if s, ok = m.studies[string(name)]; !ok {
			s = c.study(&e.room, w.teeth, glance)
			e.work += s.work - glance.work
			m.studies[string(name)] = s
		}
	}
	w.value, w.bound, w.known = s.value, min(w.bound, s.bound), s.final || s.exact
}

// remember gives what is known of a class; at first, its ways with a bound each: the lesser of the best without
// recovery and the sum of what each row could bring if it had all notes for itself.
func (e *Exact) remember(p *Problem, c *class) *memory {
	print := c.fingerprint(p.Comb)
	if m := e.made[print]; m != nil {
		return m
	}
	m := &memory{glances: map[string]swept{}, studies: map[string]swept{}}
	e.made[print] = m
	if p.Comb.Fixed != nil {
		m.ways = []way{{teeth: c.most, bound: c.relaxed(c.allRows()), value: -1}}
		return m
	}
	alone := make([][]int, len(c.pitches)) // what each row brings alone, by teeth
	count := 1
	for row := range c.pitches {
		alone[row] = c.alone(&e.room, row)
		e.work += 8 * len(c.notes) * c.most[row]
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
			if bound := min(c.relaxed(set), apart); bound >= 0 {
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
	all := c.relaxed(c.allRows())
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
func (p *Problem) assemble(room *scratch, k *key, shares [12][]int, bound int) *Solution {
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
		choice := c.study(room, shares[i], c.glance(room, shares[i])).choice
		for r, pitch := range c.pitches {
			if rows[pitch] == nil && shares[i][r] > 0 {
				rows[pitch] = &row{teeth: shares[i][r]}
			}
		}
		for n, o := range choice {
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
