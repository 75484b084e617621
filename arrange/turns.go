package arrange

import (
	"slices"

	"pinwright/arrange/unit"
)

// Limits of the search for the best turn of the teeth.
const (
	mostInTurn   = 4       // teeth
	longestTurns = 128     // plucks
	mostBegins   = 64      // a bit each
	mostWaiting  = 12      // plucks
	mostTurnWork = 100_000 // rings compared, after which the longest shortest ring has to do
)

// turnState says for each tooth how many plucks ago, counted from the latest, it was plucked.
type turnState [mostInTurn]uint8

// turns is the plucks of one pitch, in order round the circle, and the states in which its teeth can stand between them.
type turns struct {
	*sharing
	*turnStates
}

// turnStates is all states of some teeth.
type turnStates struct {
	n      int
	states []turnState
	next   [][mostInTurn]int16 // the state once a tooth is plucked, -1 where another would wait too long
	begins []int               // states that a turn may begin with; the others are those with the teeth named otherwise
}

// turnTables holds the states by the number of teeth and how long they wait, which are the same for all pitches.
type turnTables map[[2]int]*turnStates

// best gives the plucks to the teeth so that the sorted rings are lexicographically greatest (leximin), where n does not divide their
// number, so that the teeth cannot just take turns.
//
// What matters about the plucks so far is how long ago each tooth was plucked; a turn of the cylinder is a walk through such states, one
// step a pluck, that ends where it began. A tooth is let wait for a few plucks more than its turn: as many as two, or as the number of the plucks
// asks for. The longest shortest ring is found by halving, since whether some walk has no ring shorter than a given one is quickly told, for
// all states to begin with at once. Then, of the walks that have it, the best is found by dynamic programming over the plucks: it is
// sound to keep the best way to each state only, since of two sorted lists the greater stays the greater whatever is added to both.
//
// Cost: plucks × states for each of some ten halvings; then plucks² × states for each state to begin with, of which few are left.
// Where that is too much, the first walk with the longest shortest ring is taken.
func (g *turns) best(plain []int) []int {
	best, rings := plain, g.rings(plain)
	least, begins := g.longest(rings[0])
	work := mostTurnWork
	for i, begin := range g.begins {
		if begins>>i&1 == 0 || work < 0 {
			continue
		}
		if tooth := g.walk(begin, least, &work); tooth != nil {
			if with := g.rings(tooth); slices.Compare(with, rings) > 0 {
				best, rings = tooth, with
			}
		}
	}
	return best
}

// turns states the search for n teeth; nil where they can just take turns, or are too many.
func (s *sharing) turns(n int) *turns {
	m := len(s.order)
	if n < 2 || n > mostInTurn || m <= n || m > longestTurns || m%n == 0 {
		return nil
	}
	fewest := m / n // plucks of a tooth
	waiting := max(2, (m+fewest-1)/fewest-n+1)
	states, ok := s.tables[[2]int{n, waiting}]
	if !ok {
		states = newTurnStates(n, waiting)
		s.tables[[2]int{n, waiting}] = states
	}
	if states == nil {
		return nil
	}
	return &turns{s, states}
}

// newTurnStates lists the states of n teeth of which none waits for more than some plucks beyond its turn; nil where there are too many.
func newTurnStates(n, waiting int) *turnStates {
	g := &turnStates{n: n}
	oldest := n - 1 + waiting
	index := map[turnState]int16{}
	var fill func(t int, state turnState, taken uint64)
	fill = func(t int, state turnState, taken uint64) {
		if t == n {
			if taken&1 == 1 {
				index[state] = int16(len(g.states))
				g.states = append(g.states, state)
			}
			return
		}
		for age := range oldest + 1 {
			if taken>>age&1 == 0 {
				state[t] = uint8(age)
				fill(t+1, state, taken|1<<age)
			}
		}
	}
	if oldest > mostWaiting {
		return nil
	}
	fill(0, turnState{}, 0)
	g.next = make([][mostInTurn]int16, len(g.states))
	for i, state := range g.states {
		if slices.IsSorted(state[:n]) {
			g.begins = append(g.begins, i)
		}
		for t := range n {
			then := state
			for o := range n {
				then[o]++
			}
			then[t] = 0
			next, ok := index[then]
			if !ok {
				next = -1
			}
			g.next[i][t] = next
		}
	}
	if len(g.begins) > mostBegins {
		return nil
	}
	return g
}

// ring gives the time from the pluck that is age plucks before the one before place, to that at place, counted on round the circle.
func (g *turns) ring(place, age int) unit.Milliseconds {
	m := len(g.order)
	from := ((place-1-age)%m + m) % m
	if from == place {
		return g.turn
	}
	return g.ahead(g.order[from], g.order[place])
}

// longest gives the longest ring than which no ring need be shorter, known to be at least so long, and the states that such walks begin with.
func (g *turns) longest(least unit.Milliseconds) (longest unit.Milliseconds, begins uint64) {
	var lengths []unit.Milliseconds
	for place := range g.order {
		for age := range g.n { // of n plucks and the next two share a tooth, so that the shortest ring is never over more
			if ring := g.ring(place, age); ring > least {
				lengths = append(lengths, ring)
			}
		}
	}
	slices.Sort(lengths)
	lengths = slices.Compact(lengths)
	longest, begins = least, g.can(least)
	low, high := 0, len(lengths) // none from high on can be had, all before low can
	for low < high {
		mid := (low + high) / 2
		if b := g.can(lengths[mid]); b != 0 {
			longest, begins, low = lengths[mid], b, mid+1
		} else {
			high = mid
		}
	}
	return longest, begins
}

// can gives the states from which a walk round the circle has no ring shorter than least, a bit each.
func (g *turns) can(least unit.Milliseconds) (begins uint64) {
	from, to := make([]uint64, len(g.states)), make([]uint64, len(g.states)) // what each state can have begun with
	var now, then []int                                                      // those with any
	for i, begin := range g.begins {
		from[begin] = 1 << i
		now = append(now, begin)
	}
	var long [mostWaiting + 1]bool
	for place := range g.order {
		for age := range long {
			long[age] = g.ring(place, age) >= least
		}
		then = then[:0]
		for _, i := range now {
			for t := range g.n {
				next := g.next[i][t]
				if next < 0 || !long[g.states[i][t]] {
					continue
				}
				if to[next] == 0 {
					then = append(then, int(next))
				}
				to[next] |= from[i]
			}
			from[i] = 0
		}
		from, to, now, then = to, from, then, now
	}
	for i, begin := range g.begins {
		begins |= from[begin] & (1 << i)
	}
	return begins
}

// turnWay is the best way to a state.
type turnWay struct {
	state, from int // its state, and its place in the layer before
	tooth       int
	rings       []unit.Milliseconds // the shortest first; of the last layer only
}

// walk gives the best walk from a state, of those without a ring shorter than least; nil where there is none. Where the work is spent it
// gives any of them.
func (g *turns) walk(begin int, least unit.Milliseconds, work *int) []int {
	m := len(g.order)
	layers := make([][]turnWay, m+1)
	layers[0] = []turnWay{{state: begin}}
	at := make([]int, len(g.states)) // in the layer in hand, one more than the place of each state
	for place, layer := range layers[:m] {
		var then []turnWay
		for from := range layer {
			way := &layer[from]
			for t := range g.n {
				ring := g.ring(place, int(g.states[way.state][t]))
				next := int(g.next[way.state][t])
				if next < 0 || ring < least {
					continue
				}
				var rings []unit.Milliseconds
				if *work -= place + 1; *work >= 0 {
					rings = withRing(way.rings, ring)
				}
				reached := turnWay{next, from, t, rings}
				switch known := at[next] - 1; {
				case known < 0:
					then = append(then, reached)
					at[next] = len(then)
				case slices.Compare(rings, then[known].rings) > 0:
					then[known] = reached
				}
			}
			way.rings = nil
		}
		for _, way := range then {
			at[way.state] = 0
		}
		layers[place+1] = then
	}
	end := slices.IndexFunc(layers[m], func(w turnWay) bool { return w.state == begin })
	if end < 0 {
		return nil
	}
	tooth := make([]int, m)
	for place := m; place > 0; place-- {
		way := &layers[place][end]
		tooth[g.order[place-1]] = way.tooth
		end = way.from
	}
	return tooth
}

// withRing adds a ring to a sorted list, in a list of its own.
func withRing(rings []unit.Milliseconds, ring unit.Milliseconds) []unit.Milliseconds {
	at, _ := slices.BinarySearch(rings, ring)
	with := make([]unit.Milliseconds, len(rings)+1)
	copy(with, rings[:at])
	with[at] = ring
	copy(with[at+1:], rings[at:])
	return with
}

// rings gives the sorted times from each pluck to the next on its tooth.
func (s *sharing) rings(tooth []int) []unit.Milliseconds {
	last := map[int]int{}
	first := map[int]int{}
	var all []unit.Milliseconds
	for _, i := range s.order {
		if before, ok := last[tooth[i]]; ok {
			all = append(all, s.ahead(before, i))
		} else {
			first[tooth[i]] = i
		}
		last[tooth[i]] = i
	}
	for t, i := range last {
		if ring := s.ahead(i, first[t]); i != first[t] {
			all = append(all, ring)
		} else {
			all = append(all, s.turn)
		}
	}
	slices.Sort(all)
	return all
}
