package arrange

import (
	"cmp"
	"context"
	"slices"

	"pinwright/arrange/unit"
)

// Exact solves by classes, sweeps and a knapsack, as the package documentation says. It remembers the classes that it
// solved, so that a problem that differs in one note costs a fraction of the first. It must not be shared between
// goroutines.
type Exact struct {
	tables map[string]*table
}

// NewExact gives a solver that remembers nothing yet.
func NewExact() *Exact { return &Exact{tables: map[string]*table{}} }

// mostTables bounds what a solver remembers.
const mostTables = 20_000

// mostShares bounds the ways of sharing teeth among the rows of one class that are tried one by one.
const mostShares = 2000

// table holds the best of one class for each number of teeth.
type table struct {
	best  []int   // hundredths, by number of teeth; -1 where locks need more
	bound []int   // no arrangement with that many teeth is worth more
	share [][]int // teeth of each row
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
	if len(e.tables) > mostTables {
		clear(e.tables)
	}
	chord := make([]int, len(p.Notes))
	for i, c := range Onsets(p.Notes) {
		for n := c.From; n < c.To; n++ {
			chord[n] = i
		}
	}
	var keys []*key
	fewest := len(p.Notes) + 1
	for x := p.MinX; x <= p.MaxX; x++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		k := p.inKey(x, chord)
		if len(k.unmet) < fewest {
			fewest, keys = len(k.unmet), keys[:0]
		}
		if len(k.unmet) == fewest {
			keys = append(keys, k)
		}
	}
	for _, k := range keys {
		k.ceiling = p.ceiling(k)
	}
	nearer := func(a, b *key) int {
		return cmp.Or(cmp.Compare(abs(a.x), abs(b.x)), cmp.Compare(b.x, a.x))
	}
	slices.SortFunc(keys, func(a, b *key) int { return cmp.Or(cmp.Compare(b.ceiling, a.ceiling), nearer(a, b)) })
	var best *key
	var shares [12][]int
	value, bound := -1, -1
	for _, k := range keys {
		if best != nil && (k.ceiling < value || k.ceiling == value && nearer(k, best) > 0) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		v, b, s := e.solveKey(p, k)
		bound = max(bound, b)
		if best == nil || v > value || v == value && nearer(k, best) < 0 {
			best, value, shares = k, v, s
		}
	}
	return p.assemble(best, shares, bound), nil
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

// solveKey gives the best value of a key, a bound on it, and the teeth of each class's rows.
func (e *Exact) solveKey(p *Problem, k *key) (value, bound int, shares [12][]int) {
	var best, bounds [12][]int
	var tables [12]*table
	for i, c := range k.classes {
		print := c.fingerprint(p.Comb)
		t := e.tables[print]
		if t == nil {
			if p.Comb.Fixed != nil {
				t = c.fixedTable()
			} else {
				t = c.cutTable(p.Comb.Teeth)
			}
			e.tables[print] = t
		}
		tables[i], best[i], bounds[i] = t, t.best, t.bound
	}
	if p.Comb.Fixed != nil {
		for i, t := range tables {
			value, bound, shares[i] = value+t.best[0], bound+t.bound[0], t.share[0]
		}
		return value, bound, shares
	}
	value, use := knapsack(best, p.Comb.Teeth)
	bound, _ = knapsack(bounds, p.Comb.Teeth)
	for i, t := range tables {
		shares[i] = t.share[use[i]]
	}
	return value, bound, shares
}

// fixedTable is the table of a comb that is given: one entry, its teeth.
func (c *class) fixedTable() *table {
	value, _, exact := c.sweep(c.most)
	bound := value
	if !exact {
		bound = c.relaxed(c.allRows())
	}
	return &table{best: []int{value}, bound: []int{bound}, share: [][]int{c.most}}
}

// cutTable gives the best of the class for each number of teeth up to the comb's. Shares of the teeth among the rows
// are tried in order of a bound without recovery, and passed over where that cannot better what is known. Where there
// are too many, teeth are added one by one where they bring most.
func (c *class) cutTable(teeth int) *table {
	total, ways := 0, 1
	for row := range c.pitches {
		total += c.most[row]
		ways = min(ways*(c.most[row]-c.need[row]+1), mostShares+1)
	}
	size := min(total, teeth) + 1
	t := &table{best: make([]int, size), bound: make([]int, size), share: make([][]int, size)}
	for n := range size {
		t.best[n], t.bound[n] = -1, -1
	}
	if ways > mostShares {
		c.addOneByOne(t)
	} else {
		c.tryAll(t)
	}
	for n := 1; n < size; n++ {
		t.bound[n] = max(t.bound[n], t.bound[n-1])
		if t.best[n-1] >= t.best[n] {
			t.best[n], t.share[n] = t.best[n-1], t.share[n-1]
		}
	}
	return t
}

// tryAll fills the table from all shares.
func (c *class) tryAll(t *table) {
	type way struct {
		teeth   []int
		sum     int
		ceiling int
	}
	var ways []way
	teeth := slices.Clone(c.need)
	for {
		sum, set := 0, uint64(0)
		for row, n := range teeth {
			sum += n
			if n > 0 {
				set |= 1 << row
			}
		}
		if sum < len(t.best) {
			if ceiling := c.relaxed(set); ceiling >= 0 {
				ways = append(ways, way{slices.Clone(teeth), sum, ceiling})
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
			break
		}
	}
	slices.SortStableFunc(ways, func(a, b way) int {
		return cmp.Or(cmp.Compare(a.sum, b.sum), cmp.Compare(b.ceiling, a.ceiling))
	})
	known := -1 // best with fewer teeth or as many
	for _, w := range ways {
		if w.ceiling <= known {
			continue
		}
		value, _, exact := c.sweep(w.teeth)
		if value > t.best[w.sum] {
			t.best[w.sum], t.share[w.sum] = value, w.teeth
		}
		known = max(known, value)
		if !exact {
			value = w.ceiling
		}
		t.bound[w.sum] = max(t.bound[w.sum], value)
	}
}

// addOneByOne fills the table by adding the tooth that brings most; the bound leaves recovery aside.
func (c *class) addOneByOne(t *table) {
	teeth := slices.Clone(c.need)
	sum := 0
	for _, n := range teeth {
		sum += n
	}
	all := c.relaxed(c.allRows())
	for n := range t.bound {
		if n >= max(sum, 1) {
			t.bound[n] = all
		}
	}
	if sum == 0 {
		t.bound[0] = 0
	}
	for ; sum < len(t.best); sum++ {
		t.best[sum], _, _ = c.sweep(teeth)
		t.share[sum] = slices.Clone(teeth)
		gain, at := -1, -1
		for row := range teeth {
			if teeth[row] < c.most[row] {
				teeth[row]++
				if v, _, _ := c.sweep(teeth); v > gain {
					gain, at = v, row
				}
				teeth[row]--
			}
		}
		if at < 0 {
			break
		}
		teeth[at]++
	}
}

// assemble turns the best key into plucks on numbered teeth.
func (p *Problem) assemble(k *key, shares [12][]int, bound int) *Solution {
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
		_, choice, _ := c.sweep(shares[i])
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
