package arrange

import (
	"cmp"
	"context"
	"maps"
	"slices"
)

// outlook is what solving a problem has found out about its keys, from where a problem that differs little is solved.
type outlook struct {
	problem *Problem
	chord   []int // of each note
	keys    []*prospect
}

// prospect is what is known of one key.
type prospect struct {
	x       int
	ceiling int     // no arrangement in it is worth more, hundredths
	search  *search // nil where the key was not looked at closely
}

// Narrow gives what Solve would for a problem that allows less than an earlier one and nothing more, as a comb with fewer teeth
// does. What bounded a key then bounds it now, so that most keys are not even stated again.
func (e *Exact) Narrow(ctx context.Context, p *Problem, earlier *Solution) (*Solution, error) {
	if !earlier.Proven {
		return e.Solve(ctx, p)
	}
	var keys []*key
	for _, k := range earlier.outlook.keys {
		keys = append(keys, &key{x: k.x, ceiling: k.ceiling})
	}
	e.spent, e.most = 0, p.work()
	s, err := e.best(ctx, p, keys)
	if err == nil && (s == nil || !s.Proven || len(earlier.Unmet) > 0) {
		return e.Solve(ctx, p)
	}
	return s, err
}

// Again gives what Solve would for a problem that differs from an earlier one in the locks of a few notes, at a fraction of the cost:
//
//   - A lock that takes a freedom away cannot raise what a key is worth; any other change of a note raises it by the note's
//     value at most, since without the note there is only what there was. So a key is left where its earlier bound, with that added,
//     is not enough. Where it would be, the earlier search of the key is taken up again, as far as it must.
//   - Only the pitch classes of the changed notes are stated again. What bounded their ways of sharing teeth then, with the same added,
//     bounds them now; the other classes stand where the earlier search left them.
//
// Which of equals is taken depends on what they are and not on the way there (pursue), so that it is the same.
//
// Where the difference is of another kind, or where the answer could not be proven, it is solved as if for the first time.
func (e *Exact) Again(ctx context.Context, p *Problem, earlier *Solution) (*Solution, error) {
	d, ok := p.since(earlier)
	if !ok {
		return e.Solve(ctx, p)
	}
	e.forget()
	begun := e.work
	a := &again{Exact: e, problem: p, from: earlier.outlook, difference: d, bound: -1}
	keys := slices.Clone(a.from.keys)
	slices.SortFunc(keys, func(k, l *prospect) int {
		if first := earlier.Transpose; k.x == first || l.x == first {
			return cmp.Compare(abs(k.x-first), abs(l.x-first))
		}
		return cmp.Compare(l.ceiling, k.ceiling)
	})
	known := &outlook{problem: p, chord: a.from.chord}
	for _, at := range keys {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		now, err := a.look(ctx, at)
		if err != nil {
			return nil, err
		}
		if a.best == nil {
			return e.Solve(ctx, p) // the locks cannot all be kept in the key that was the best
		}
		known.keys = append(known.keys, now)
	}
	if a.bound > a.best.value {
		return e.Solve(ctx, p)
	}
	s := p.assemble(a.best.key, a.best.best, a.bound)
	s.outlook, s.Work = known, e.work-begun
	for _, k := range known.keys {
		if k.search != nil {
			s.Keys++
		}
	}
	return s, nil
}

// difference is how a problem differs from an earlier one.
type difference struct {
	classes uint16  // as written, of the notes whose locks differ, a bit each
	gains   [12]int // of each, the most by which it can be worth more than it was
	gain    int     // of all of them
}

// since gives how a problem differs from the one that a solution is of, and reports whether it can be solved from there.
func (p *Problem) since(earlier *Solution) (d difference, ok bool) {
	if !earlier.Proven || len(earlier.Unmet) > 0 || earlier.outlook == nil || 2*earlier.Work > p.work() {
		return d, false
	}
	q := earlier.outlook.problem
	if p.RevolutionMs != q.RevolutionMs || p.RepeatMs != q.RepeatMs || p.MinX != q.MinX || p.MaxX != q.MaxX || p.Work != q.Work || !p.Comb.equal(q.Comb) ||
		!slices.EqualFunc(p.Notes, q.Notes, func(a, b Note) bool { return a.Pitch == b.Pitch && a.OnsetMs == b.OnsetMs && a.Role == b.Role }) {
		return d, false
	}
	var placed [12]int
	for i, l := range p.Locks {
		if l.Placed() {
			placed[p.Notes[i].Pitch.Class()]++
		}
	}
	for i, now := range p.Locks {
		was, n := q.Locks[i], p.Notes[i]
		if now.equal(was) {
			continue
		}
		if was.Placed() {
			return d, false // without it there could have been more
		}
		class := n.Pitch.Class()
		d.classes |= 1 << class
		// Two locked notes may stand nearer than free ones, so that a second one in a class can bring more.
		if narrower := now.LeaveOut || now.Placed() && placed[class] == 1 && !was.LeaveOut && now.ShiftMs == was.ShiftMs; !narrower {
			d.gains[class] += hundredths(n.Role, 0)
			d.gain += hundredths(n.Role, 0)
		}
	}
	return d, true
}

func (s Stock) equal(t Stock) bool {
	return s.Retuned == t.Retuned && s.Teeth == t.Teeth && s.Low == t.Low && s.High == t.High && s.MaxTwins == t.MaxTwins &&
		(s.Fixed == nil) == (t.Fixed == nil) && maps.Equal(s.Fixed, t.Fixed)
}

func (l Lock) equal(m Lock) bool {
	return l.LeaveOut == m.LeaveOut && equal(l.Octaves, m.Octaves) && equal(l.Pitch, m.Pitch) && l.Twin == m.Twin && l.ShiftMs == m.ShiftMs
}

// moved gives the classes of a set of written ones in transposition x.
func moved(classes uint16, x int) uint16 {
	by := (x%12 + 12) % 12
	return (classes<<by | classes>>(12-by)) & allClasses
}

// again solves a problem from where an earlier one was left.
type again struct {
	*Exact
	problem *Problem
	from    *outlook
	difference
	best  *search
	bound int
}

// look finds out what a key is worth now, as far as it could be the best.
func (a *again) look(ctx context.Context, at *prospect) (*prospect, error) {
	k, set := &key{x: at.x}, uint16(allClasses)
	floor := a.best.floor(k)
	if a.best != nil {
		if err := a.deepen(ctx, at, floor-a.gain); err != nil {
			return nil, err
		}
	}
	now := &prospect{x: at.x, ceiling: at.ceiling + a.gain}
	if a.best != nil && (at.ceiling < 0 || now.ceiling <= floor) {
		return now, nil
	}
	a.spent, a.most = 0, a.problem.work()
	if at.search != nil {
		set = moved(a.classes, at.x)
	}
	a.problem.state(k, a.from.chord, set)
	if len(k.unmet) > 0 {
		return now, nil
	}
	s := a.restart(at, k, set)
	if err := a.pursue(ctx, a.problem, s, floor); err != nil {
		return nil, err
	}
	now.search, now.ceiling = s, min(now.ceiling, s.bound)
	a.bound = max(a.bound, s.bound)
	if a.best == nil || s.value > floor {
		a.best = s
	}
	return now, nil
}

// deepen takes the earlier search of a key up again, until its bound is no more than floor, if it can be.
func (a *again) deepen(ctx context.Context, at *prospect, floor int) error {
	if at.ceiling <= floor {
		return nil
	}
	p := a.from.problem
	a.spent, a.most = 0, p.work()
	if at.search == nil {
		k := &key{x: at.x}
		p.state(k, a.from.chord, allClasses)
		if len(k.unmet) > 0 {
			at.ceiling = -1 // there are keys that keep all locks
			return nil
		}
		at.search = a.begin(p, k)
	}
	err := a.pursue(ctx, p, at.search, floor)
	at.ceiling = min(at.ceiling, at.search.bound)
	return err
}

// restart starts the search of a key of which the classes of a set have been stated, and the others are as the earlier search left them.
func (a *again) restart(at *prospect, k *key, set uint16) *search {
	s := &search{key: k, value: -1}
	for i, c := range k.classes {
		switch {
		case set>>i&1 == 0:
			s.memories[i], s.ways[i] = at.search.memories[i], at.search.ways[i]
			s.tables[i] = at.search.tables[i]
			s.shared |= 1 << i
			at.search.shared |= 1 << i
			s.fresh |= at.search.fresh & (1 << i)
		case at.search == nil:
			s.memories[i] = a.remember(a.problem, c)
			s.ways[i] = slices.Clone(s.memories[i].ways)
		default:
			s.memories[i] = a.inherit(c, at.search, i, a.gains[(i-at.x%12+12)%12])
			s.ways[i] = s.memories[i].ways // nothing else remembers them
		}
		k.classes[i] = s.memories[i].class
	}
	return s
}

// inherit gives the ways of a class that has been stated again, bounded by what bounded those with as many teeth in an earlier
// search, and a gain.
func (a *again) inherit(c *class, from *search, i, gain int) *memory {
	m := newMemory(c)
	c.prepare(a.problem.Comb)
	if !a.problem.Comb.open() || c.sharingCount() > fewWays {
		a.survey(a.problem, m)
		return m
	}
	m.ways = c.sharings(nil, a.problem.Comb, nil)
	before := from.memories[i].class
	if !slices.Equal(before.pitches, c.pitches) {
		return m
	}
	bounds := from.bounds(i)
	for j := range m.ways {
		w := &m.ways[j]
		name := []byte(w.name())
		for row, most := range before.most { // teeth beyond those that made sense brought nothing
			name[row] = min(name[row], byte(most))
		}
		if bound, ok := bounds[string(name)]; ok {
			w.bound = min(w.bound, bound+gain)
		}
	}
	return m
}

// bounds gives the bounds of the ways of class i by their names.
func (s *search) bounds(i int) map[string]int {
	if s.known[i] == nil || s.knownAt[i] != s.rounds {
		known := make(map[string]int, len(s.ways[i]))
		for j := range s.ways[i] {
			if w := &s.ways[i][j]; !w.stands {
				known[w.name()] = w.bound
			}
		}
		s.known[i], s.knownAt[i] = known, s.rounds
	}
	return s.known[i]
}
