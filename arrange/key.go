package arrange

import (
	"cmp"
	"math/bits"
	"slices"

	"pinwright/arrange/unit"
)

// key is a problem in one transposition.
type key struct {
	x       int
	classes [12]*class
	unmet   []int
	ceiling int       // no arrangement in this key is worth more
	relaxed [12]table // what each class is worth at most without recovery
}

// chords gives for each note the first of those that are plucked at one onset with it, shifts and all.
func (p *Problem) chords() []int {
	order := make([]int, len(p.Notes))
	for i := range order {
		order[i] = i
	}
	at := func(i int) unit.Milliseconds { return p.Notes[i].OnsetMs + p.Locks[i].ShiftMs }
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(at(i), at(j)) })
	chord := make([]int, len(p.Notes))
	for from := 0; from < len(order); {
		to, first := from+1, order[from]
		for ; to < len(order) && at(order[to])-at(order[from]) <= Together; to++ {
			first = min(first, order[to])
		}
		for ; from < to; from++ {
			chord[order[from]] = first
		}
	}
	return chord
}

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

// outline gives a key with its ceiling and the locks that it cannot keep, in order of the notes. Of an earlier outline, where there is
// one, all classes but those of a set are taken over.
func (p *Problem) outline(x int, kinds []kind, earlier *key, set uint16) *key {
	k := &key{x: x}
	if earlier == nil {
		set = allClasses
	}
	var groups [12][]group
	needed := needs{of: map[unit.Pitch]int{}}
	for _, n := range kinds {
		class := (n.pitch + unit.Pitch(x)).Class()
		if n.note < 0 && set>>class&1 == 0 {
			continue
		}
		options := p.options(n.pitch, n.role, n.lock, x)
		if n.note >= 0 && (len(options) != 1 || !needed.add(p.Comb, options[0].row, n.lock.Twin)) {
			k.unmet = append(k.unmet, n.note)
			continue
		}
		if len(options) > 0 {
			groups[class] = append(groups[class], group{options: options, count: n.count, locked: n.note >= 0})
		}
	}
	if earlier != nil && (len(k.unmet) > 0 || len(earlier.unmet) > 0) {
		return p.outline(x, kinds, nil, allClasses) // a lock that cannot be kept is as good as none
	}
	most := cost{teeth: p.Comb.Teeth}
	if p.Comb.Fixed != nil {
		most = cost{fresh: p.Comb.Retuned}
	}
	for i, g := range groups {
		if set>>i&1 == 1 {
			k.relaxed[i] = p.relax(g, most)
		} else {
			k.relaxed[i] = earlier.relaxed[i]
		}
	}
	k.ceiling, _ = together(k.relaxed[:], most, nil).best()
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

// allClasses is the set of all pitch classes, a bit each.
const allClasses = 1<<12 - 1

// state fills in the classes of a key that are in a set. Locks that it cannot keep are listed, in order of the notes, those of
// other classes among them.
func (p *Problem) state(k *key, chord []int, set uint16) {
	k.unmet = nil
	var members [12][]candidate
	var groups [12][]group
	needed := needs{of: map[unit.Pitch]int{}}
	var alike [unit.HighestPitch + 1][4]int // one more than the index into the groups of its class, by pitch and role
	var sizes [12]int
	for _, n := range p.Notes {
		sizes[n.Pitch%12]++
	}
	for class := range members {
		if set>>class&1 == 1 {
			members[class] = make([]candidate, 0, sizes[unit.Pitch(class-k.x).Class()])
		}
	}
	var wanted [unit.HighestPitch + 1]bool // free notes of the pitch
	for pitch := range wanted {
		wanted[pitch] = set>>(unit.Pitch(pitch+k.x).Class())&1 == 1
	}
	for i, n := range p.Notes {
		lock := &p.Locks[i]
		if lock.LeaveOut || !wanted[n.Pitch] && !lock.Placed() {
			continue
		}
		c := candidate{note: i, at: n.OnsetMs + lock.ShiftMs, chord: chord[i], locked: lock.Placed(), twin: lock.Twin}
		class := (n.Pitch + unit.Pitch(k.x)).Class()
		if c.locked {
			c.options = p.options(n.Pitch, n.Role, *lock, k.x)
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
		if set>>i&1 == 1 {
			k.classes[i] = p.rows(m, groups[i])
		}
	}
}

// rows states a class of notes whose options, those of the groups, name pitches.
func (p *Problem) rows(members []candidate, groups []group) *class {
	pitches := number(groups)
	repeat := make([]unit.Milliseconds, len(pitches))
	for i, pitch := range pitches {
		repeat[i] = p.RepeatMs[pitch]
	}
	c := &class{pitches: pitches, repeat: repeat, notes: members, groups: groups, turn: p.RevolutionMs, limit: max(p.work()/4, 1)}
	c.round()
	return c
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

// relax bounds what a class is worth by leaving recovery aside: the best value by number of different rows, or of those that are not given.
func (p *Problem) relax(groups []group, most cost) table {
	const few = 6 // rows whose sets are all tried
	pitches := number(groups)
	given := uint64(0)
	for row, pitch := range pitches {
		if p.Comb.Fixed[pitch] > 0 {
			given |= 1 << row
		}
	}
	all := uint64(1)<<len(pitches) - 1
	t := newTable(most)
	if len(pitches)-bits.OnesCount64(given) > few {
		t.put(cost{}, 0)
		t.put(cost{min(1, most.teeth), min(1, most.fresh)}, groupList(groups).relaxed(all))
		return t
	}
	for set := all &^ given; ; set = (set - 1) &^ given & all {
		if n := bits.OnesCount64(set); p.Comb.Fixed != nil {
			t.put(cost{fresh: n}, groupList(groups).relaxed(set|given))
		} else {
			t.put(cost{teeth: n}, groupList(groups).relaxed(set))
		}
		if set == 0 {
			return t
		}
	}
}
