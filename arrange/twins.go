package arrange

import (
	"cmp"
	"math"
	"slices"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
)

// sharing is the plucks of one pitch, to be shared among its teeth.
type sharing struct {
	plucks []Placed
	twins  []int // wanted by locks, 0 for any
	order  []int // of the plucks round the circle, from their widest pause on
	turn   unit.Milliseconds
	repeat unit.Milliseconds
	tables turnTables
}

func newSharing(plucks []Placed, twins []int, turn, repeat unit.Milliseconds, tables turnTables) *sharing {
	s := &sharing{plucks: plucks, twins: twins, turn: turn, repeat: repeat, order: make([]int, len(plucks)), tables: tables}
	for i := range s.order {
		s.order[i] = i
	}
	slices.SortFunc(s.order, func(a, b int) int {
		return cmp.Or(cmp.Compare(plucks[a].TimeMs, plucks[b].TimeMs), cmp.Compare(a, b))
	})
	start, widest := 0, unit.Milliseconds(-1)
	for i := range s.order {
		if before := s.pause(i); before > widest {
			start, widest = i, before
		}
	}
	s.order = append(slices.Clone(s.order[start:]), s.order[:start]...)
	return s
}

// pause gives the time from the pluck before place i to it, round the circle.
func (s *sharing) pause(i int) unit.Milliseconds {
	n := len(s.order)
	if n == 1 {
		return s.turn
	}
	return s.ahead(s.order[(i+n-1)%n], s.order[i])
}

// nearest gives the least distance of two plucks of one tooth when the plucks go to n teeth; a tooth with a single pluck has a whole turn.
func (s *sharing) nearest(n int) unit.Milliseconds {
	m := len(s.order)
	most := s.turn // of n+1 plucks that follow each other two share a tooth
	for i := range m {
		if m > n {
			most = min(most, s.ahead(s.order[i], s.order[(i+n)%m]))
		}
	}
	if tooth, named := s.plain(n); !named {
		least := s.least(tooth, n)
		if g := s.turns(n); least < most && g != nil {
			least, _ = g.longest(least)
		}
		return least
	}
	return s.least(s.among(n), n)
}

// least gives the least distance of two plucks of one tooth.
func (s *sharing) least(tooth []int, n int) unit.Milliseconds {
	least := s.turn
	last, first := make([]int, n), make([]int, n)
	for t := range last {
		last[t], first[t] = -1, -1
	}
	for _, i := range s.order {
		t := tooth[i]
		if t < 0 {
			continue
		}
		if last[t] >= 0 {
			least = min(least, s.apart(i, last[t]))
		} else {
			first[t] = i
		}
		last[t] = i
	}
	for t := range last {
		if last[t] != first[t] {
			least = min(least, s.apart(last[t], first[t]))
		}
	}
	return least
}

// lengthen shares spare teeth among pitches, at most so many to each, so that the sum of their shortest rings is greatest; of equal
// sums it takes the one that uses fewest. Ring gives the shortest ring of a pitch with so many teeth more. A knapsack: cost
// pitches × spare × most.
func lengthen(spare int, most []int, ring func(pitch, more int) unit.Milliseconds) []int {
	sum := make([]unit.Milliseconds, spare+1) // by teeth used at most
	taken := make([][]int, len(most))
	for i, m := range most {
		next := make([]unit.Milliseconds, spare+1)
		taken[i] = make([]int, spare+1)
		copy(next, sum)
		before := unit.Milliseconds(0)
		for more := range min(m, spare) + 1 {
			r := ring(i, more)
			if more == 0 {
				before = r
				continue
			}
			for n := more; n <= spare && r > before; n++ {
				if v := sum[n-more] + r - before; v > next[n]+1e-6 {
					next[n], taken[i][n] = v, more
				}
			}
		}
		sum = next
	}
	left := spare
	for left > 0 && sum[left-1] >= sum[spare]-1e-6 {
		left--
	}
	use := make([]int, len(most))
	for i := len(most) - 1; i >= 0; i-- {
		use[i] = taken[i][left]
		left -= use[i]
	}
	return use
}

func (s *sharing) apart(i, j int) unit.Milliseconds {
	return comb.RoundTheCircle(s.plucks[i].TimeMs, s.plucks[j].TimeMs, s.turn)
}

// clash reports whether plucks i and j cannot go to one tooth.
func (s *sharing) clash(i, j int) bool { return s.apart(i, j) < s.repeat-comb.Slack }

// among gives each pluck the number of its tooth, 0 to n − 1, or -1 where there is no place for it, so that the shortest ring is as
// long as it can be, then the next shortest, and so on (leximin).
//
// A pluck rings until the next one on its tooth. Were each tooth's pluck free to be followed by any other's, the n-th pluck after it
// would be best: of two pairs a < b < c < d, a-c and b-d are both longer than the shorter of a-d and b-c. In turn, each tooth does
// just that, all the way round where n divides the number of plucks. Where it does not, the turn must change somewhere, and for two to
// four teeth the best walk through all ways in which they can stand is found (turns.go). Where locks name the twin, a bounded search finds a way without clash.
// Locked plucks are always placed, even where they clash.
func (s *sharing) among(n int) []int {
	tooth, named := s.plain(n)
	if g := s.turns(n); !named && g != nil {
		tooth = g.best(tooth)
	}
	if s.sound(tooth, n) {
		return tooth
	}
	for i := range tooth {
		tooth[i] = -1
	}
	steps := 20_000
	if s.search(0, n, tooth, &steps) {
		return tooth
	}
	return s.greedy(n, tooth)
}

// plain gives each tooth its pluck in turn, from the widest pause on, but for those that locks name.
func (s *sharing) plain(n int) (tooth []int, named bool) {
	tooth = make([]int, len(s.plucks))
	for place, i := range s.order {
		tooth[i] = place % n
		if t := s.twins[i]; t > 0 && t <= n {
			tooth[i], named = t-1, true
		}
	}
	return tooth, named
}

// sound reports whether no two plucks of one tooth clash.
func (s *sharing) sound(tooth []int, n int) bool {
	last, first := make([]int, n), make([]int, n)
	for t := range last {
		last[t], first[t] = -1, -1
	}
	for _, i := range s.order {
		t := tooth[i]
		if last[t] >= 0 && s.clash(i, last[t]) {
			return false
		}
		if first[t] < 0 {
			first[t] = i
		}
		last[t] = i
	}
	for t := range last {
		if last[t] != first[t] && s.clash(last[t], first[t]) {
			return false
		}
	}
	return true
}

// search places the plucks from place on without a clash, and reports whether it could within the steps.
func (s *sharing) search(place, n int, tooth []int, steps *int) bool {
	if place == len(s.order) {
		return true
	}
	i := s.order[place]
	for t := range n {
		if *steps--; *steps < 0 {
			return false
		}
		if s.twins[i] > 0 && s.twins[i] <= n && s.twins[i]-1 != t || !s.free(place, t, tooth) {
			continue
		}
		tooth[i] = t
		if s.search(place+1, n, tooth, steps) {
			return true
		}
		tooth[i] = -1
	}
	return false
}

// free reports whether the pluck at place can go to tooth t beside those placed before it: it looks back over one repeat time and,
// round the circle, forward from the first.
func (s *sharing) free(place, t int, tooth []int) bool {
	i := s.order[place]
	for p := place - 1; p >= 0 && s.ahead(s.order[p], i) < s.repeat-comb.Slack; p-- {
		if tooth[s.order[p]] == t {
			return false
		}
	}
	for p := 0; p < place && s.ahead(i, s.order[p]) < s.repeat-comb.Slack; p++ {
		if tooth[s.order[p]] == t {
			return false
		}
	}
	return true
}

// ahead gives the time from pluck i on to pluck j, round the circle.
func (s *sharing) ahead(i, j int) unit.Milliseconds {
	d := s.plucks[j].TimeMs - s.plucks[i].TimeMs
	for d < 0 {
		d += s.turn
	}
	for d >= s.turn {
		d -= s.turn
	}
	return d
}

// greedy places locked plucks first, then each other one where it clashes with none, else nowhere.
func (s *sharing) greedy(n int, tooth []int) []int {
	for i := range tooth {
		tooth[i] = -1
	}
	taken := make([]moments, n)
	within := func(i int) unit.Milliseconds { // the time of a pluck in its turn
		t := unit.Milliseconds(math.Mod(float64(s.plucks[i].TimeMs), float64(s.turn)))
		if t < 0 {
			t += s.turn
		}
		return t
	}
	for _, locked := range []bool{true, false} {
		for _, i := range s.order {
			if s.plucks[i].Locked != locked {
				continue
			}
			best, rest := -1, unit.Milliseconds(-1)
			for t := range n {
				nearest := taken[t].nearest(within(i), s.turn)
				if want := s.twins[i]; want > 0 && want <= n {
					if want-1 == t {
						best, rest = t, s.turn
					}
				} else if nearest > rest {
					best, rest = t, nearest
				}
			}
			if locked || rest >= s.repeat-comb.Slack {
				tooth[i] = best
				taken[best].add(within(i))
			}
		}
	}
	return tooth
}

// moments are times within one turn, in order.
type moments []unit.Milliseconds

func (m *moments) add(t unit.Milliseconds) {
	i, _ := slices.BinarySearch(*m, t)
	*m = slices.Insert(*m, i, t)
}

// nearest gives the distance of t to the nearest of the moments round the circle, a whole turn where there are none. Log n.
func (m moments) nearest(t, turn unit.Milliseconds) unit.Milliseconds {
	n := len(m)
	if n == 0 {
		return turn
	}
	i, _ := slices.BinarySearch(m, t)
	return min(comb.RoundTheCircle(t, m[i%n], turn), comb.RoundTheCircle(t, m[(i+n-1)%n], turn))
}
