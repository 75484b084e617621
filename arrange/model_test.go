package arrange_test

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"pinwright/arrange"
	"pinwright/arrange/unit"
)

// programme is an integer programme, for a solver of such programmes.
type programme struct {
	name                    string             // of all its variables, at the front
	worth                   map[string]float64 // of each variable that is worth something
	order                   []float64          // the same, as the objective names them
	objective, rows, bounds bytes.Buffer
	integers, binaries      bytes.Buffer
	impossible              bool // some note must be plucked and can be nowhere
}

// row states that a sum of terms keeps to a bound.
func (g *programme) row(terms []string, relation string, bound int) {
	if len(terms) == 0 {
		g.impossible = g.impossible || relation == "=" && bound != 0
		return
	}
	fmt.Fprintf(&g.rows, " %s %s %d\n", strings.Join(terms, " "), relation, bound)
}

// binary names a variable that is 0 or 1.
func (g *programme) binary(format string, a ...any) string {
	name := g.name + fmt.Sprintf(format, a...)
	fmt.Fprintf(&g.binaries, " %s\n", name)
	return "+ " + name
}

// integer names a variable that is a whole number from 0 to most.
func (g *programme) integer(most int, format string, a ...any) string {
	name := g.name + fmt.Sprintf(format, a...)
	fmt.Fprintf(&g.integers, " %s\n", name)
	fmt.Fprintf(&g.bounds, " %s <= %d\n", name, most)
	return "+ " + name
}

// text gives programmes as one, in LP format as GLPK and CBC read it. They share nothing, so the best of the whole is the best of each.
// Variables that do nothing keep sections from being empty.
func text(programmes ...*programme) []byte {
	var all programme
	for _, g := range programmes {
		all.objective.Write(g.objective.Bytes())
		all.rows.Write(g.rows.Bytes())
		all.bounds.Write(g.bounds.Bytes())
		all.integers.Write(g.integers.Bytes())
		all.binaries.Write(g.binaries.Bytes())
	}
	return fmt.Appendf(nil, "Maximize\n value:%s + 0 none\nSubject To\n%s none + zero + more <= 1\nBounds\n more <= 1\n%sGeneral\n more\n%sBinary\n none\n zero\n%sEnd\n",
		&all.objective, &all.rows, &all.bounds, &all.integers, &all.binaries)
}

// onTooth is a pluck that may be made, with its variable on each of the teeth alike.
type onTooth struct {
	note int
	at   float64
	on   []string // by number of the tooth, from 1; "" where it cannot be
}

// stated writes the optimisation of one key, p.MinX = p.MaxX, as an integer programme: a is 1 for a note plucked on a tooth, u for a
// tooth that the comb has. It follows the statement of the problem alone, and nothing of how the arranger solves it.
func stated(name string, p *arrange.Problem) *programme { return write(name, p, false) }

// counted writes the leaner programme that a practised modeller would, of a comb to be cut: the teeth alike are one whole number, and no
// moment is covered by the repeat times of more plucks than that. Where a tune goes round the circle closely that is not quite enough, so
// its value is a bound; it is what the solvers are timed with.
func counted(p *arrange.Problem) *programme { return write("", p, true) }

func write(name string, p *arrange.Problem, count bool) *programme {
	g := programme{name: name, worth: map[string]float64{}}
	comb := p.Comb
	open := comb.Fixed == nil || comb.Retuned > 0
	most := func(pitch unit.Pitch) int { // teeth alike
		if open && comb.Low <= pitch && pitch <= comb.High {
			return max(comb.MaxTwins, comb.Fixed[pitch])
		}
		return comb.Fixed[pitch]
	}
	told := func(pitch unit.Pitch) int { // teeth alike that have variables of their own
		if count {
			return min(most(pitch), 1)
		}
		return most(pitch)
	}
	plucks := map[unit.Pitch][]onTooth{}
	for i, n := range p.Notes {
		lock := p.Locks[i]
		if lock.LeaveOut {
			continue
		}
		must := lock.Octaves != nil || lock.Pitch != nil
		var once []string
		for octaves := -2; octaves <= 2; octaves++ {
			factor := map[int]float64{-2: .45, -1: .6, 0: 1, 1: .6, 2: .45}[octaves]
			pitch := n.Pitch + unit.Pitch(p.MinX+12*octaves)
			if lock.Octaves != nil && *lock.Octaves != octaves || lock.Pitch != nil && *lock.Pitch != pitch {
				continue
			}
			a := onTooth{i, float64(n.OnsetMs + lock.ShiftMs), make([]string, told(pitch)+1)}
			for tooth := 1; tooth <= told(pitch); tooth++ {
				if must && lock.Twin != 0 && lock.Twin != tooth {
					continue
				}
				a.on[tooth] = g.binary("a_%d_%d_%d", i, pitch, tooth)
				worth := map[arrange.Role]float64{"lead": 10, "bass": 5, "fill": 3}[n.Role] * factor
				g.worth[a.on[tooth][2:]] = worth
				g.order = append(g.order, worth)
				fmt.Fprintf(&g.objective, " + %.3f %s\n", worth, a.on[tooth][2:])
				once = append(once, a.on[tooth])
			}
			plucks[pitch] = append(plucks[pitch], a)
		}
		if must {
			g.row(once, "=", 1)
		} else {
			g.row(once, "<=", 1)
		}
	}
	var teeth, fresh []string
	for _, pitch := range slices.Sorted(maps.Keys(plucks)) {
		all := plucks[pitch]
		g.oncePerOnset(p, all)
		before := ""
		for tooth := 1; tooth <= told(pitch); tooth++ {
			has := ""
			if open {
				if count {
					has = g.integer(most(pitch), "u_%d", pitch)
				} else {
					has = g.binary("u_%d_%d", pitch, tooth)
				}
				teeth = append(teeth, has)
				if tooth > comb.Fixed[pitch] {
					fresh = append(fresh, has)
				}
				if before != "" { // teeth alike are numbered from 1
					g.row([]string{before, "-" + has[1:]}, ">=", 0)
				}
				before = has
			}
			g.apart(all, tooth, has, float64(p.RepeatMs[pitch])-0.01, float64(p.RevolutionMs))
		}
	}
	if open {
		g.row(teeth, "<=", comb.Teeth)
	}
	if comb.Fixed != nil && open {
		g.row(fresh, "<=", comb.Retuned)
	}
	return &g
}

// oncePerOnset keeps a pitch from being plucked twice among notes that, shifts and all, lie within 10 ms of the first of them.
func (g *programme) oncePerOnset(p *arrange.Problem, plucks []onTooth) {
	order := make([]int, len(p.Notes))
	for i := range order {
		order[i] = i
	}
	at := func(i int) unit.Milliseconds { return p.Notes[i].OnsetMs + p.Locks[i].ShiftMs }
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(at(i), at(j)) })
	first := 0
	together := make([][]string, len(p.Notes)) // by the first of them
	for _, i := range order {
		if i == order[0] || at(i)-at(first) > 10 {
			first = i
		}
		for _, a := range plucks {
			if a.note == i {
				together[first] = append(together[first], slices.DeleteFunc(slices.Clone(a.on), func(on string) bool { return on == "" })...)
			}
		}
	}
	for _, terms := range together {
		if len(terms) > 1 {
			g.row(terms, "<=", 1)
		}
	}
}

// apart keeps the plucks of one tooth the needed time apart round the circle: of those that begin within it, from any of them on, no
// two can be made, and none without the tooth.
func (g *programme) apart(plucks []onTooth, tooth int, has string, need, turn float64) {
	var on []onTooth
	for _, a := range plucks {
		if a.on[tooth] != "" {
			on = append(on, a)
		}
	}
	slices.SortFunc(on, func(a, b onTooth) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.note, b.note)) })
	reached := 0
	for first := range on {
		var near []string
		to := first
		for ; to < first+len(on); to++ {
			b := on[to%len(on)]
			after := b.at - on[first].at
			if to >= len(on) {
				after += turn
			}
			if after >= need {
				break
			}
			near = append(near, b.on[tooth])
		}
		if to <= reached {
			continue // said with the pluck before
		}
		reached = to
		if has != "" {
			g.row(append(near, "-"+has[1:]), "<=", 0)
		} else if len(near) > 1 {
			g.row(near, "<=", 1)
		}
	}
}
