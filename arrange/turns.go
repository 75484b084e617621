package arrange

import (
	"cmp"
	"slices"

	"pinwright/arrange/unit"
)

// Limits of the search for the best turn of the teeth.
const (
	mostInTurn   = 4  // teeth
	longestTurns = 32 // plucks
	fewPlucks    = 12 // so many are searched more widely
)

// turnState is how long ago each tooth was plucked, in plucks.
type turnState [mostInTurn]uint8

// turns is the best way to a state: the rings so far, the shortest first.
type turns struct {
	rings []unit.Milliseconds
	tooth int8
	from  turnState
}

// inTurn gives the plucks to n teeth so that the sorted rings are lexicographically greatest: by dynamic programming over the plucks in
// order of time, in which the first n start a tooth each and none waits for more than a pluck or two longer than its turn. Where they
// are few, each of the plucks is tried as the first, and no case that was tried out whole has a better way; where they are many, only
// the one after the widest pause is, which settles all but what the seam could gain. It is sound to keep the best way to each state
// only, since of two sorted lists the greater stays the greater whatever is added to both.
//
// Cost: plucks² × states for each first, of which states there are some hundred for four teeth; ways with a ring shorter than the
// shortest of the best yet are left out, which leaves few.
func (s *sharing) inTurn(n int, plain []int) []int {
	m := len(s.order)
	if n > mostInTurn || m > longestTurns {
		return plain
	}
	best, rings := plain, s.rings(plain)
	firsts, waiting := m, 2
	if m > fewPlucks {
		firsts, waiting = 1, 1
	}
	for first := range firsts {
		order := append(slices.Clone(s.order[first:]), s.order[:first]...)
		if tooth, with := s.turnsFrom(order, n, waiting, rings[0]); slices.Compare(with, rings) > 0 {
			best, rings = tooth, with
		}
	}
	return best
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

// turnsFrom is the programme for one order of the plucks; the rings are nil where none is as long as least.
func (s *sharing) turnsFrom(order []int, n, waiting int, least unit.Milliseconds) ([]int, []unit.Milliseconds) {
	m := len(order)
	time := make([]unit.Milliseconds, m) // on from the first
	for place := 1; place < m; place++ {
		time[place] = time[place-1] + s.ahead(order[place-1], order[place])
	}
	var first turnState
	for t := range n {
		first[t] = uint8(n - 1 - t)
	}
	layers := make([]map[turnState]turns, m)
	layers[n-1] = map[turnState]turns{first: {}}
	for place := n; place < m; place++ {
		layers[place] = map[turnState]turns{}
		for _, state := range sortedStates(layers[place-1]) {
			way := layers[place-1][state]
			for t := range n {
				ring := time[place] - time[place-1-int(state[t])]
				if ring < least {
					continue
				}
				next, fits := state, true
				for o := range n {
					if next[o]++; o != t && int(next[o]) > n-1+waiting {
						fits = false
					}
				}
				next[t] = 0
				if !fits {
					continue
				}
				rings := withRing(way.rings, ring)
				if known, ok := layers[place][next]; !ok || slices.Compare(rings, known.rings) > 0 {
					layers[place][next] = turns{rings, int8(t), state}
				}
			}
		}
	}
	var best []unit.Milliseconds
	var end turnState
	for _, state := range sortedStates(layers[m-1]) {
		rings := layers[m-1][state].rings
		for t := range n {
			rings = withRing(rings, time[t]+s.turn-time[m-1-int(state[t])])
		}
		if rings[0] >= least && (best == nil || slices.Compare(rings, best) > 0) {
			best, end = rings, state
		}
	}
	if best == nil {
		return nil, nil
	}
	tooth := make([]int, m)
	for place := m - 1; place >= n; place-- {
		way := layers[place][end]
		tooth[order[place]] = int(way.tooth)
		end = way.from
	}
	for t := range n {
		tooth[order[t]] = t
	}
	return tooth, best
}

// withRing adds a ring to a sorted list, in a list of its own.
func withRing(rings []unit.Milliseconds, ring unit.Milliseconds) []unit.Milliseconds {
	at, _ := slices.BinarySearch(rings, ring)
	return slices.Insert(slices.Clone(rings), at, ring)
}

func sortedStates(layer map[turnState]turns) []turnState {
	states := make([]turnState, 0, len(layer))
	for s := range layer {
		states = append(states, s)
	}
	slices.SortFunc(states, func(a, b turnState) int {
		for t := range a {
			if c := cmp.Compare(a[t], b[t]); c != 0 {
				return c
			}
		}
		return 0
	})
	return states
}
