package arrange

import (
	"cmp"
	"context"
	"crypto/sha256"
	"maps"
	"math"
	"slices"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
)

// outlook is what solving a problem has found out about its keys, from where a problem that differs little is solved.
type outlook struct {
	problem *posed
	keys    []*prospect
	fresh   int // work of the last solution that was made as if for the first time
	since   int // solutions since then, each from where the one before was left
}

// posed is a problem with the chord of each note.
type posed struct {
	*Problem
	chord []int
}

// prospect is what is known of one key, for the problem in hand or one before it.
type prospect struct {
	x       int
	problem *posed
	ceiling int     // no arrangement in it is worth more, hundredths; -1 where the locks cannot all be kept in it
	search  *search // nil where the key was not looked at closely
	outline *key    // nil where the solution is not of Solve
}

// changed gives the pitch classes, as written, in which a problem differs from that of an outlook: all where more than locks do.
func (o *outlook) changed(p *posed) (classes uint16) {
	if o == nil || !p.like(o.problem.Problem) {
		return allClasses
	}
	return p.since(o.problem).classes
}

// at gives what is known of a key; nothing where it was not among those with the fewest locks that cannot be kept.
func (o *outlook) at(x int) prospect {
	if o != nil {
		for _, at := range o.keys {
			if at.x == x {
				return *at
			}
		}
	}
	return prospect{}
}

// Narrow gives what Solve would for a problem that allows less than an earlier one and nothing more, as a comb with fewer teeth
// does. What bounded a key then bounds it now, so that most keys are not even stated again.
func (e *Exact) Narrow(ctx context.Context, p *Problem, earlier *Solution) (*Solution, error) {
	if !earlier.Proven || earlier.outlook.since > 0 { // else the bounds may be those of problems before it
		return e.Solve(ctx, p)
	}
	var keys []*key
	for _, k := range earlier.outlook.keys {
		keys = append(keys, &key{x: k.x, ceiling: k.ceiling})
	}
	e.spent, e.most = 0, p.work()
	s, err := e.best(ctx, &posed{p, earlier.outlook.problem.chord}, keys, allClasses)
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
// A key that is left keeps its bound for the problem that it was found for, so that a decision that is taken back costs nothing. Where the
// difference is of another kind, where the answer could not be proven, or after mostSince problems, it is solved as if for the first time;
// so it is where that took more than half of what it may, since the budget is for a problem as if for the first time.
func (e *Exact) Again(ctx context.Context, p *Problem, earlier *Solution) (*Solution, error) {
	return e.again(ctx, p, earlier, false)
}

// Try is Again for one of many problems that differ from the same earlier one: what it finds out about the earlier one helps with the others.
func (e *Exact) Try(ctx context.Context, p *Problem, earlier *Solution) (*Solution, error) {
	return e.again(ctx, p, earlier, true)
}

// mostSince is how many problems may be solved each from where the one before was left.
const mostSince = 32

func (e *Exact) again(ctx context.Context, problem *Problem, earlier *Solution, one bool) (*Solution, error) {
	from := earlier.outlook
	p := &posed{Problem: problem}
	if !earlier.Proven || len(earlier.Unmet) > 0 || from == nil || 2*from.fresh > p.work() || !p.like(from.problem.Problem) || !one && from.since >= mostSince {
		return e.Solve(ctx, problem)
	}
	p.chord = p.chords()
	e.forget()
	begun := e.work
	a := &again{Exact: e, problem: p, known: map[[2]*posed]*difference{}, here: map[[sha256.Size]byte]*memory{}}
	known := &outlook{problem: p, keys: slices.Clone(from.keys), fresh: from.fresh, since: from.since + 1}
	order, bounds := make([]int, len(from.keys)), make([]int, len(from.keys))
	for i, at := range from.keys {
		d := a.difference(at.problem, p)
		if d.more {
			return e.Solve(ctx, problem)
		}
		order[i], bounds[i] = i, at.ceiling+d.in(at.x).sum
		if at.x == earlier.Transpose {
			bounds[i] = math.MaxInt
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(bounds[j], bounds[i]) })
	var best *search
	bound := -1
	for _, i := range order {
		at := from.keys[i]
		floor := best.floor(&key{x: at.x})
		if best != nil && (at.ceiling < 0 || bounds[i] <= floor) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		var err error
		if gain := a.difference(from.problem, p).in(at.x).sum; one && best != nil && (at.search == nil || at.problem != from.problem || gain > 0) {
			if at, err = a.bring(ctx, at, from.problem, floor-gain, false); err != nil {
				return nil, err
			}
			from.keys[i] = at
		}
		if at, err = a.bring(ctx, at, p, floor, true); err != nil {
			return nil, err
		}
		known.keys[i] = at
		s := at.search
		if at.problem != p || s == nil || s.value < 0 {
			if best == nil {
				return e.Solve(ctx, problem) // the locks cannot all be kept in the key that was the best
			}
			continue
		}
		if bound = max(bound, s.bound); best == nil || s.value > floor {
			best = s
		}
	}
	if bound > best.value {
		return e.Solve(ctx, problem)
	}
	s := p.assemble(best.key, best.best, bound)
	s.outlook, s.Work = known, e.work-begun
	return s, nil
}

// difference is how a problem differs from an earlier one that is like it.
type difference struct {
	from, to *posed
	notes    []int  // whose locks differ, or whose chords do
	classes  uint16 // as written, of those, a bit each
	more     bool   // reports whether anything may be worth more: without a note's place there could have been anything
	known    [12]*gains
}

// gains are by how much, at most, the written classes can be worth more than they were, and by how much all of them.
type gains struct {
	of  [12]int
	sum int
}

// since gives how a problem differs from an earlier one.
func (p *posed) since(q *posed) *difference {
	d := &difference{from: q, to: p}
	for i := range p.Locks {
		now, was := &p.Locks[i], &q.Locks[i]
		same := now.equal(was)
		if same && p.chord[i] == q.chord[i] {
			continue
		}
		d.notes = append(d.notes, i)
		d.classes |= 1 << p.Notes[i].Pitch.Class()
		d.more = d.more || !same && was.Placed()
	}
	return d
}

// in gives the gains in transposition x.
func (d *difference) in(x int) *gains {
	known := &d.known[unit.Pitch(x).Class()]
	if *known != nil {
		return *known
	}
	g := &gains{}
	*known = g
	p := d.to
	for _, i := range d.notes {
		was, now, n := d.from.Locks[i], p.Locks[i], p.Notes[i]
		class := n.Pitch.Class()
		narrower := now.LeaveOut
		if !was.LeaveOut && !now.LeaveOut {
			// Two locked notes may stand nearer than free ones, so that a second one in a class can bring more.
			narrower = (!now.Placed() || d.placed(class) == 1) && (now.ShiftMs == was.ShiftMs && p.chord[i] == d.from.chord[i] || d.asNear(i, x))
		}
		if !narrower {
			g.of[class] += hundredths(n.Role, 0)
			g.sum += hundredths(n.Role, 0)
		}
	}
	return g
}

// placed counts the notes of a written class that must be plucked.
func (d *difference) placed(class int) (count int) {
	for i, l := range d.to.Locks {
		if l.Placed() && d.to.Notes[i].Pitch.Class() == class {
			count++
		}
	}
	return count
}

// asNear reports whether a note that is shifted stands within one repeat time of all of those that it did, and at one onset with them, on any tooth that it could
// have in transposition x.
func (d *difference) asNear(note, x int) bool {
	p, q := d.to, d.from
	class := p.Notes[note].Pitch.Class()
	var repeats []unit.Milliseconds
	twins := false
	for pitch := unit.Pitch(unit.Pitch(class + x).Class()); pitch.Valid(); pitch += 12 {
		if p.Comb.most(pitch) > 0 {
			if 3*p.RepeatMs[pitch] >= p.RevolutionMs {
				return false // three may stand near one another, and yet not in one place
			}
			repeats = append(repeats, p.RepeatMs[pitch]-comb.Slack)
			twins = twins || p.Comb.most(pitch) > 1
		}
	}
	for i, n := range p.Notes {
		if i == note || n.Pitch.Class() != class {
			continue
		}
		if twins && q.chord[i] == q.chord[note] && p.chord[i] != p.chord[note] {
			return false
		}
		was := comb.RoundTheCircle(n.OnsetMs+q.Locks[i].ShiftMs, p.Notes[note].OnsetMs+q.Locks[note].ShiftMs, p.RevolutionMs)
		now := comb.RoundTheCircle(n.OnsetMs+p.Locks[i].ShiftMs, p.Notes[note].OnsetMs+p.Locks[note].ShiftMs, p.RevolutionMs)
		for _, r := range repeats {
			if was < r+nearly && now >= r-nearly {
				return false
			}
		}
	}
	return true
}

// nearly is more than rounding makes of a time.
const nearly unit.Milliseconds = 1e-6

// like reports whether two problems differ in the locks at most.
func (p *Problem) like(q *Problem) bool {
	return p.RevolutionMs == q.RevolutionMs && p.RepeatMs == q.RepeatMs && p.MinX == q.MinX && p.MaxX == q.MaxX && p.Work == q.Work && p.Comb.equal(q.Comb) &&
		slices.EqualFunc(p.Notes, q.Notes, func(a, b Note) bool { return a.Pitch == b.Pitch && a.OnsetMs == b.OnsetMs && a.Role == b.Role })
}

func (s Stock) equal(t Stock) bool {
	return s.Retuned == t.Retuned && s.Teeth == t.Teeth && s.Low == t.Low && s.High == t.High && s.MaxTwins == t.MaxTwins &&
		(s.Fixed == nil) == (t.Fixed == nil) && maps.Equal(s.Fixed, t.Fixed)
}

func (l *Lock) equal(m *Lock) bool {
	return l.LeaveOut == m.LeaveOut && equal(l.Octaves, m.Octaves) && equal(l.Pitch, m.Pitch) && l.Twin == m.Twin && l.ShiftMs == m.ShiftMs
}

// moved gives the classes of a set of written ones in transposition x.
func moved(classes uint16, x int) uint16 {
	by := unit.Pitch(x).Class()
	return (classes<<by | classes>>(12-by)) & allClasses
}

// again solves a problem from where an earlier one was left.
type again struct {
	*Exact
	problem *posed
	known   map[[2]*posed]*difference
	here    map[[sha256.Size]byte]*memory // of classes that were stated again
}

// difference gives how one problem differs from an earlier one.
func (a *again) difference(from, to *posed) *difference {
	d, ok := a.known[[2]*posed{from, to}]
	if !ok {
		d = to.since(from)
		a.known[[2]*posed{from, to}] = d
	}
	return d
}

// bring finds out about a key as much as shows that for problem p it is worth no more than floor; if it is worth more, then what it is worth for
// p, with its way where that is whole.
func (a *again) bring(ctx context.Context, at *prospect, p *posed, floor int, whole bool) (*prospect, error) {
	d := a.difference(at.problem, p)
	gains := d.in(at.x)
	if at.ceiling < 0 || at.ceiling+gains.sum <= floor {
		return at, nil
	}
	if d.classes == 0 && at.problem != p {
		at = &prospect{x: at.x, problem: p, ceiling: at.ceiling, search: at.search}
	}
	a.spent, a.most = 0, p.work()
	if at.search != nil && gains.sum == 0 {
		err := a.search(ctx, at.problem.Problem, at.search, floor, whole && at.problem == p)
		if at.ceiling = min(at.ceiling, at.search.bound); err != nil || at.problem == p || at.ceiling <= floor {
			return at, err
		}
		a.spent = 0
	}
	k, set := &key{x: at.x}, uint16(allClasses)
	if at.search != nil {
		set = moved(d.classes, at.x)
	}
	p.state(k, p.chord, set)
	now := &prospect{x: at.x, problem: p, ceiling: -1}
	if at.problem == p {
		now.outline = at.outline
	}
	if len(k.unmet) > 0 {
		return now, nil
	}
	if at.search == nil {
		now.search = a.begin(p.Problem, k, nil)
	} else {
		now.search = a.restart(at.search, k, set, gains.of)
	}
	err := a.search(ctx, p.Problem, now.search, floor, whole)
	now.ceiling = min(at.ceiling+gains.sum, now.search.bound)
	return now, err
}

// restart starts the search of a key of which the classes of a set have been stated, and the others are as an earlier search left them.
func (a *again) restart(from *search, k *key, set uint16, gains [12]int) *search {
	s := &search{key: k, value: -1}
	for i, c := range k.classes {
		if set>>i&1 == 0 {
			s.memories[i], s.ways[i], s.tables[i] = from.memories[i], from.ways[i], from.tables[i]
			k.classes[i] = from.key.classes[i]
			s.fresh |= from.fresh & (1 << i)
			s.shared |= 1 << i
			from.shared |= 1 << i
		} else {
			s.memories[i] = a.stated(c)
			s.ways[i] = s.memories[i].ways
			k.classes[i] = s.memories[i].as(c)
			s.shared |= 1 << i
			s.inherit(from, i, gains[unit.Pitch(i-k.x).Class()])
		}
	}
	return s
}

// stated gives what is known of a class that has been stated again. What is found out about it goes with the problem in hand.
func (a *again) stated(c *class) *memory {
	print := c.fingerprint(a.problem.Comb)
	for _, made := range []map[[sha256.Size]byte]*memory{a.made, a.here} {
		if m := made[print]; m != nil {
			return m
		}
	}
	c.prepare(a.problem.Comb)
	m := newMemory(c)
	a.here[print] = m
	if !a.problem.Comb.open() || c.sharingCount() > fewWays {
		a.survey(a.problem.Problem, m)
	} else {
		m.ways = c.sharings(nil, a.problem.Comb, nil)
	}
	return m
}

// inherit bounds the ways of class i, which has been stated again, by what bounded those with as many teeth in an earlier search, and a gain.
func (s *search) inherit(from *search, i, gain int) {
	before := from.memories[i].class
	if len(s.ways[i]) == 0 || s.ways[i][0].stands || !slices.Equal(from.key.classes[i].pitches, s.key.classes[i].pitches) {
		return
	}
	s.own(i)
	if now := s.memories[i].class; slices.Equal(now.most, before.most) && slices.Equal(now.need, before.need) && len(s.ways[i]) == len(from.ways[i]) {
		for j := range s.ways[i] { // in the same order
			w := &s.ways[i][j]
			w.bound = min(w.bound, from.ways[i][j].bound+gain)
		}
		return
	}
	bounds := from.bounds(i)
	for j := range s.ways[i] {
		w := &s.ways[i][j]
		name := []byte(w.name())
		for row, most := range before.most { // teeth beyond those that made sense brought nothing
			name[row] = min(name[row], byte(most))
		}
		if bound, ok := bounds[string(name)]; ok {
			w.bound = min(w.bound, bound+gain)
		}
	}
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
